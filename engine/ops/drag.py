"""Pick-up, slack-off and rotating weight, taken whenever the string moves steadily."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, Table, derived
from engine.config import WellConfig
from engine.ops.primitives import NAN, Dwell, DwellState, Past, Trailing, hold
from engine.ops.seconds import Seconds, SecondsState
from engine.ops.sheave_side import MOVES, SheaveSide
from engine.ops.table import pick, times
from engine.ops.windows import middle, rows_of
from engine.units import MINUTE

CHANNELS = ("pick_up_load", "slack_off_load", "rotating_load")
NEEDS = ("hook_load", "block_speed", "rotary", "in_slips", "on_bottom")
RPM = 2 * np.pi / MINUTE
STILL_ROTARY, TURNS = 5 * RPM, 10 * RPM
"""Below the one the string does not turn, above the other it does. [rad/s]"""
TRAVELS = 0.05
"""A slower block drags too little of the string for its weight to count. [m/s]"""
WORKED = 0.2
"""A string that turns while it moves faster is reamed; its weight has drag in it. [m/s]"""
LIKE, LIKE_SHARE = 0.02, 0.15
"""The speed is steady if it changes by no more than this, or this share of it. [m/s], [-]"""
STEADY_S = 4.0
"""For so long it must have been, at any moment. [s]"""
LASTS_S = 6.0
"""So long must the steady motion go on before there is a weight. [s]"""
REACH_S = 60.0
"""The weight is the median over this, or since the motion became steady. [s]"""
LEAST_SAMPLES = 4


@dataclass(frozen=True, slots=True, eq=False)
class DragState:
    """All that must outlive a block."""

    seconds: SecondsState
    lines: int
    """Strung to the block now. [-]"""
    speeds: Past = field(default_factory=Past)
    loads: Past = field(default_factory=Past)
    run: DwellState = field(default_factory=DwellState)
    weights: tuple[float, ...] = (NAN, NAN, NAN)
    """Newest of each channel. [N]"""
    taken: tuple[float, ...] = (-np.inf,) * 3
    """When. [s since 1970-01-01 UTC]"""
    slips: float = -np.inf
    """When the string was last in the slips. [s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class Drag:
    """Median hook load of the newest steady motion up, down, and turning off bottom.

    Loads are those at the hook, see `engine.ops.sheave_side`; with a dead-line gauge a string
    that turns while the block stands gives no weight, as the sheaves may lean either way.
    """

    config: WellConfig
    state: DragState = field(init=False)

    def __post_init__(self) -> None:
        self.state = DragState(SecondsState(), self.config.rig.lines)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``hook_load`` [N], ``block_speed`` [m/s], ``rotary`` [rad/s], ``in_slips``,
            ``on_bottom`` [-], shape (n,); what is missing is taken as unknown.

        Returns
        -------
        dict
            ``pick_up_load`` up and ``slack_off_load`` down at a steady speed without rotation,
            ``rotating_load`` turning, the block still or slow; all off bottom and out of slips.
            [N] Shape (n,). NaN and ``NO_REFERENCE`` before the first; afterwards ``HELD`` until
            the next, and ``OLD_REFERENCE`` too once the string has been in slips since. Worked
            out once a second.
        """
        seconds = Seconds(self.state.seconds)
        out = seconds.process({name: pick(table, name) for name in NEEDS}, self._work)
        self.state = replace(self.state, seconds=seconds.state)
        return out

    def _work(self, table: Table) -> dict[str, Block]:
        s, t = self.state, times(table)
        speed, slips = table["block_speed"].usable(), table["in_slips"].value
        side = SheaveSide.of(s.lines, self.config.rig.sheave_efficiency)
        load = table["hook_load"].usable() * side.factor(speed)
        trailing, past = Trailing(STEADY_S, s.speeds), Trailing(REACH_S, s.loads)
        window, loads = trailing.process(t, speed), past.process(t, load)
        change = window.largest() - window.smallest()
        steady = window.full & (change <= np.maximum(LIKE, LIKE_SHARE * np.abs(speed)))
        steady &= (slips == 0.0) & (table["on_bottom"].value == 0.0) & ~np.isnan(load)
        kind = np.where(steady, self._kind(speed, table["rotary"].usable(), side), 0.0)

        dwell = Dwell(s.run)
        start = dwell.process(t, kind)
        begin = np.searchsorted(loads.t, np.maximum(start, t - REACH_S), side="left")
        enough = loads.end - begin >= LEAST_SAMPLES
        ripe = (kind > 0.0) & (t - start >= LASTS_S) & enough
        found = np.full(t.size, NAN)
        found[ripe] = middle(rows_of(loads.columns[0], begin[ripe], loads.end[ripe]))

        in_slips = hold(t, slips == 1.0, s.slips)
        out, weights, taken = {}, [], []
        for i, name in enumerate(CHANNELS):
            new = ripe & (kind == i + 1)
            weight, at = hold(found, new, s.weights[i]), hold(t, new, s.taken[i])
            none: Mask = np.isnan(weight)
            out[name] = derived(
                t,
                weight,
                (none, Quality.NO_REFERENCE),
                (~none & ~new, Quality.HELD),
                (~none & (in_slips > at), Quality.OLD_REFERENCE),
            )
            weights.append(weight)
            taken.append(at)
        if t.size:
            self.state = replace(
                s,
                speeds=trailing.state,
                loads=past.state,
                run=dwell.state,
                weights=tuple(float(w[-1]) for w in weights),
                taken=tuple(float(a[-1]) for a in taken),
                slips=float(in_slips[-1]),
            )
        return out

    def _kind(self, speed: FloatArray, rotary: FloatArray, side: SheaveSide) -> FloatArray:
        """Number of the channel each sample is fit for, from 1; 0: none, shape (n,). [-]"""
        still, turns = np.abs(rotary) < STILL_ROTARY, np.abs(rotary) > TURNS
        slow = np.abs(speed) <= WORKED
        if side.up != side.down:
            slow &= np.abs(speed) > MOVES
        up, down = still & (speed > TRAVELS), still & (speed < -TRAVELS)
        return np.select([up, down, turns & slow], [1.0, 2.0, 3.0], 0.0)

    def set_lines(self, lines: int) -> None:
        """Take another count of lines [-]; weights read with the old one are forgotten."""
        self.state = DragState(SecondsState(self.state.seconds.tick), lines)
