"""What the detectors of pressures share: pumps off, medians and extremes of the newest bins."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite, nan

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S, Bins
from engine.detect.call import Job, Seen
from engine.ops.flow import FLOWING
from engine.ops.primitives import previous
from engine.ops.table import ever

UNSEEN_S = 15.0
"""Nobody starts and stops the pumps in so short a time. [s]"""
FORGET_S = 60.0
"""Medians do not reach over a gap of this length. [s]"""


def busy(jobs: Sequence[Job], t: float, *what: str) -> bool:
    """Whether one of the jobs `what` is declared at `t` [s]."""
    return bool(jobs) and any(j.what in what and j.at < t <= j.until for j in jobs)


def busy_bins(seen: Seen, *what: str) -> Mask:
    """Return where one of the jobs `what` is declared, shape (m,). [-]"""
    t, out = seen.bins.t, np.zeros(len(seen.bins), np.bool_)
    for job in seen.jobs:
        if job.what in what:
            out |= (job.at < t) & (t <= job.until)
    return out


@dataclass(slots=True)
class EverRead:
    """Whether any of these gauges has ever been read: one that is not there is not at rest."""

    channels: tuple[str, ...]
    read: bool = False

    def process(self, bins: Bins) -> Mask:
        """Return it for each bin, shape (m,). [-]"""
        known = np.zeros(len(bins), np.bool_)
        for name in self.channels:
            known |= bins.known(name)
        out = ever(known, self.read)
        if out.size:
            self.read = bool(out[-1])
        return out


@dataclass(slots=True)
class PumpsOff:
    """How long the pumps have been off without a doubt."""

    since: float = nan
    """[s since 1970-01-01 UTC]"""
    seen: float = nan
    """When flow-in was last known. [s since 1970-01-01 UTC]"""

    def step(self, t: float, flow: float) -> float:
        """Return for how long they have been off at the end of a bin. [s]

        NaN while they run, and when flow-in has not been known for 15 s.

        Parameters
        ----------
        t : float
            End of the bin. [s since 1970-01-01 UTC]
        flow : float
            Flow-in, NaN if unknown. [m3/s]
        """
        if not t - self.seen <= UNSEEN_S:
            self.since = nan
        if isfinite(flow):
            self.seen = t
            if flow > FLOWING:
                self.since = nan
            elif not isfinite(self.since):
                self.since = t - BIN_S
        return t - self.since

    def process(self, seen: Seen) -> tuple[FloatArray, Mask]:
        """Go on by the bins of a block.

        Returns
        -------
        off : ndarray
            What `step` says of each, shape (m,). [s]
        rest : ndarray of bool
            The pumps run, or cementing or a pressure test is declared, shape (m,). [-]
        """
        t, flow = seen.bins.t, seen.bins["flow_in"]
        off, goes = np.full(t.size, nan), flow > FLOWING
        for i in np.flatnonzero(~goes).tolist():
            if i and goes[i - 1]:
                self.since, self.seen = nan, float(t[i - 1])
            off[i] = self.step(float(t[i]), float(flow[i]))
        if t.size and goes[-1]:
            self.since, self.seen = nan, float(t[-1])
        runs = np.isfinite(flow) & ~np.isfinite(off)
        return off, runs | busy_bins(seen, "cementing", "pressure_test")


def news(rest: Mask) -> list[int]:
    """Return the bins at which something can happen: all but those that go on resting."""
    return np.flatnonzero(~(rest & previous(rest, False))).tolist()


@dataclass(slots=True)
class Middle:
    """Median of the newest good bins."""

    size: int
    """[-]"""
    newest: deque[float] = field(default_factory=deque)
    at: float = nan
    """[s since 1970-01-01 UTC]"""

    def step(self, t: float, x: float) -> float:
        """Return the median with `x`; NaN if that is unknown."""
        if not isfinite(x):
            return nan
        if not t - self.at <= FORGET_S:
            self.newest.clear()
        self.at = t
        self.newest.append(x)
        if len(self.newest) > self.size:
            self.newest.popleft()
        ranked, n = sorted(self.newest), len(self.newest)
        return 0.5 * (ranked[(n - 1) // 2] + ranked[n // 2])

    def clear(self) -> None:
        """Forget everything."""
        self.newest.clear()


@dataclass(slots=True)
class Span:
    """The numbers of the newest `seconds`, of which only those that can still matter are kept."""

    seconds: float
    """[s]"""
    first: tuple[float, float] | None = None
    """Time [s] and number of the oldest."""
    _all: deque[tuple[float, float]] = field(default_factory=deque)
    _low: deque[tuple[float, float]] = field(default_factory=deque)
    """Rising: each is the lowest of all from it to the newest."""
    _high: deque[tuple[float, float]] = field(default_factory=deque)

    def step(self, t: float, x: float) -> None:
        """Take one more."""
        point, oldest = (t, x), t - self.seconds
        low, high = self._low, self._high
        while low and low[-1][1] >= x:
            low.pop()
        while high and high[-1][1] <= x:
            high.pop()
        for points in (self._all, low, high):
            points.append(point)
            while points[0][0] < oldest:
                points.popleft()
        self.first = self._all[0]

    def low(self) -> float:
        """Return the lowest, NaN if there is none."""
        return self._low[0][1] if self._low else nan

    def high(self) -> float:
        """Return the highest, NaN if there is none."""
        return self._high[0][1] if self._high else nan

    def clear(self) -> None:
        """Forget everything."""
        if self.first is not None:
            self.first = None
            for points in (self._all, self._low, self._high):
                points.clear()
