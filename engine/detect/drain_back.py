"""The drain-back: what the return gauge shows after the pumps stop, learnt from stop to stop."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import exp, isfinite, nan
from statistics import median

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
MAD_SD = 1.4826
LEAST = 2
"""So many stops make a curve. [-]"""
STILL_M, REST_S = 0.2, 30.0
"""Pipe that moves pushes mud out: what the gauge shows does not count until the string has
stood this still for so long. [m, s]"""


@dataclass(slots=True, eq=False)
class DrainBack:
    """Share of the full return flow against time since the stop, as a median of the newest."""

    settings: ConnectionSettings
    full: float = nan
    """Return flow before the stop. [m3/s]"""
    curves: deque[list[float]] = field(default_factory=deque)
    share: float = nan
    """Of the full flow, above the curve, newest. [-]"""
    above: float = 0.0
    """For how long it has been above the limit. [s]"""
    below: float = 0.0
    """For how long it has been well below it. [s]"""
    came: float = 0.0
    """Since it has been above. [m3]"""
    called: bool = False
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
        self.share = nan
        self.above = self.below = self.came = 0.0
        self._bit, self._still = nan, REST_S
        self.called = False

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
        self.share = nan
        if not isfinite(out) or not self.full > 0 or self._still < REST_S:
            return self.called
        share = out / self.full
        point = min(int(off / STEP_S), POINTS - 1)
        self._now[point] += share
        self._count[point] += 1
        expected, limit = self.expected(off)
        self.share = share - expected
        learnt = len(self.curves) >= LEAST
        if off < (self.settings.armed_s if learnt else self.settings.unlearned_s):
            return False
        over = self.share > limit
        self.above = self.above + BIN_S if over else 0.0
        self.came = self.came + self.share * self.full * BIN_S if over else 0.0
        self.below = self.below + BIN_S if self.share < 0.5 * limit else 0.0
        if self.above >= self.settings.flow_s:
            self.called = True
        elif self.below >= 2 * self.settings.flow_s:
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
        """Return the share that is expected at `off` [s], and the limit above it. [-]"""
        point, least = min(int(off / STEP_S), POINTS - 1), self.settings.flow_share
        while len(past := self._past(point)) < LEAST:
            if point <= EMPTY:
                return 0.0, least
            point -= 1
        middle = median(past)
        return middle, max(least, 4 * MAD_SD * median(abs(x - middle) for x in past))

    def _past(self, point: int) -> list[float]:
        return [c[point] for c in self.curves if isfinite(c[point])]
