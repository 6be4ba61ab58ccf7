"""Order statistics over windows of uneven length: exact, so the same for any split."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, same_length
from engine.errors import InputError
from engine.ops.primitives import NAN, IntArray, stretches


def _no_numbers() -> FloatArray:
    return np.empty(0)


@dataclass(slots=True, eq=False)
class RunningMedian:
    """Median of the newest ``window`` numbers; NaN is passed over and stays NaN.

    The first number is taken to have been there before, so that there is no start-up gap.
    """

    window: int = 3
    """Odd. [-]"""
    state: FloatArray = field(default_factory=_no_numbers)

    def __post_init__(self) -> None:
        if self.window < 1 or self.window % 2 == 0:
            raise InputError(f"running median: window must be odd and > 0, got {self.window}")

    def process(self, x: FloatArray) -> FloatArray:
        """Return the median at each sample, shape (n,)."""
        good = ~np.isnan(x)
        out = np.full(x.size, NAN)
        if not good.any():
            return out
        fresh = x[good]
        past = self.state if self.state.size else np.full(self.window - 1, fresh[0])
        joined = np.concatenate((past, fresh))
        view = np.lib.stride_tricks.sliding_window_view(joined, self.window)
        out[good] = np.median(view, axis=1)
        self.state = joined[joined.size - (self.window - 1) :].copy()
        return out


@dataclass(frozen=True, slots=True, eq=False)
class RecentState:
    """Numbers the next median needs, and when the newest came."""

    past: FloatArray = field(default_factory=_no_numbers)
    t: float = NAN
    """[s]"""


@dataclass(slots=True, eq=False)
class RecentMedian:
    """As `RunningMedian`, but after a time without numbers the old ones are forgotten."""

    window: int
    """Odd. [-]"""
    oldest: float
    """[s]"""
    state: RecentState = field(default_factory=RecentState)

    def process(self, t: FloatArray, x: FloatArray) -> FloatArray:
        """Return the median at each sample, shape (n,); NaN stays NaN."""
        same_length("recent median", t, x)
        good = ~np.isnan(x)
        out = np.full(x.size, NAN)
        if not good.any():
            return out
        at, fresh = t[good], x[good]
        new = np.diff(at, prepend=self.state.t) > self.oldest
        median = RunningMedian(self.window, self.state.past)
        parts = []
        for a, b in stretches(fresh.size, new):
            if new[a]:
                median.state = _no_numbers()
            parts.append(median.process(fresh[a:b]))
        out[good] = np.concatenate(parts)
        self.state = RecentState(median.state, float(at[-1]))
        return out


def rows_of(column: FloatArray, begin: IntArray, end: IntArray) -> FloatArray:
    """Lay each window out as a row, sorted, unfit samples last as NaN, shape (m, longest)."""
    longest = int((end - begin).max(initial=1))
    index = begin[:, None] + np.arange(longest)
    inside = index < end[:, None]
    picked = column[np.minimum(index, column.size - 1)] if column.size else np.empty(index.shape)
    rows: FloatArray = np.sort(np.where(inside, picked, np.nan), axis=1)
    return rows


def middle(rows: FloatArray) -> FloatArray:
    """Median of each row that is sorted with NaN last; NaN if nothing is there, shape (m,)."""
    count = np.count_nonzero(~np.isnan(rows), axis=1)
    low = np.maximum((count - 1) // 2, 0)
    at = np.arange(rows.shape[0])
    high = np.minimum(count // 2, rows.shape[1] - 1)  # of an empty row NaN, wherever it looks
    out: FloatArray = 0.5 * (rows[at, low] + rows[at, high])
    return out


def spread(rows: FloatArray) -> FloatArray:
    """Half the range of the middle 68 per cent of each sorted row, NaN if empty, shape (m,).

    That is the standard deviation of a normal distribution, and one or two wild samples
    hardly change it.
    """
    count = np.count_nonzero(~np.isnan(rows), axis=1)
    cut = np.maximum(count - 1, 0) * 4 // 25
    at = np.arange(rows.shape[0])
    last = np.maximum(count - 1, 0)
    out: FloatArray = 0.5 * (rows[at, last - cut] - rows[at, cut])
    return out
