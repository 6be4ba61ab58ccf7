"""How far the standpipe is from what is expected of it, while the rig pumps steadily."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, mark
from engine.ops.flow import FLOWING
from engine.ops.primitives import (
    NAN,
    CumSum,
    Delay,
    DelayState,
    Past,
    Trailing,
    hold,
    previous,
)
from engine.ops.table import joined

MEAN_S = 30.0
"""The residual is a mean over this time. [s]"""
BAND = 0.10
"""Flow that stays within this share of itself is steady: a rough stroke counter shows 5 to 6 per
cent from end to end in half a minute, a change of rate worth the name more. [-] common practice"""
SETTLE_S = 30.0
"""And the flow must have been steady for so long: mud in string and hose is squeezed for a few
seconds (K/V of some 50 m3), pipe just added fills. [s] Several times the slowest of them."""
GAP_S = 15.0
"""Nobody knows what the pumps did in a longer gap. [s]"""
STAND_S = 300.0
"""Steady drilling of a stand that makes its reference. [s]"""


@dataclass(frozen=True, slots=True)
class StandState:
    """Sums over the steady drilling of the present stand."""

    seconds: float = 0.0
    pressure: float = 0.0
    expected: float = 0.0
    in_slips: bool = False
    done: bool = False
    ratio: float = NAN
    """Measured over expected pressure, of the newest stand that had time enough. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class ResidualState:
    """All that must outlive a block."""

    known_at: float = NAN
    """Newest row with flow, pressure and expectation. [s]"""
    past: Past = field(default_factory=Past)
    steady: DelayState = field(default_factory=DelayState)
    stand: StandState = StandState()


@dataclass(slots=True, eq=False)
class PressureResidual:
    """Mean of measured minus expected pressure over the last 30 s.

    It exists while the flow has kept within 10 per cent of itself for the last 60 s, without a
    gap of more than 15 s; else it is ``NOT_APPLICABLE``.

    What is expected is taken as it is if it is calibrated on a `declared` reading. Otherwise
    a model may be off by a fifth for ever, so it is first scaled to what was measured in the
    first 300 s of steady drilling of each stand: until then the residual is ``NO_REFERENCE``,
    and it tells what has changed *since the stand began*, not what is wrong altogether. A hole
    in the string that grows over several stands is then seen by the pressure itself only.
    """

    declared: bool
    state: ResidualState = field(default_factory=ResidualState)

    def process(
        self, flow: FloatArray, pressure: Block, expected: Block, in_slips: Block, on_bottom: Block
    ) -> Block:
        """Work out one block.

        Parameters
        ----------
        flow : ndarray
            Pump rate, NaN where it is unknown, shape (n,). [m3/s]
        pressure, expected : Block
            Standpipe, measured and expected, shape (n,). [Pa]
        in_slips, on_bottom : Block
            1 or 0, shape (n,). [-]

        Returns
        -------
        Block
            Shape (n,). [Pa] Positive: more pressure than expected.
        """
        t, s = pressure.t, self.state
        p, e = pressure.usable(), expected.usable()
        known = ~np.isnan(p + e + flow)
        known_at = hold(t, known, s.known_at)
        since = t - previous(known_at, s.known_at)
        trailing = Trailing(MEAN_S, s.past)
        window = trailing.process(
            t,
            np.where(known, flow, NAN),
            np.where(known, p, 0.0),
            np.where(known, e, 0.0),
            known.astype(np.float64),
            (since > GAP_S).astype(np.float64),
        )
        high, low = window.largest(0), window.smallest(0)
        whole = window.full & (window.largest(4) == 0.0)
        raw = known & whole & (low > FLOWING) & (high - low <= BAND * high)
        # A row without a number neither ends nor proves a steady time; a gap does end it.
        raw = hold(raw, known | (since > GAP_S), bool(s.steady.run.code))
        delay = Delay(SETTLE_S, 0.0, s.steady)
        steady, _ = delay.process(t, raw)
        n = window.total(3)
        n = np.where(n > 0, n, NAN)
        measured, model = window.total(1) / n, window.total(2) / n
        ratio, stand = self._reference(t, measured, model, steady & known, in_slips, on_bottom)
        self.state = ResidualState(
            float(known_at[-1]) if t.size else s.known_at, trailing.state, delay.state, stand
        )
        value = np.where(steady & known, measured - ratio * model, NAN)
        quality = joined(pressure.quality, expected.quality)
        quality = mark(quality, known & ~steady, Quality.NOT_APPLICABLE)
        quality = mark(quality, known & steady & np.isnan(value), Quality.NO_REFERENCE)
        return Block(t, value, quality)

    def _reference(
        self, t: FloatArray, measured: FloatArray, model: FloatArray, steady: Mask,
        in_slips: Block, on_bottom: Block,
    ) -> tuple[FloatArray, StandState]:  # fmt: skip
        """Return what the expected pressure is scaled by at each row, shape (n,). [-]"""
        s = self.state.stand
        if self.declared or not t.size:
            return np.ones(t.size), s
        slips = in_slips.value == 1.0
        starts = slips & ~previous(slips, s.in_slips)
        use = steady & (on_bottom.usable() == 1.0)
        # Steady rows are at most `GAP_S` apart, but for the one that ends a gap: not steady.
        step = np.where(use, np.minimum(np.diff(t, prepend=self._before(t)), GAP_S), 0.0)
        sums = []
        for column, carry in (
            (step, s.seconds),
            (np.where(use, measured, 0.0), s.pressure),
            (np.where(use, model, 0.0), s.expected),
        ):
            sums.append(CumSum(carry).process(column, starts, np.zeros(t.size)))
        seconds, p, e = sums
        done = seconds >= STAND_S
        first = done & ~previous(done, s.done)
        ratio = hold(p / np.where(e > 0, e, NAN), first, s.ratio)
        state = StandState(
            float(seconds[-1]), float(p[-1]), float(e[-1]), bool(slips[-1]), bool(done[-1]),
            float(ratio[-1]),
        )  # fmt: skip
        return np.where(done, ratio, NAN), state

    def _before(self, t: FloatArray) -> float:
        past = self.state.past.t
        return float(past[-1]) if past.size else float(t[0])
