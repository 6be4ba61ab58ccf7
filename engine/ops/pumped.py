"""Strokes and volume pumped since the start, from the rig's counter and from the pump rates."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from engine.block import Block, FloatArray, Mask, Quality, Table, mark
from engine.config import WellConfig
from engine.ops.flow import FLOWING, PUMP_RATES
from engine.ops.primitives import NAN, Past, Trailing, hold, previous, running_max
from engine.ops.strokes import Strokes, StrokesState
from engine.ops.table import ever, joined, pick
from engine.well.pumps import STROKING, stroke_volume

BRIDGE_S = 30.0
"""Between two rates no further apart the pumps are taken to have done the mean of both. [s]"""
COMPARED_S = 120.0
"""Counter and rates are compared over so long. [s]"""
APART = 0.15
"""They may differ by this share: a rate comes in whole strokes a minute. [-]"""
SLACK = 40.0
"""... and by so many strokes: a change of rate within `BRIDGE_S`. [-]"""

_HELD = np.uint16(Quality.HELD)


@dataclass(frozen=True, slots=True, eq=False)
class PumpedState:
    """Totals since the start, and the newest sample of each source."""

    counter: StrokesState = field(default_factory=StrokesState)
    counted: bool = False
    """The counter has been read."""
    rate: float = NAN
    """Newest known rate [1/s] and its time [s since 1970-01-01 UTC]."""
    rate_at: float = NAN
    by_rate: float = 0.0
    """Strokes since the start by the rates alone. [-]"""
    gaps: float = 0.0
    """Gaps of the rates too long to bridge. [-]"""
    rate_then: float = 0.0
    """`by_rate` and `gaps` at the newest reading of the counter. [-]"""
    gaps_then: float = 0.0
    base: float = 0.0
    """Strokes at the newest reading of the counter. [-]"""
    apart: float = 0.0
    """Strokes the counter has counted more than the rates give. [-]"""
    past: Past = field(default_factory=Past)
    strokes: float = 0.0
    volume: float = 0.0
    per_stroke: float = NAN
    """Mean of the pumps that stroked last. [m3]"""
    sure_at: float = NAN
    """When the counter last told what was pumped. [s since 1970-01-01 UTC]"""
    begun: bool = False
    missed: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Pumping:
    """What `Pumped` gives, all of shape (n,)."""

    strokes: Block
    """Since the start. [-]"""
    volume: FloatArray
    """Since the start, never decreasing; where it is not known, the newest known. [m3]"""
    per_stroke: FloatArray
    """Mean output for each stroke of the pumps in use; NaN: unknown. [m3]"""
    known: Mask
    """The total is known at this sample."""
    begun: Mask
    """It has been known."""
    missed: Mask
    """At this sample it is known again, but something was pumped, or not, meanwhile."""


@dataclass(slots=True, eq=False)
class Pumped:
    """Count strokes, whatever is sent.

    The counter goes before the rates: it misses nothing between two packets. It is trusted
    while its strokes of the last two minutes agree with the rates; if not, the rates are
    counted and ``CONFLICT`` says so. Between two readings, over a reset and without a counter
    the rates are integrated. The counter is taken to count the pumps that are lined up; with
    pumps of different size a stroke is worth the mean by their present rates.
    """

    config: WellConfig
    state: PumpedState = field(default_factory=PumpedState)
    _volumes: tuple[tuple[str, float], ...] = field(init=False)

    def __post_init__(self) -> None:
        pairs = zip(PUMP_RATES, self.config.pumps, strict=False)
        self._volumes = tuple((c, stroke_volume(p)) for c, p in pairs if p.lined_up)

    def process(self, table: Table) -> Pumping:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``flow_in`` [m3/s], pump rates [1/s] and ``pump_strokes`` [-], shape (n,).
        """
        s = self.state
        flow, counter = pick(table, "flow_in"), pick(table, "pump_strokes")
        t, n = flow.t, len(flow)
        each, mean = self._per_stroke(table)
        flowing = flow.usable()
        rate = np.where(flowing <= FLOWING, 0.0, flowing) / each
        told, read = ~np.isnan(rate), counter.good

        # By the rates alone: the mean of two neighbours, for as long as lies between them.
        rates, times = rate[told], t[told]
        before, then = previous(rates, s.rate), previous(times, s.rate_at)
        span = times - then
        bridged = span <= BRIDGE_S
        step, gap = np.zeros(n), np.zeros(n, np.bool_)
        step[told] = np.where(bridged, 0.5 * (before + rates) * span, 0.0)
        gap[told] = ~bridged & ~np.isnan(then)
        by_rate = running_sum(step, s.by_rate)
        gaps = running_sum(gap, s.gaps)

        # The counter, where it says something new.
        strokes = Strokes(s.counter)
        counted = strokes.process(counter)
        fresh = read & ((counter.quality & _HELD) == 0)
        sure = fresh & ~np.isnan(counted.value)
        then_rate = hold(by_rate, fresh, s.rate_then)
        then_gaps = hold(gaps, fresh, s.gaps_then)
        covered = told & (gaps == previous(then_gaps, s.gaps_then))
        other = by_rate - previous(then_rate, s.rate_then)
        ahead = np.where(sure & covered, counted.value - other, 0.0)
        apart = running_sum(ahead, s.apart)
        trailing = Trailing(COMPARED_S, s.past)
        window = trailing.process(t, apart, by_rate)
        odd = _odd(window.columns, window.begin, window.end)

        sure &= ~odd
        base = running_sum(np.where(fresh, np.where(sure, counted.value, other), 0.0), s.base)
        total = running_max(base + (by_rate - then_rate), s.strokes)
        heard = ever(fresh, s.counted)
        # A gap of the rates is none if the counter went on.
        sure_at = hold(t, sure, s.sure_at)
        missed = gap & ~(t - sure_at <= BRIDGE_S)
        # A counter alone: a reading after a reset says nothing of what came before.
        missed |= fresh & ~sure & ~told & previous(heard, s.counted)
        value = np.where(np.isnan(each), 0.0, each)
        moved = total - previous(total, s.strokes)
        missed |= np.isnan(each) & (moved > 0)
        volume = running_sum(moved * value, s.volume)

        known = told | (read & ~np.isnan(each))
        begun = ever(known, s.begun)
        lost = ever(missed, s.missed)
        if n:
            k = np.flatnonzero(told)[-1:]
            self.state = PumpedState(
                strokes.state,
                bool(heard[-1]),
                float(rate[k[0]]) if k.size else s.rate,
                float(t[k[0]]) if k.size else s.rate_at,
                float(by_rate[-1]),
                float(gaps[-1]),
                float(then_rate[-1]),
                float(then_gaps[-1]),
                float(base[-1]),
                float(apart[-1]),
                trailing.state,
                float(total[-1]),
                float(volume[-1]),
                float(mean[-1]),
                float(sure_at[-1]),
                bool(begun[-1]),
                bool(lost[-1]),
            )
        both = joined(flow.quality, counter.quality)
        either = np.where(told, flow.quality, counter.quality)
        quality = np.where((told & read) | ~known, both, either).astype(np.uint16)
        quality = mark(quality, known & odd, Quality.CONFLICT)
        quality = mark(quality, known & lost, Quality.OLD_REFERENCE)
        quality = mark(quality, ~known & (quality == 0), Quality.NO_REFERENCE)
        shown = Block(t, np.where(known, total, NAN), quality)
        return Pumping(shown, volume, each, known, begun, missed)

    def _per_stroke(self, table: Table) -> tuple[FloatArray, FloatArray]:
        """Mean output for each stroke: now, and of listed pumps that stroked last. [m3]"""
        t = pick(table, "flow_in").t
        if not self._volumes:
            return np.full(t.size, NAN), np.full(t.size, NAN)
        outputs = [volume for _, volume in self._volumes]
        first = outputs[0]
        if all(volume == first for volume in outputs):
            mean = np.full(t.size, first)
        else:
            rates = [pick(table, channel).usable() for channel, _ in self._volumes]
            total, flow = np.zeros(t.size), np.zeros(t.size)
            for rate, volume in zip(rates, outputs, strict=True):
                total, flow = total + rate, flow + rate * volume
            going = total > STROKING
            carry = self.state.per_stroke
            carry = sum(outputs) / len(outputs) if np.isnan(carry) else carry
            mean = hold(flow / np.where(going, total, 1.0), going, carry)
        each = mean
        for channel in PUMP_RATES[len(self.config.pumps) :]:
            each = np.where(pick(table, channel).usable() > STROKING, NAN, each)
        return each, mean


def running_sum(step: npt.NDArray[Any], carry: float) -> FloatArray:
    """Sum of `carry` and all of `step` so far, strictly from left to right, shape (n,)."""
    out: FloatArray = np.add.accumulate(np.concatenate(([carry], step)))[1:]
    return out


def _odd(columns: tuple[FloatArray, ...], begin: np.ndarray, end: np.ndarray) -> Mask:
    """Whether counter and rates have come apart within the window, shape (n,). [-]"""
    apart, by_rate = columns
    if not begin.size:
        return np.zeros(0, np.bool_)
    more = apart[end - 1] - apart[begin]
    pumped = by_rate[end - 1] - by_rate[begin]
    odd: Mask = np.abs(more) > APART * pumped + SLACK
    return odd
