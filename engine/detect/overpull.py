"""Overpull on the way up and weight taken on the way down: tight spots, while they are passed."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from engine.block import FloatArray, Mask, Quality, Table
from engine.detect.call import NOT_ON_WATCH, SEES, Codes, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.passes import Passes, Usual
from engine.detect.settings_string_heat import OverpullSettings
from engine.detect.told import Told
from engine.ops.primitives import Past, Trailing, previous
from engine.ops.sheave_side import SheaveSide
from engine.ops.table import pick, times
from engine.units import unit

if TYPE_CHECKING:
    from engine.config import WellConfig

UP, DOWN = "overpull", "take_weight"
MOVES = 0.05
"""A slower block drags too little of the string. [m/s]"""
STARTS_S = 2.0
"""The first seconds of a move are not judged: it starts with a jerk. [s]"""
MEAN_S = 1.6
"""A load is the mean of the readings over so long, two at least: two at one a second. [s]"""
TWICE_S = 0.45
"""Two readings so far apart must agree. [s]"""
NOW_S = 1.1
"""The block must have moved within this too: its speed is taken over three seconds, and slips
that are set while that still falls are no tight spot. [s]"""
BEFORE_S = (4.0, 0.9)
"""The block gains speed, or is braked, against its fastest of this time before. [s]"""
GAINS, BRAKED = 1.15, 0.7
"""By these factors: stamps of whole seconds make a steady speed look uneven. Half a second of
0.3 m/s2 is as much at 1 m/s. [-]"""
SLIPS = 0.5
"""A string of which less than this share hangs on the hook sits in slips. [-]"""
AGREE = 0.5
"""Share of the limit that the smallest of the readings must have. [-]"""
TURNS = 10 * unit("rpm").factor
"""Faster, the turning takes drag off the string: such moves are compared with each other."""
NEAR_BOTTOM = 1.0
"""Nearer to bottom than this, the bottom takes the weight. [m]"""
LETS_GO = 0.5
"""Share of the limit below which the spot is passed. [-]"""
NEEDS = ("in_slips", "on_bottom", "hook_load", "block_speed", "expected_hook_load", "bit_depth")
REASONS = (*(f"no {name}" for name in NEEDS), "no move yet to compare with")
NO_MOVE = len(REASONS)


@dataclass(slots=True)
class Spot:
    """A tight spot that is being passed."""

    kind: str
    turning: bool
    limit: float
    """[N]"""
    began: float
    """Depth of the bit. [m]"""
    peak: float
    """Largest load above the usual one. [N]"""
    at: float
    """Bit depth of that. [m]"""
    usual: Usual
    passed: float = nan
    """Since when it is below the limit. [s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class Overpull:
    """Call what the hook carries more (less) than is usual this way at this depth.

    Loads are those at the hook, less what the well file's string should weigh at this bit depth.
    What is left, drag and the file's own error, is compared with the median of the last 20 moves
    the same way within 600 m, turning and not turning apart; before there is such a move, with ten
    of the present one's own readings. A mean of two readings and 1.6 s above 10 klbf and above four
    standard deviations of such means makes a call. The call tells the largest when it ends.

    Not taken for it: a block that gains speed, the first two seconds of a move, one wild reading,
    a string on bottom or less than a metre above it, in slips or just being set there, an error of
    the well file, sheave friction, drag that grows with depth. Braking makes the load smaller on
    the way up, and larger on the way down: it hides, it never makes a call. A call stands until the
    string moves on freely, goes the other way, sits in slips or is on bottom. Noise, and few moves
    to compare with, lift the limit: the call tells the limit it was held to. Blind without what
    `NEEDS` names, and before the first move.
    """

    kinds: ClassVar[tuple[str, ...]] = (UP, DOWN)
    rule: ClassVar[str] = (
        "Hook load beyond the median of the last 20 moves the same way, by more than 10 klbf and "
        "four standard deviations, as a mean of two readings."
    )
    config: WellConfig
    settings: OverpullSettings
    told: dict[str, Told] = field(default_factory=lambda: {UP: Told(), DOWN: Told()})
    passes: dict[tuple[str, bool], Passes] = field(init=False)
    spot: Spot | None = None
    ended: bool = True
    """The newest row was in slips or on bottom."""
    moved: bool = False
    """In the newest row the string moved."""
    positions: Past = field(default_factory=Past)
    move: tuple[str, bool] | None = None
    began: float = nan
    """When the present move began. [s since 1970-01-01 UTC]"""
    recent: list[tuple[float, float]] = field(default_factory=list)
    """Its newest readings: time [s] and load above the expected one [N]."""
    speeds: deque[tuple[float, float]] = field(default_factory=deque)
    """Times [s] and speeds either way [m/s] of the last seconds of it."""
    known: set[str] = field(default_factory=set)
    """Kinds for which there has been something to compare with."""
    _side: SheaveSide = field(init=False)

    def __post_init__(self) -> None:
        s, rig = self.settings, self.config.rig
        self._side = SheaveSide.of(rig.lines, rig.sheave_efficiency)
        self.passes = {
            (kind, turning): Passes(s.passes, s.reach)
            for kind in self.kinds
            for turning in (False, True)
        }

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on the rows of the block at which something changes."""
        rows, before = seen.rows, {kind: told.now for kind, told in self.told.items()}
        t = times(rows)
        speed = pick(rows, "block_speed").usable()
        load = pick(rows, "hook_load").usable() * self._side.factor(speed)
        expected = pick(rows, "expected_hook_load").usable()
        slips, on = (pick(rows, name).usable() for name in NEEDS[:2])
        ends = (slips == 1.0) | (on == 1.0)
        free = (slips == 0.0) & (on == 0.0)
        sight = _sight(rows, free)
        block = self.config.rig.block_weight
        hangs = load - block > SLIPS * (expected - block)
        moving = (np.abs(speed) > MOVES) & free & (sight == SEES) & hangs
        off = pick(rows, "hole_depth").usable() - pick(rows, "bit_depth").usable()
        moving &= ~((speed < 0) & (off < NEAR_BOTTOM))
        moving &= self._step(t, pick(rows, "block_position").usable()) * np.sign(speed) > MOVES
        sight[~moving & (sight == SEES)] = NOT_ON_WATCH
        columns = (
            t, speed, pick(rows, "rotary").usable(), load - expected,
            pick(rows, "bit_depth").value,
        )  # fmt: skip
        fresh = (pick(rows, "hook_load").quality & np.uint16(Quality.HELD)) == 0
        starts = moving & ~previous(moving, self.moved)
        stops = ends & ~previous(ends, self.ended)
        first = self._walk(columns, moving & (fresh | starts), starts, stops)
        if t.size:
            self.ended, self.moved = bool(ends[-1]), bool(moving[-1])
        out = {}
        for kind, told in self.told.items():
            own = sight.copy()
            new = own[: first.get(kind, 0 if kind in self.known else t.size)]
            new[new <= SEES] = NO_MOVE
            out[kind] = told.verdict(own, REASONS, before[kind])
        return out

    def _step(self, t: FloatArray, position: FloatArray) -> FloatArray:
        """Speed of the block over the last second, or since the row before, shape (n,). [m/s]"""
        trailing = Trailing(NOW_S, self.positions)
        window = trailing.process(t, position)
        self.positions = trailing.state
        first = np.maximum(np.minimum(window.begin, window.end - 2), 0)
        dt = np.maximum(t - window.t[first], 1e-3)
        step: FloatArray = (position - window.columns[0][first]) / dt
        return step

    def _walk(
        self, columns: tuple[FloatArray, ...], reads: Mask, starts: Mask, stops: Mask
    ) -> dict[str, int]:
        """Go through the readings of moves; return from which row a kind can be judged at all."""
        at = np.flatnonzero(reads | stops)
        picked = zip(at.tolist(), starts[at].tolist(), stops[at].tolist(),
                     *(c[at].tolist() for c in columns), strict=True)  # fmt: skip
        first: dict[str, int] = {}
        for row, start, stop, t, speed, rotary, over, depth in picked:
            if stop:
                self._end(row)
                continue
            kind, load = (UP, over) if speed > 0 else (DOWN, -over)
            move = (kind, abs(rotary) > TURNS)
            if start or move != self.move:
                self.move, self.began, self.recent = move, t, []
                self.speeds.clear()
                self.passes[move].begin(depth)
            if self._row(row, t, load, depth, self._top(t, abs(speed))) and kind not in self.known:
                self.known.add(kind)
                first[kind] = row
        return first

    def _top(self, t: float, speed: float) -> float:
        """Return the speed now as a share of the fastest before; infinite: there is none. [-]"""
        far, near = BEFORE_S
        while self.speeds and self.speeds[0][0] < t - far:
            self.speeds.popleft()
        top = max((v for at, v in self.speeds if at <= t - near), default=0.0)
        self.speeds.append((t, speed))
        return speed / top if top else inf

    def _row(self, row: int, t: float, load: float, depth: float, pace: float) -> bool:
        """Judge one reading; False: it was not compared with anything.

        `pace` is the speed of the block as a share of that of the seconds before. [-]
        """
        assert self.move is not None
        kind, passes = self.move[0], self.passes[self.move]
        if self.spot and self.spot.kind != kind:
            self._end(row)
        if pace > GAINS or t - self.began < STARTS_S:
            self.recent = []
            return False
        self.recent.append((t, load))
        while len(self.recent) > 2 and self.recent[0][0] < t - MEAN_S:
            self.recent.pop(0)
        if t - self.recent[0][0] < TWICE_S:
            return False
        loads = [x for _, x in self.recent]
        mean, usual = sum(loads) / len(loads), passes.usual()
        if pace > BRAKED:
            passes.add(depth, mean)
        if usual is None:
            return False
        self._judge(row, t, kind, mean - usual.middle, min(loads) - usual.middle, depth, usual)
        return True

    def _judge(
        self, row: int, t: float, kind: str, size: float, least: float, depth: float, usual: Usual
    ) -> None:  # fmt: skip
        """Judge a mean load above the usual one, and the least of its readings. [N]"""
        s, spot = self.settings, self.spot
        limit = max(s.advice, s.deviations * usual.sd)
        if spot:
            if size > spot.peak:
                spot.peak, spot.at = size, depth
            below = size < LETS_GO * spot.limit
            first = spot.passed if isfinite(spot.passed) else t
            spot.passed = first if below else nan
            if t - spot.passed >= TWICE_S:
                self._end(row)
                return
        if size < limit or least < AGREE * limit:
            return
        if spot is None:
            turning = self.move == (kind, True)
            self.spot = spot = Spot(kind, turning, limit, depth, size, depth, usual)
        grade = self._grade(size, limit)
        if grade > self.told[kind].severity:
            self.told[kind].say(row, grade, _evidence(spot))

    def _grade(self, size: float, limit: float) -> int:
        s = self.settings
        if size >= max(s.critical, limit):
            return Severity.CRITICAL
        return Severity.WARNING if size >= max(s.warning, limit) else Severity.ADVICE

    def _end(self, row: int) -> None:
        if self.spot:
            self.told[self.spot.kind].say(row, Severity.NONE, _evidence(self.spot))
        self.spot = None


def _evidence(spot: Spot) -> dict[str, Any]:
    return {
        "volume_m3": None,
        "witnesses": ["hook load"],
        "peak_n": number(spot.peak),
        "peak_bit_depth_m": number(spot.at),
        "bit_depth_m": number(spot.began),
        "limit_n": number(spot.limit),
        "usual_above_expected_n": number(spot.usual.middle),
        "noise_n": number(spot.usual.sd),
        "turning": spot.turning,
    }


def _sight(rows: Table, free: Mask) -> Codes:
    """Blind where what is needed is not known; loads are asked for out of slips, off bottom."""
    sight = np.zeros(free.size, np.int8)
    for k in range(len(NEEDS), 0, -1):
        lost = ~pick(rows, NEEDS[k - 1]).good
        sight[lost & free if k > 2 else lost] = k
    held = (pick(rows, "in_slips").usable() == 1.0) | (pick(rows, "on_bottom").usable() == 1.0)
    sight[held] = NOT_ON_WATCH
    return sight
