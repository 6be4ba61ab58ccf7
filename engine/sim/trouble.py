"""How trouble acts: each kind sets something physical, never a sensor."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from engine.errors import InputError
from engine.sim.fluid import Fluid
from engine.sim.hoist import Hoist
from engine.sim.script import Trouble
from engine.sim.sensor_faults import FAULTS

SENSOR_KINDS = ("stuck", "dropout", *FAULTS)
"""Kinds that touch a sensor or the line, after everything else. [-]"""
TOTAL_LOSS_BELOW = 3.0e6
"""A void takes mud down to this far below the full column. [Pa]"""
OVERBALANCE = 3.5e6
"""The rock's pore pressure is usually this far below the mud column. [Pa]"""
PACK_TORQUE = 1.8e-3
"""Torque for each pascal of a pack-off. [m3]"""
PACK_DRAG = 0.025
"""Drag for each pascal of a pack-off: it pushes on the shoulders of the string. [m2]"""


REACH = 2.5
"""A tight spot is felt this far above and below it. [m]"""
_Shows = Callable[[Fluid, Hoist], bool]


@dataclass(frozen=True, slots=True)
class Effect:
    """What one kind of trouble sets, and whether anything physical comes of it."""

    sets: str
    """Name of the level; several troubles of a kind add up."""
    shows: _Shows


def _upset(name: str, shows: _Shows | None = None) -> Effect:
    """Return the effect of a kind that sets a field of `Upsets`."""
    return Effect(f"upsets.{name}", shows or (lambda f, h: getattr(f.upsets, name) != 0))


def _hoist(name: str, shows: _Shows | None = None) -> Effect:
    """Return the effect of a kind that sets a field of `Hoist`."""
    return Effect(f"hoist.{name}", shows or (lambda f, h: getattr(h, name) != 0))


EFFECTS: dict[str, Effect] = {
    "influx": Effect("influx", lambda f, h: f.influx_rate > 0),
    "loss": Effect("loss", lambda f, h: f.loss_rate > 0),
    "total-loss": Effect("total-loss", lambda f, h: f.loss_rate > 0),
    "washout": Effect("washout", lambda f, h: f.leaking > 0),
    "pack-off": Effect("pack-off", lambda f, h: f.pack > 0),
    "shut": Effect("shut", lambda f, h: f.trapped > 0),
    "hot": Effect("hot", lambda f, h: f.hot > 0),
    "transfer": Effect("transfer", lambda f, h: f.moved != 0),
    "inflow": _upset("inflow"),
    "static-inflow": _upset("static_inflow", lambda f, h: f.influx_rate > 0),
    "swab": _upset("swab", lambda f, h: f.upsets.swab > 0 and f.influx > 0),
    "outflow": _upset("outflow"),
    "breathing": _upset("breathing", lambda f, h: abs(f.upsets.breath) > 1e-6),
    "swelling": _upset("swelling"),
    "stripping": _upset("stripping"),
    "to-trip-tank": _upset("to_tank"),
    "pump-rate": _upset("pace"),
    "pump-fault": _upset("slip"),
    "nozzles": _upset("nozzles"),
    "pressure-source": _upset("source", lambda f, h: f.upsets.stored > 0),
    "bleed": _upset("bleed", lambda f, h: f.upsets.bleed > 0 and f.still > 0),
    "annulus-pressure": _upset("annulus"),
    "gas": _upset("gas"),
    "parted": _hoist("parted"),
    "tight": _hoist("tight", lambda f, h: h.tight > 0 and h.held == 0.0 and abs(h.speed) > 0.03),
    "ledge": _hoist("ledge", lambda f, h: h.ledge > 0 and h.held == 0.0 and h.speed < -0.03),
    "stick-slip": _hoist("jerk", lambda f, h: h.jerk > 0 and h.weight > 0),
    "soft-rock": _hoist("ease"),
    "more-weight": _hoist("push"),
    "more-torque": _hoist("strain"),
}
"""Kind to what it does. The size of a trouble is the level named here: see `engine.sim.upsets`,
`Hoist`, and for the first eight `_apply`."""


_LEVELS = tuple(effect.sets for effect in EFFECTS.values())


def _apply(levels: Mapping[str, float], adding: float, fluid: Fluid, hoist: Hoist) -> None:
    """Set everything; a level that no trouble names is 0.

    ``influx``: pore pressure above the mud column [Pa]; ``loss``, ``total-loss``: conductance of a
    fracture or a void [m3/s/Pa]; ``washout``: area of a hole in the string [m2]; ``pack-off``:
    pressure lost at the usual flow [Pa]; ``shut``: 1 for a shut standpipe valve, more for a
    string that warms faster; ``hot``: heat of the rock around the bit [K]; ``transfer``: into the
    pits [m3/s].
    """
    influx, pack = levels["influx"], levels["pack-off"]
    fluid.excess = influx if influx > 0 else -OVERBALANCE
    fluid.loss_index = levels["loss"] + levels["total-loss"]
    fluid.fracture = -TOTAL_LOSS_BELOW if levels["total-loss"] else 0.0
    fluid.leak = levels["washout"]
    fluid.pack = pack
    fluid.shut = levels["shut"] > 0
    fluid.hot = levels["hot"]
    fluid.moved = levels["transfer"] + adding
    hoist.bite = PACK_TORQUE * pack
    hoist.grip = PACK_DRAG * pack
    upsets = fluid.upsets
    for name, level in levels.items():
        where, _, what = name.partition(".")
        if what:
            setattr(upsets if where == "upsets" else hoist, what, level)
    upsets.parted = hoist.parted


@dataclass(slots=True)
class Event:
    """One trouble as it turned out."""

    kind: str
    start: float
    """First second with an effect. [s] from the start of the run"""
    end: float | None = None
    """First second after it without one; None: it goes on."""
    channel: str = ""
    event: str = ""
    """What a detector should call it; empty: nothing."""


@dataclass(slots=True, eq=False)
class Fate:
    """Walks the script of troubles second by second and notes what came of it."""

    troubles: Sequence[Trouble]
    events: list[Event] = field(default_factory=list)
    _open: dict[int, Event] = field(default_factory=dict)
    start_depth: float = 0.0
    """Of the hole when the run began. [m]"""
    _mended: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for trouble in self.troubles:
            if trouble.kind not in EFFECTS and trouble.kind not in SENSOR_KINDS:
                known = ", ".join((*EFFECTS, *SENSOR_KINDS))
                raise InputError(f"trouble: no kind {trouble.kind!r}; there are {known}")

    def before(self, t: float, adding: float, fluid: Fluid, hoist: Hoist) -> None:
        """Set what acts during the second after `t` [s]."""
        levels = dict.fromkeys(_LEVELS, 0.0)
        for i, trouble in enumerate(self.troubles):
            if trouble.kind in EFFECTS and i not in self._mended:
                level = trouble.level(t)
                if trouble.above is not None:
                    level *= self._near(trouble.above, hoist)
                levels[EFFECTS[trouble.kind].sets] += level
        _apply(levels, adding, fluid, hoist)

    def after(self, t: float, fluid: Fluid, hoist: Hoist) -> None:
        """Note which troubles have an effect at `t` [s]."""
        for i, trouble in enumerate(self.troubles):
            on = trouble.start <= t < trouble.end and i not in self._mended
            if on and trouble.above is not None:
                on = self._near(trouble.above, hoist) > 0
            if on and trouble.kind in EFFECTS:
                on = EFFECTS[trouble.kind].shows(fluid, hoist)
            if on and i not in self._open:
                self._open[i] = Event(trouble.kind, t, None, trouble.channel, trouble.event)
                self.events.append(self._open[i])
            elif i in self._open and not on:
                self._open.pop(i).end = t

    def _near(self, above: float, hoist: Hoist) -> float:
        """Return how near the bit is to a spot `above` the first bottom, 1 when there. [-]"""
        return max(0.0, 1 - abs(self.start_depth - above - hoist.bit) / REACH)

    def mend(self, t: float) -> None:
        """The string is in reach at `t` [s]: what can be mended there is."""
        for i, trouble in enumerate(self.troubles):
            if trouble.at_connection and t >= trouble.start + 0.9 * trouble.rise:
                self._mended.setdefault(i, t)
