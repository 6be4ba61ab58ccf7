"""Hot returns: how warm, how fast, and whether losses and a surge of returns go with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any, ClassVar

import numpy as np

from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.heat_state import Heat, HeatState
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.settings_string_heat import TemperatureSettings
from engine.errors import InputError
from engine.units import unit
from engine.well.answer import Unknown
from engine.well.steam import saturation_temperature

CELSIUS = unit("degC").offset
HOLDS_S = 120.0
"""A call ends so long after the last reason for it. [s]"""
LINE_S = 90.0
"""So long may the flow line take to fill after a start of the pumps. [s] common practice"""
RISE, EXCESS, BOILING, KICK = range(4)
WORDS = (
    "temperature out rising", "out less in above usual", "near boiling",
    "losses, then returns surging",
)  # fmt: skip


@dataclass(slots=True, eq=False)
class TemperatureRise:
    """Call returns that become hot, near boiling, or hot with losses and a surge: a thermal kick.

    A warning where temperature out has risen by 6 K within three minutes (2 K a minute), or where
    out less in is 15 K above what is usual. Critical where it comes within 10 K of boiling at
    air pressure, or where it rose, returns were short of flow-in by a tenth, and now come back a
    tenth above it, all within half an hour.

    Not taken for it: the one warm slug after a stop of ten minutes and more, since rises count only
    after 1.5 annulus volumes; the cold flow line after any stop; warm mud from the pits, which
    moves in and out together. Until those volumes are pumped it is blind to rises and says so, and
    boiling is watched all the same. It cannot see without temperature out, flow-in or lag strokes.
    """

    kinds: ClassVar[tuple[str, ...]] = ("temperature_rise",)
    rule: ClassVar[str] = (
        "Temperature out up by 6 K in 3 min, 1.5 annulus volumes after a long stop, or out less in "
        "15 K above usual; critical within 10 K of boiling, or with losses and then a surge."
    )
    settings: TemperatureSettings
    state: HeatState = field(init=False)
    boils: float = field(init=False)
    """Temperature out from which it may flash. [K]"""
    why: list[float] = field(default_factory=lambda: [-np.inf] * 4)
    """When each reason was last there. [s since 1970-01-01 UTC]"""
    twice: int = 0
    """Bins in a row with a rise."""

    def __post_init__(self) -> None:
        boils = saturation_temperature(self.settings.air)
        if isinstance(boils, Unknown):
            raise InputError(f"temperature_rise: air pressure: {boils.reason}")
        self.boils = boils - self.settings.margin
        self.state = HeatState(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins, balance = seen.bins, seen.balance
        flow = bins["flow_in"]
        excess, settled = balance["flow_excess"], balance["settled"]
        pumping = balance["pumping"] > 0
        with np.errstate(divide="ignore", invalid="ignore"):
            raw = np.where(flow > 0, bins["flow_out"] / flow - 1, np.nan)
            share = np.where(np.isnan(excess), raw, excess / flow)
        share[settled < LINE_S] = np.nan
        out = bins["temperature_out"]
        rows = zip(
            bins.t.tolist(), pumping.tolist(), out.tolist(), bins["temperature_in"].tolist(),
            bins["strokes"].tolist(), bins["lag_strokes"].tolist(), share.tolist(), strict=True,
        )  # fmt: skip
        told: list[tuple[Heat, int, list[str]]] = []
        for row in rows:
            heat = self.state.step(*row)
            told.append((heat, *self._grade(row[0], row[2], heat)))
        severity = np.array([grade for _, grade, _ in told], np.int8)
        sight, reasons = blind(bins, "temperature_out", "flow_in")
        masked = np.array([h.masked for h, _, _ in told], np.bool_)
        sight[masked & np.isnan(bins["lag_strokes"]) & (sight == 0)] = len(reasons) + 1
        sight[masked & (sight == 0)] = len(reasons) + 2
        sight[~pumping & (sight == 0) & (severity == 0)] = NOT_ON_WATCH
        more = (
            "no lag_strokes: what stood still in the annulus is not counted out",
            f"less than {self.settings.annuli:g} annulus volumes since the pumps stood",
        )

        def details(i: int) -> dict[str, Any]:
            heat, _, words = told[i]
            return {
                "volume_m3": None,
                "witnesses": words,
                "temperature_out_c": number(out[i] - CELSIUS),
                "rise_k": number(heat.rise),
                "out_less_in_above_usual_k": number(heat.excess),
                "annulus_volumes_since_stop": number(heat.pumped),
                "returns_above_flow_in_share": number(share[i]),
            }

        return {"temperature_rise": Verdict(bins.row, severity, sight, (*reasons, *more), details)}

    def _grade(self, t: float, out: float, heat: Heat) -> tuple[int, list[str]]:
        s = self.settings
        self.twice = self.twice + 1 if heat.rise >= s.rise else 0
        now = (
            self.twice >= 2,
            heat.excess >= s.out_less_in,
            isfinite(out) and out >= self.boils,
            heat.rose and heat.losses and heat.surge,
        )
        for k, there in enumerate(now):
            if there:
                self.why[k] = t
        if not t - max(self.why) <= HOLDS_S + BIN_S:
            return Severity.NONE, []
        stands = [t - at <= HOLDS_S + BIN_S for at in self.why]
        words = [word for word, there in zip(WORDS, stands, strict=True) if there]
        if stands[BOILING] or stands[KICK]:
            return Severity.CRITICAL, words
        return (Severity.WARNING if stands[RISE] or stands[EXCESS] else Severity.NONE), words
