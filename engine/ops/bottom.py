"""Deepest point, on bottom or not, and hole depth, without one needing the other.

The deepest point of the bit is geometry alone. On bottom takes that and a witness: weight or
torque that has lasted, or the deepest point going down while the pumps run. Only on bottom
makes hole: a tag, a ledge or a corrected depth never does.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import FloatArray, Mask, same_length
from engine.ops.primitives import (
    NAN,
    Delay,
    DelayState,
    Past,
    Trailing,
    hold,
    previous,
    running_max,
    stretches,
)
from engine.ops.tare import KLBF
from engine.ops.tare_state import Tares
from engine.ops.windows import RecentMedian, RecentState

NEAR = 0.15
"""The bit is where it touches bottom, within this. [m]"""
LEAST_WEIGHT, GONE_WEIGHT = 2 * KLBF, 1 * KLBF
"""Weight that shows bottom at least; weight at which a rising bit has left it. [N]"""
LEAST_TORQUE = 500.0
"""[N m]"""
SIGMAS = 4.0
LOWERED, RAISED = -0.05, 0.03
"""Block speeds between which a bit may be drilling: 180 m/h, and the noise. [m/s]"""
LIFTED_S = 3.0
ADVANCE, ADVANCE_S, ADVANCE_LEAST = 0.03, 120.0, 12.0
"""Deeper by this [m], eight sd of the smoothed position, in at most and at least these [s]."""
OLDEST = 30.0
"""Numbers from before a gap this long do not smooth what comes after it. [s]"""
PUMPING = 1e-3
"""Flow-in that counts. [m3/s]"""
AFTER_EDIT = 10.0
"""On bottom waits so long after a depth was set by hand. [s]"""
EDIT_SLACK = 0.05
"""A bit set so much deeper than the hole contradicts it. [m]"""
CATCH_UP = 2.0
"""A hole cannot have grown by more before the witness spoke. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class DeepestState:
    """The deepest point, and the newest bit depths of the smoothing."""

    deepest: float = NAN
    hole: float = NAN
    """Given hole depth; NaN: none yet. [m]"""
    median: RecentState = field(default_factory=RecentState)


@dataclass(slots=True, eq=False)
class Deepest:
    """Smoothed bit depth, and the deepest it or the given hole has been."""

    state: DeepestState = field(default_factory=DeepestState)

    def process(
        self, t: FloatArray, bit: FloatArray, doubt: Mask, reported: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Work out one block.

        Parameters
        ----------
        t, bit, reported : ndarray
            Times [s], bit depth, and hole depth as sent; NaN where unfit, shape (n,). [m]
        doubt : ndarray of bool
            The bit depth is not to be relied on, shape (n,). [-]

        Returns
        -------
        smooth, deepest, hole : ndarray
            Median of five bit depths, which lets no wild sample dig; deepest point; hole depth
            as given at the start, NaN before it is; shape (n,). [m]
        """
        same_length("deepest", t, bit, doubt, reported)
        median = RecentMedian(5, OLDEST, self.state.median)
        smooth = median.process(t, np.where(doubt, NAN, bit))
        hole = np.full(bit.size, self.state.hole)
        if np.isnan(self.state.hole):
            known = np.flatnonzero(~np.isnan(reported))
            if known.size:
                hole[known[0] :] = reported[known[0]]
        deepest = running_max(np.fmax(smooth, hole), self.state.deepest)
        if bit.size:
            self.state = DeepestState(float(deepest[-1]), float(hole[-1]), median.state)
        return smooth, deepest, hole

    def set(self, bit: float | None, hole: float | None) -> None:
        """Start again from depths given by hand [m]; None leaves one as it is."""
        s = self.state
        given = s.hole if hole is None else hole
        newest = float(s.median.past[-1]) if s.median.past.size else NAN
        deepest = float(np.fmax(given, newest if bit is None else NAN))
        median = s.median if bit is None else RecentState()
        self.state = DeepestState(deepest, given, median)


@dataclass(frozen=True, slots=True, eq=False)
class BottomState:
    """On bottom, hole depth and the clocks of the witnesses."""

    on: bool = False
    hole: float = NAN
    contradicted: bool = False
    """Bit and hole depth cannot both be right; the hole is held."""
    edited: bool = False
    """Depths were set since the newest sample."""
    until: float = -np.inf
    """On bottom waits until then after an edit. [s]"""
    weighted: DelayState = field(default_factory=DelayState)
    lifted: DelayState = field(default_factory=DelayState)
    past: Past = field(default_factory=Past)


@dataclass(frozen=True, slots=True, eq=False)
class Bottoms:
    """What `Bottom` gives, all of shape (n,)."""

    on: Mask
    hole: FloatArray
    """NaN until it has been given once. [m]"""
    contradicted: Mask
    touching: Mask
    """The bit is where it touches bottom and out of slips, witness or not."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What shows bottom, all of shape (n,), NaN where unfit."""

    t: FloatArray
    bit: FloatArray
    """Smoothed. [m]"""
    deepest: FloatArray
    above: FloatArray
    """Height of the bit above where it touches bottom without weight. [m]"""
    given: FloatArray
    """Hole depth as given. [m]"""
    doubt: Mask
    speed: FloatArray
    load: FloatArray
    torque: FloatArray
    flow: FloatArray
    slips: FloatArray


@dataclass(slots=True, eq=False)
class Bottom:
    """On bottom and hole depth."""

    hold_s: float = 5.0
    state: BottomState = field(default_factory=BottomState)

    def process(self, e: Evidence, tares: Tares) -> Bottoms:
        """Work out one block; raise `InputError` if the inputs differ in length."""
        same_length("bottom", e.t, e.bit, e.deepest, e.load, e.slips, tares.load)
        s = self.state
        if s.edited and e.t.size:
            s = replace(s, until=float(e.t[0]) + AFTER_EDIT)
        at = e.above < NEAR
        slow = (e.speed > LOWERED) & (e.speed < RAISED) & (e.slips != 1.0)
        weight = tares.load - e.load
        limit = np.fmax(LEAST_WEIGHT, SIGMAS * tares.spread)
        turn = np.fmax(np.fmax(LEAST_TORQUE, 0.1 * tares.torque), SIGMAS * tares.torque_spread)
        witness = (weight > limit) | (e.torque - tares.torque > turn)
        weighted, lifted = Delay(self.hold_s, 0.0, s.weighted), Delay(LIFTED_S, 0.0, s.lifted)
        lasting, _ = weighted.process(e.t, witness & slow)
        gone, _ = lifted.process(e.t, (weight < GONE_WEIGHT) & (e.speed > RAISED))
        trailing = Trailing(ADVANCE_S, s.past)
        window = trailing.process(e.t, e.deepest)
        then = window.columns[0][window.begin] if e.t.size else e.deepest
        reach = e.t - window.t[window.begin] if e.t.size else e.t
        advance = (e.deepest - then > ADVANCE) & (reach >= ADVANCE_LEAST) & slow
        advance &= e.flow > PUMPING
        off = (e.above > NEAR) | (e.slips == 1.0) | gone
        set_on = (lasting | advance) & at & (e.t >= s.until) & ~e.doubt & ~off
        set_on &= ~np.isnan(e.given)
        on: Mask = hold(set_on, set_on | off, s.on)
        hole, contradicted, s = self._dig(e, on, s)
        if e.t.size:
            self.state = replace(
                s,
                on=bool(on[-1]),
                edited=False,
                weighted=weighted.state,
                lifted=lifted.state,
                past=trailing.state,
            )
        return Bottoms(on, hole, contradicted, at & (e.slips == 0.0))

    def _dig(self, e: Evidence, on: Mask, s: BottomState) -> tuple[FloatArray, Mask, BottomState]:
        """Let the hole follow the bit while on bottom, from one change of that to the next."""
        n = on.size
        hole, contradicted = np.full(n, NAN), np.zeros(n, np.bool_)
        known = ~np.isnan(e.given)
        starts = (on != previous(on, s.on)) | (known & ~previous(known, not np.isnan(s.hole)))
        if n and s.edited:
            starts[0] = True
        for a, b in stretches(n, starts):
            if np.isnan(s.hole):
                s = replace(s, hole=float(e.given[a]))
            slack = EDIT_SLACK if a == 0 and s.edited else CATCH_UP
            if starts[a] and e.bit[a] - s.hole > slack:
                s = replace(s, contradicted=True)
            settled = np.flatnonzero(e.bit[a:b] <= s.hole) if s.contradicted else np.empty(0)
            c = a if not s.contradicted else a + int(settled[0]) if settled.size else b
            hole[a:c], contradicted[a:c] = s.hole, True
            hole[c:b] = running_max(np.where(on[c:b], e.bit[c:b], NAN), s.hole)
            s = replace(s, hole=float(hole[b - 1]), contradicted=c == b and s.contradicted)
        return hole, contradicted, s

    def set(self, hole: float | None) -> None:
        """Depths were given by hand; `hole` [m] is the new hole depth, None leaves it."""
        s = self.state
        given = s.hole if hole is None else hole
        self.state = replace(s, on=False, hole=given, contradicted=False, edited=True)
