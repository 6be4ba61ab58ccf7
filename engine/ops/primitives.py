"""Small block operators: the same output for any split of the input into blocks.

Every operator is (state, block) to (state, block). Comparison, ``where``, ``maximum`` and
``accumulate`` are exact whatever the block length, so an output never depends on where a block
ends. A difference of two running sums would: it rounds anew from block to block.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray, Mask, same_length

IntArray = npt.NDArray[np.intp]
NAN = float("nan")


def last_true(mask: Mask) -> IntArray:
    """Index of the newest true sample up to each sample, -1 before the first, shape (n,). [-]"""
    found: IntArray = np.maximum.accumulate(np.where(mask, np.arange(mask.size), -1))
    return found


def hold(value: npt.NDArray[Any], mask: Mask, carry: Any) -> npt.NDArray[Any]:
    """Sample and hold: `value` at the newest true of `mask`, `carry` before the first one.

    Parameters
    ----------
    value : ndarray
        Samples, shape (n,).
    mask : ndarray of bool
        Samples to take, shape (n,). [-]
    carry : scalar
        What was held when the block began.
    """
    same_length("hold", value, mask)
    k = last_true(mask)
    return np.where(k >= 0, value[np.maximum(k, 0)], carry)


def last_good(value: FloatArray, carry: float) -> FloatArray:
    """Repeat the newest number over NaN; `carry` before the first one, shape (n,)."""
    return hold(value, ~np.isnan(value), carry)


def previous(value: npt.NDArray[Any], carry: Any) -> npt.NDArray[Any]:
    """Each sample's predecessor; the first one's is `carry`, shape (n,)."""
    out = np.empty_like(value)
    if value.size:
        out[1:] = value[:-1]
        out[0] = carry
    return out


def running_max(value: FloatArray, carry: float) -> FloatArray:
    """Largest number so far, `carry` included, NaN ignored, shape (n,)."""
    out: FloatArray = np.fmax.accumulate(np.concatenate(([carry], value)))[1:]
    return out


def stretches(n: int, marks: Mask) -> Iterator[tuple[int, int]]:
    """Cut ``0..n`` before every true of `marks`; yield the (start, stop) of each part."""
    cuts = np.flatnonzero(marks).tolist()
    yield from ((a, b) for a, b in pairwise([0, *cuts, n]) if b > a)


@dataclass(slots=True)
class Hysteresis:
    """On above ``on`` until below ``off`` (on > off), or the other way round (on < off).

    NaN neither sets nor resets: the state is held.
    """

    on: float
    off: float
    state: bool = False

    def process(self, x: FloatArray) -> Mask:
        """Return the state at each sample, shape (n,). [-]"""
        if self.on > self.off:
            up, down = x > self.on, x < self.off
        else:
            up, down = x < self.on, x > self.off
        out: Mask = hold(up, up | down, self.state)
        if out.size:
            self.state = bool(out[-1])
        return out


@dataclass(frozen=True, slots=True)
class DwellState:
    """The newest code and when it began."""

    code: Any = None
    since: float = NAN


@dataclass(slots=True)
class Dwell:
    """When the present code began, from time stamps and not from sample counts."""

    state: DwellState = DwellState()

    def process(self, t: FloatArray, code: npt.NDArray[Any]) -> FloatArray:
        """Return the start of the present run of `code` at each sample, shape (n,). [s]"""
        same_length("dwell", t, code)
        if not t.size:
            return t.copy()
        first = code[0] if self.state.code is None else self.state.code
        change = code != previous(code, first)
        if self.state.code is None:
            change[0] = True
        since: FloatArray = hold(t, change, self.state.since)
        self.state = DwellState(code[-1].item(), float(since[-1]))
        return since


@dataclass(frozen=True, slots=True)
class DelayState:
    """The delayed state, when it began, and the run of the raw one."""

    on: bool = False
    since: float = NAN
    run: DwellState = DwellState()


@dataclass(slots=True)
class Delay:
    """On- and off-delay of a boolean; a delay of 0 passes at once."""

    on_delay: float
    """[s]"""
    off_delay: float
    """[s]"""
    state: DelayState = DelayState()

    def process(self, t: FloatArray, raw: Mask) -> tuple[Mask, FloatArray]:
        """Return the delayed state and when its present run began, back-dated.

        Returns
        -------
        on : ndarray of bool
            Shape (n,). [-]
        since : ndarray
            Start of the raw run that made the present state; NaN before the first change of
            the delayed state, shape (n,). [s]
        """
        dwell = Dwell(self.state.run)
        start = dwell.process(t, raw)
        ripe = t - start >= np.where(raw, self.on_delay, self.off_delay)
        on: Mask = hold(raw, ripe, self.state.on)
        since: FloatArray = hold(start, on != previous(on, self.state.on), self.state.since)
        if t.size:
            self.state = DelayState(bool(on[-1]), float(since[-1]), dwell.state)
        return on, since


@dataclass(slots=True)
class CumSum:
    """Running sum, strictly from left to right, that can be set to a value at any sample."""

    state: float = 0.0

    def process(self, step: FloatArray, set_at: Mask, set_to: FloatArray) -> FloatArray:
        """Add `step`; where `set_at`, the sum becomes `set_to` instead, shape (n,).

        Setting is rare, so the loop runs over those samples only. NaN in `step` counts as 0.
        """
        same_length("running sum", step, set_at, set_to)
        out = np.empty(step.size)
        step = np.where(np.isnan(step), 0.0, step)
        for a, b in stretches(step.size, set_at):
            part = np.concatenate(([self.state], step[a:b]))
            if set_at[a]:
                part[:2] = set_to[a], 0.0
            np.add.accumulate(part, out=part)
            out[a:b] = part[1:]
            self.state = float(part[-1])
        return out


def _no_numbers() -> FloatArray:
    return np.empty(0)


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """For each sample i of a block, the samples ``begin[i]`` to ``end[i]`` (exclusive)."""

    t: FloatArray
    """Times, those carried over first. [s]"""
    columns: tuple[FloatArray, ...]
    begin: IntArray
    end: IntArray

    @property
    def full(self) -> Mask:
        """The record reaches back beyond the window's begin, shape (n,). [-]"""
        reached: Mask = self.begin > 0
        return reached

    def _reduce(self, of: np.ufunc, column: FloatArray) -> FloatArray:
        if not self.begin.size:
            return np.empty(0)
        padded = np.concatenate((column, [0.0]))
        pairs = np.stack((self.begin, self.end), axis=1).ravel()
        out: FloatArray = of.reduceat(padded, pairs)[::2]
        return out

    def total(self, i: int = 0) -> FloatArray:
        """Sum of column `i` over each window, NaN if any is, shape (n,)."""
        return self._reduce(np.add, self.columns[i])

    def largest(self, i: int = 0) -> FloatArray:
        """Largest number of column `i` in each window, NaN only if all are, shape (n,)."""
        return self._reduce(np.fmax, self.columns[i])

    def smallest(self, i: int = 0) -> FloatArray:
        """Smallest number of column `i` in each window, NaN only if all are, shape (n,)."""
        return self._reduce(np.fmin, self.columns[i])


@dataclass(frozen=True, slots=True, eq=False)
class Past:
    """The newest samples, as far back as a window reaches, and one before."""

    t: FloatArray = field(default_factory=_no_numbers)
    columns: tuple[FloatArray, ...] = ()


@dataclass(slots=True, eq=False)
class Trailing:
    """Windows that reach back ``span`` seconds from each sample, both ends included."""

    span: float
    """[s]"""
    state: Past = field(default_factory=Past)

    def process(self, t: FloatArray, *columns: FloatArray) -> Window:
        """Join the carried samples to the new ones and mark each new sample's window."""
        same_length("trailing window", t, *columns)
        past = self.state.columns or tuple(np.empty(0) for _ in columns)
        joined = np.concatenate((self.state.t, t))
        both = tuple(np.concatenate(pair) for pair in zip(past, columns, strict=True))
        end = np.arange(self.state.t.size, joined.size) + 1
        begin = np.searchsorted(joined, t - self.span, side="left")
        # A time that occurs twice must not let a window look past its own sample.
        begin = np.minimum(begin, end - 1)
        if t.size:
            keep = max(int(begin[-1]) - 1, 0)
            self.state = Past(joined[keep:].copy(), tuple(c[keep:].copy() for c in both))
        return Window(joined, both, begin, end)
