"""How trouble acts: each kind sets something physical, never a sensor."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from engine.errors import InputError
from engine.sim.fluid import Fluid
from engine.sim.hoist import Hoist
from engine.sim.scenarios import Trouble

SENSOR_KINDS = ("stuck", "dropout")
"""Kinds that touch a sensor or the line, after everything else. [-]"""
TOTAL_LOSS_BELOW = 3.0e6
"""A void takes mud down to this far below the full column. [Pa]"""
OVERBALANCE = 3.5e6
"""The rock's pore pressure is usually this far below the mud column. [Pa]"""
PACK_TORQUE = 1.8e-3
"""Torque for each pascal of a pack-off. [m3]"""
PACK_DRAG = 0.025
"""Drag for each pascal of a pack-off: it pushes on the shoulders of the string. [m2]"""


@dataclass(slots=True)
class Levels:
    """Sum of all troubles of a kind, now."""

    influx: float = 0.0
    """Pore pressure above the mud column. [Pa]"""
    loss: float = 0.0
    """Conductance of an opened fracture. [m3/s/Pa]"""
    total_loss: float = 0.0
    """Conductance of a void. [m3/s/Pa]"""
    washout: float = 0.0
    """Area of a hole in the string. [m2]"""
    pack_off: float = 0.0
    """Pressure lost at the usual flow. [Pa]"""
    shut: float = 0.0
    """1: the standpipe valve is shut while the pumps stand. [-]"""
    hot: float = 0.0
    """Heat of the rock around the bit. [K]"""
    transfer: float = 0.0
    """Into the pits. [m3/s]"""
    swab: float = 0.0
    """Share of the steel pulled that the formation replaces. [-]"""


def _apply(levels: Levels, adding: float, fluid: Fluid, hoist: Hoist) -> None:
    fluid.excess = levels.influx if levels.influx > 0 else -OVERBALANCE
    fluid.loss_index = levels.loss + levels.total_loss
    fluid.fracture = -TOTAL_LOSS_BELOW if levels.total_loss else 0.0
    fluid.leak = levels.washout
    fluid.pack = levels.pack_off
    fluid.shut = levels.shut > 0
    fluid.hot = levels.hot
    fluid.moved = levels.transfer + adding
    fluid.swab = levels.swab
    hoist.bite = PACK_TORQUE * levels.pack_off
    hoist.grip = PACK_DRAG * levels.pack_off


_Shows = Callable[[Fluid], bool]
EFFECTS: dict[str, tuple[str, _Shows]] = {
    "influx": ("influx", lambda fluid: fluid.influx_rate > 0),
    "loss": ("loss", lambda fluid: fluid.loss_rate > 0),
    "total-loss": ("total_loss", lambda fluid: fluid.loss_rate > 0),
    "washout": ("washout", lambda fluid: fluid.leaking > 0),
    "pack-off": ("pack_off", lambda fluid: fluid.pack > 0),
    "shut": ("shut", lambda fluid: fluid.trapped > 0),
    "hot": ("hot", lambda fluid: fluid.hot > 0),
    "transfer": ("transfer", lambda fluid: fluid.moved != 0),
    "swab": ("swab", lambda fluid: fluid.swab > 0),
}
"""Kind to the level it sets and the test whether anything physical comes of it."""


@dataclass(slots=True)
class Event:
    """One trouble as it turned out."""

    kind: str
    start: float
    """First second with an effect. [s] from the start of the run"""
    end: float | None = None
    """First second after it without one; None: it goes on."""
    channel: str = ""


@dataclass(slots=True, eq=False)
class Fate:
    """Walks the script of troubles second by second and notes what came of it."""

    troubles: Sequence[Trouble]
    events: list[Event] = field(default_factory=list)
    _open: dict[int, Event] = field(default_factory=dict)
    _mended: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for trouble in self.troubles:
            if trouble.kind not in EFFECTS and trouble.kind not in SENSOR_KINDS:
                known = ", ".join((*EFFECTS, *SENSOR_KINDS))
                raise InputError(f"trouble: no kind {trouble.kind!r}; there are {known}")

    def before(self, t: float, adding: float, fluid: Fluid, hoist: Hoist) -> None:
        """Set what acts during the second after `t` [s]."""
        levels = Levels()
        for i, trouble in enumerate(self.troubles):
            if trouble.kind in EFFECTS and i not in self._mended:
                name = EFFECTS[trouble.kind][0]
                setattr(levels, name, getattr(levels, name) + trouble.level(t))
        _apply(levels, adding, fluid, hoist)

    def after(self, t: float, fluid: Fluid) -> None:
        """Note which troubles have an effect at `t` [s]."""
        for i, trouble in enumerate(self.troubles):
            on = trouble.start <= t < trouble.end and i not in self._mended
            if on and trouble.kind in EFFECTS:
                on = EFFECTS[trouble.kind][1](fluid)
            if on and i not in self._open:
                self._open[i] = Event(trouble.kind, t, channel=trouble.channel)
                self.events.append(self._open[i])
            elif i in self._open and not on:
                self._open.pop(i).end = t

    def mend(self, t: float) -> None:
        """The string is in reach at `t` [s]: what can be mended there is."""
        for i, trouble in enumerate(self.troubles):
            if trouble.at_connection and t >= trouble.start + 0.9 * trouble.rise:
                self._mended.setdefault(i, t)
