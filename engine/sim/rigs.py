"""Rigs to drill with: the two that limits are set on, and others kept for the last look.

Depths, pumps, pipe and tanks are common sizes, no source; nobody's rig is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from engine.config import WellConfig, parse_config
from engine.errors import InputError
from engine.sim.ground import ALTERED, HARD, SOFT
from engine.sim.rig import Rig
from engine.sim.script import Scenario
from engine.sim.site import Site
from engine.units import unit

_M_H = unit("m_h").factor
_RPM = unit("rpm").factor


@dataclass(frozen=True, slots=True, eq=False)
class RigModel:
    """A rig with its well, ground and sensors."""

    name: str
    text: str
    config: WellConfig
    site: Site

    def rig(self, what: str | Scenario, seed: int, start: float, noise: str | None = None) -> Rig:
        """Return this rig at work on a scenario; arguments as of `Rig`."""
        return Rig(self.config, what, seed, start, noise, self.site)


def _config(
    name: str,
    rig: tuple[float, int, float, float],
    pumps: Sequence[tuple[float, float, int]],
    string: Sequence[tuple[float, float, float, float | None]],
    hole: Sequence[tuple[float, float | None]],
    mud: tuple[float, float, float],
    flow_l_s: float,
    rpm: float,
    interval: float = 1.0,
) -> WellConfig:
    """Return a well file.

    ``rig``: block [tf], lines, stand [m], crown [m]; ``pumps``: liner [in], stroke [in], lined up;
    ``string``: outer [in], inner [in], weight [kg/m], length [m]; ``hole``: diameter [in], bottom
    [m]; ``mud``: density [sg], plastic viscosity [cP], yield point [Pa].
    """
    block, lines, stand, crown = rig
    parts: list[dict[str, Any]] = [
        {"name": f"part {i + 1}", "outer_in": outer, "inner_in": inner, "weight_kg_m": weight}
        | ({"length_m": length} if length else {})
        for i, (outer, inner, weight, length) in enumerate(string)
    ]
    tops = [0.0, *(bottom for _, bottom in hole if bottom)]
    sections: list[dict[str, Any]] = [
        {"name": f"section {i + 1}", "top_m": top, "diameter_in": diameter}
        | ({"bottom_m": bottom} if bottom else {})
        for i, ((diameter, bottom), top) in enumerate(zip(hole, tops, strict=True))
    ]
    return parse_config(
        {
            "well": f"Synthetic {name}",
            "synthetic": True,
            "rig": {
                "name": name, "block_weight_tf": block, "lines": lines, "crown_limit_m": crown,
                "sheave_efficiency": 0.98, "stand_length_m": stand, "floor_limit_m": 0.3,
            },
            "pumps": [
                {"name": str(i + 1), "type": "triplex", "liner_in": liner, "stroke_in": stroke,
                 "lined_up": bool(on)}
                for i, (liner, stroke, on) in enumerate(pumps)
            ],
            "string": parts,
            "hole": sections,
            "mud": {
                "density_sg": mud[0], "plastic_viscosity_cP": mud[1], "yield_point_Pa": mud[2],
            },
            "profile": {"flow_normal_l_s": flow_l_s, "rotary_normal_rpm": rpm},
            "feeds": [
                {"name": "rig", "format": "wits0", "units": "metric", "interval_s": interval,
                 "map": {"0141": {"channel": "trip_tank_volume", "unit": "m3"}}}
            ],
        },
        f"rig model {name}",
    )  # fmt: skip


def land() -> RigModel:
    """Return the land rig of the example well, in altered tuff, with a calm flume."""
    config = _config(
        "land", (32.0, 10, 28.5, 38.0), [(6.5, 12.0, 1), (6.5, 12.0, 1)],
        [(6.75, 2.25, 150.0, 9.0), (6.5, 2.8125, 136.2, 190.0), (5.0, 4.276, 31.9, None)],
        [(8.681, 1180.0), (8.5, None)], (1.05, 8.0, 3.0), 45.0, 70.0,
    )  # fmt: skip
    return RigModel("land", "Geothermal well, triples, two pumps", config, Site(ALTERED))


def soft() -> RigModel:
    """Return a rig in shale and sand with heavier mud, a fair flume and agitated pits."""
    config = _config(
        "soft", (38.0, 10, 28.5, 38.0), [(6.5, 12.0, 1), (6.5, 12.0, 1)],
        [(8.0, 2.8125, 223.0, 180.0), (5.0, 4.276, 31.9, None)],
        [(12.415, 900.0), (12.25, None)], (1.3, 18.0, 7.0), 55.0, 140.0,
    )  # fmt: skip
    ground = replace(SOFT, name="shale", flow=0.055, reservoir=355.0)
    return RigModel(
        "soft", "Sedimentary well, triples, two pumps", config, Site(ground, "flume", pits=80.0)
    )


def other_rigs() -> tuple[RigModel, ...]:
    """Return rigs that no limit was ever set on.

    They differ in interval, stands, pumps, pits, flow line, hole, rock and class of noise.
    """
    singles = _config(
        "singles", (11.0, 6, 9.4, 17.0), [(5.5, 8.0, 1)],
        [(4.75, 2.25, 69.0, 85.0), (3.5, 2.764, 20.5, None)],
        [(6.366, 420.0), (6.125, None)], (1.02, 5.0, 2.0), 15.0, 60.0, 5.0,
    )  # fmt: skip
    granite = replace(
        HARD, name="granite", depth=980.0, rop=5.0 * _M_H, weight=70e3, rotary=60 * _RPM,
        flow=0.015, threshold=8e3, string_torque=1.2e3, nozzles=(11, 11, 11), losses=3.6e6,
        annulus=0.7e6, warm_out=316.0, warm_in=305.0,
    )  # fmt: skip
    doubles = _config(
        "doubles", (20.0, 8, 18.8, 28.0), [(6.0, 10.0, 1), (6.0, 10.0, 1)],
        [(6.75, 2.8125, 148.0, 120.0), (4.5, 3.826, 27.0, None)],
        [(10.05, 610.0), (9.875, None)], (1.18, 13.0, 6.0), 36.0, 110.0,
    )  # fmt: skip
    marl = replace(
        SOFT, name="marl", depth=1620.0, rop=17.0 * _M_H, weight=80e3, rotary=110 * _RPM,
        flow=0.036, string_torque=4e3, nozzles=(14, 14, 14, 14), losses=5.2e6, annulus=0.6e6,
        warm_out=311.0, warm_in=303.0, reservoir=330.0,
    )  # fmt: skip
    deep = _config(
        "deep", (55.0, 12, 29.1, 40.0), [(6.5, 14.0, 1), (6.5, 14.0, 1), (6.5, 14.0, 1)],
        [(8.25, 2.8125, 240.0, 210.0), (5.5, 4.778, 38.0, None)],
        [(12.415, 2300.0), (12.25, None)], (1.38, 24.0, 9.0), 62.0, 150.0, 0.2,
    )  # fmt: skip
    sand = replace(
        SOFT, name="sand", depth=3480.0, rop=22.0 * _M_H, weight=110e3, rotary=150 * _RPM,
        flow=0.062, string_torque=11e3, nozzles=(16, 16, 16, 16, 16, 16), losses=14e6,
        annulus=1.4e6, warm_out=325.0, warm_in=312.0, reservoir=390.0,
    )  # fmt: skip
    afloat = _config(
        "afloat", (60.0, 12, 28.2, 42.0), [(6.0, 12.0, 1), (6.0, 12.0, 1), (6.0, 12.0, 0)],
        [(6.75, 2.8125, 150.0, 150.0), (5.0, 4.276, 31.9, None)],
        [(19.5, 400.0), (10.88, 1900.0), (10.625, None)], (1.25, 16.0, 7.0), 50.0, 130.0,
    )  # fmt: skip
    clay = replace(SOFT, name="clay", depth=2350.0, rop=25.0 * _M_H, flow=0.050, reservoir=350.0)
    return (
        RigModel(
            "singles", "Slim hole in granite: singles, one pump, a packet every 5 s", singles,
            Site(granite, "paddle", pits=42.0, trip_tank=3.0, dead_s=4.0, line_s=14.0),
        ),
        RigModel(
            "doubles", "Doubles, two small pumps, the poorest gauges", doubles,
            Site(marl, "poor", pits=55.0, trip_tank=4.0, dead_s=6.0, line_s=40.0),
        ),
        RigModel(
            "deep", "Deep 12 1/4 in hole: triples, three pumps, five packets a second", deep,
            Site(sand, "meter", pits=140.0, trip_tank=6.0, dead_s=12.0, line_s=55.0),
        ),
        RigModel(
            "afloat", "A floating rig with a riser", afloat,
            Site(clay, "heave", pits=110.0, trip_tank=6.0, dead_s=10.0, line_s=60.0),
        ),
    )  # fmt: skip


def rig_models() -> tuple[RigModel, ...]:
    """Return every rig, those for setting limits first."""
    return (land(), soft(), *other_rigs())


def rig_model(name: str) -> RigModel:
    """Return the rig called `name`; `InputError` lists them if there is none."""
    models = {model.name: model for model in rig_models()}
    if name not in models:
        raise InputError(f"rig: no rig {name!r}; there are {', '.join(models)}")
    return models[name]
