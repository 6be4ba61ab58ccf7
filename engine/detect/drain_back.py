"""The drain-back: what the return gauge shows after the pumps stop, learnt from stop to stop."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import exp, inf, isfinite, nan
from statistics import fmean, median

from engine.detect.bins import BIN_S
from engine.detect.settings_connections import ConnectionSettings

STEP_S = 10.0
"""The curve has a point every so often. [s]"""
POINTS = 31
"""Five minutes of it. [-]"""
EMPTY = 12
"""From this point on an empty flow line is at rest: a later point is like it. [-]"""
MEAN_S = 60.0
"""Time constant of the return flow before the stop. [s]"""
MAD_SD, FOUR_IN_FIVE = 1.4826, 1.2816
"""A standard deviation in median distances; what four in five normal numbers keep within, in
standard deviations. [-]"""
LEAST = 2
"""So many stops make a curve. [-]"""
SPREADS = 4.0
"""Flow so many standard deviations above the curve is no drain-back. [-]"""
HOLDS = 0.7
"""A flow line that is long enough to have run empty gives less than this share half a minute
later; what holds is no drain-back. 75 s of storage, the longest on land, fall to 0.64. [-]"""
STILL_M, REST_S, QUIET_S = 0.2, 30.0, 90.0
"""Pipe that moves pushes mud out: what the gauge shows does not count until the string has
stood this still for so long, and counts little until three time constants of a usual flow line
have gone by. [m, s, s]"""


@dataclass(slots=True)
class DrainBack:
    """Share of the full return flow against time since the stop, as a median of the newest."""

    settings: ConnectionSettings
    full: float = nan
    """Return flow before the stop. [m3/s]"""
    curves: deque[list[float]] = field(default_factory=deque)
    share: float = nan
    """Of the full flow, above the curve, newest. [-]"""
    came: float = 0.0
    """Since it has been above. [m3]"""
    called: bool = False
    holds: float = nan
    """What does not fall any more, however little it is; NaN where it is not known. [m3/s]"""
    _recent: deque[tuple[float, float]] = field(default_factory=deque)
    """`share` and limit of the newest bins: those of half a minute and of the one before. [-]"""
    _below: float = 0.0
    """For how long it has been well below the limit. [s]"""
    _rest: float = 0.0
    """Standard deviation of what the gauge shows at rest, from stop to stop. [-]"""
    _now: list[float] = field(default_factory=list)
    _count: list[int] = field(default_factory=list)
    _bit: float = nan
    _still: float = 0.0

    def pumping(self, out: float) -> None:
        """Take the return flow while the pumps run steadily. [m3/s]"""
        if isfinite(out):
            old = self.full if isfinite(self.full) else out
            self.full = old + (1 - exp(-BIN_S / MEAN_S)) * (out - old)

    def begin(self) -> None:
        """The pumps have stopped."""
        self._now, self._count = [0.0] * POINTS, [0] * POINTS
        self.share = self.holds = nan
        self.came = self._below = 0.0
        self._recent.clear()
        self._bit, self._still = nan, QUIET_S
        self.called = False
        self._rest = _spread([d for k in range(EMPTY, POINTS) for d in self._apart(k)])

    def step(self, off: float, out: float, bit: float) -> bool:
        """Go on by one bin of a stop; return whether there is flow that nothing explains.

        Parameters
        ----------
        off : float
            Since the stop. [s]
        out : float
            By the gauge, NaN if not known. [m3/s]
        bit : float
            Depth of the bit, NaN if not known. [m]
        """
        moved = abs(bit - self._bit) > STILL_M
        self._bit = bit if moved or not isfinite(self._bit) else self._bit
        self._still = 0.0 if moved else self._still + BIN_S
        self.share = self.holds = nan
        if not isfinite(out) or not self.full > 0 or self._still < REST_S:
            self._recent.clear()
            return self.called
        share = out / self.full
        point = min(int(off / STEP_S), POINTS - 1)
        self._now[point] += share
        self._count[point] += 1
        expected, limit = self.expected(off)
        if self._still < QUIET_S:
            limit = max(limit, self.settings.flow_share)
        self.share = share - expected
        half = round(self.settings.flow_s / BIN_S)
        self._recent.append((self.share, limit))
        while len(self._recent) > 2 * half:
            self._recent.popleft()
        learnt = len(self.curves) >= LEAST
        armed = self.settings.armed_s + self.settings.flow_s
        if off < (armed if learnt else self.settings.unlearned_s):
            return False
        return self._judge(half, limit, learnt)

    def _judge(self, half: int, limit: float, learnt: bool) -> bool:
        """Compare half a minute with the limit, and with the half minute before."""
        shares, limits = zip(*self._recent, strict=True)
        mean, most = fmean(shares[-half:]), fmean(limits[-half:])
        if len(shares) == 2 * half and mean > HOLDS * fmean(shares[:half]):
            self.holds = mean * self.full
        low = self.share < 0.5 * limit
        self.came = 0.0 if low else self.came + self.share * self.full * BIN_S
        self._below = self._below + BIN_S if low else 0.0
        over = len(shares) >= half and mean > most and min(shares[-half:]) > 0.5 * limit
        if over and (learnt or isfinite(self.holds)):
            self.called = True
        elif self._below >= 2 * self.settings.flow_s:
            self.called = False
        return self.called

    def end(self, accepted: bool) -> None:
        """The pumps run again; an accepted stop teaches."""
        if accepted and sum(self._count) >= LEAST:
            pairs = zip(self._now, self._count, strict=True)
            self.curves.append([total / n if n else nan for total, n in pairs])
            while len(self.curves) > self.settings.kept:
                self.curves.popleft()

    def expected(self, off: float) -> tuple[float, float]:
        """Return the share that is expected at `off` [s], and the limit above it. [-]

        The limit is that of `ConnectionSettings.flow_share` until enough stops are known, then
        `flow_least`, but never less than these stops differ, the gauge wavers, or the curve falls
        in ten seconds: pumps are ramped down, and a stop begins somewhere in its bin.
        """
        point, most = min(int(off / STEP_S), POINTS - 1), self.settings.flow_share
        while len(past := self._past(point)) < LEAST:
            if point <= EMPTY:
                return 0.0, most
            point -= 1
        middle, n = median(past), len(past)
        spread = MAD_SD * median(abs(x - middle) for x in past)
        if n < self.settings.least:
            return middle, max(most, SPREADS * spread)
        few = self.settings.kept / n
        before = self._past(max(point - 1, 0))
        falls = median(before) - middle if before else inf
        least = self.settings.flow_least / self.full
        spread = max(few * spread, self._rest)
        return middle, max(least, SPREADS * spread, falls)

    def _past(self, point: int) -> list[float]:
        return [c[point] for c in self.curves if isfinite(c[point])]

    def _apart(self, point: int) -> Iterator[float]:
        """Yield how far the stops lie from their median at a point. [-]"""
        past = self._past(point)
        if len(past) >= LEAST:
            middle = median(past)
            yield from (abs(x - middle) for x in past)


def _spread(apart: list[float]) -> float:
    """Return the standard deviation that distances from a median speak of; 0 of none. [-]

    From the distance that four in five keep: coarse readings are the same half of the time, and one
    stop of eight may have been no good.
    """
    return sorted(apart)[len(apart) * 4 // 5] / FOUR_IN_FIVE if apart else 0.0
