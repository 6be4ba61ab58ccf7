"""Beside the pressure: which mud goes in, and whether the torque is above usual."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import isfinite, nan, sqrt
from statistics import median

from engine.detect.bins import BIN_S

MEAN = 3
"""Bins of the short mean. [-]"""
LEARNS, OFF_LEARNS = 24, 4
"""Short means that make the first reference of the torque: two minutes of drilling; off bottom a
connection leaves no more time. [-]"""
UNSURE = 0.03
"""Least spread of the reference off bottom, as a share. [-]"""
STUCK = 0.2
"""Torque off bottom that is so much above usual is no past to compare with. [-]"""
TORQUE_S = 900.0
"""Time constant of the torque's reference: the rock changes within metres. [s]"""
TURNING = 1.0
"""Slower is not turning. [rad/s]"""
SUSTAINED = 6
"""Bins for which another density must last. [-]"""
BOTTOMS_UP = 6000.0
"""Strokes that are waited for where the lag is not known. [-] common practice, no source"""
DENSITY_BINS = 720.0
"""Memory of the density: an hour. [-]"""


@dataclass(slots=True, eq=False)
class Mud:
    """Tells that another mud goes in, and when the hole is full of it.

    A pill passes: the old reference is good again once it has gone through. A meter that is
    not there tells nothing.
    """

    change: float
    usual: float = nan
    """Density that the reference belongs to. [kg/m3]"""
    seen: int = 0
    changing: bool = False
    since: float = nan
    """Strokes at the newest change. [-]"""
    odd: int = 0
    newest: float = nan

    def step(self, density: float, strokes: float, lag: float) -> bool:
        """Go on by one bin; return whether the reference must begin anew."""
        if not isfinite(density) or density <= 0:
            return False
        if not isfinite(self.usual):
            self.usual = density
        far = abs(density / self.usual - 1) > self.change
        if self.changing:
            return self._through(density, strokes, lag)
        self.odd = self.odd + 1 if far else 0
        if self.odd >= SUSTAINED:
            self.changing, self.since, self.newest = True, strokes, density
        elif not far:
            self.seen += 1
            self.usual += max(1 / DENSITY_BINS, 1 / self.seen) * (density - self.usual)
        return False

    def _through(self, density: float, strokes: float, lag: float) -> bool:
        if not isfinite(self.since):
            self.since = strokes
        if abs(density / self.newest - 1) > 0.5 * self.change:
            self.since, self.newest = strokes, density
        wait = 1.5 * lag if isfinite(lag) else BOTTOMS_UP  # the string's bore comes first
        if not strokes - self.since >= wait:
            return False
        self.changing, self.odd = False, 0
        other = abs(density / self.usual - 1) > 0.5 * self.change
        if other:
            self.usual, self.seen = density, 1
        return other


@dataclass(slots=True)
class Usual:
    """Mean and spread of short means."""

    mean: float = nan
    spread: float = nan
    seen: int = 0


@dataclass(slots=True, eq=False)
class Torque:
    """Short mean of the torque against its own recent past, on bottom and off bottom apart.

    Off bottom has the past of drilling until it has its own: there is never more torque there.
    """

    on: Usual = field(default_factory=Usual)
    off: deque[float] = field(default_factory=lambda: deque(maxlen=LEARNS))
    """Short means off bottom: their median is the reference. [N m]"""
    short: deque[float] = field(default_factory=lambda: deque(maxlen=MEAN))
    was_on: bool = False
    wait: int = 0

    def step(
        self, torque: float, rotary: float, on_bottom: bool, steady: bool
    ) -> tuple[float, float]:
        """Go on by one bin.

        Returns
        -------
        times, share : float
            Above usual, in standard deviations of the short mean, and as a share; NaN where not
            known. [-]
        """
        if not isfinite(torque) or abs(rotary) < TURNING:
            self.short.clear()
            return nan, nan
        if on_bottom != self.was_on:
            self.short.clear()
            self.was_on, self.wait = on_bottom, MEAN
        if self.wait:  # the weight comes and goes within some seconds
            self.wait -= 1
            return nan, nan
        self.short.append(torque)
        if len(self.short) < MEAN:
            return nan, nan
        mean = sum(self.short) / MEAN
        usual, spread = self._usual(on_bottom)
        times = share = nan
        if usual > 0:
            times, share = (mean - usual) / spread, mean / usual - 1
        if steady and on_bottom:
            self._learn(self.on, mean)
        elif steady and not share > STUCK:
            self.off.append(mean)
        return times, share

    def _usual(self, on_bottom: bool) -> tuple[float, float]:
        """Return the reference and its spread, NaN while there is none."""
        if not on_bottom and len(self.off) >= OFF_LEARNS:
            usual = median(self.off)
            apart = 1.4826 * median([abs(x - usual) for x in self.off])
            return usual, max(apart, UNSURE * usual)
        if self.on.seen < LEARNS:
            return nan, nan
        return self.on.mean, max(self.on.spread, 0.01 * self.on.mean)

    def _learn(self, usual: Usual, mean: float) -> None:
        usual.seen += 1
        if usual.seen == 1:
            usual.mean, usual.spread = mean, 0.03 * abs(mean)
            return
        weight = max(BIN_S / TORQUE_S, 1 / usual.seen)
        limit, out = 3 * usual.spread, mean - usual.mean
        if not -limit <= out <= limit:
            out = limit if out > 0 else -limit
        usual.mean += weight * out
        variance = usual.spread**2 + weight * (out**2 - usual.spread**2)
        usual.spread = sqrt(max(variance, (0.005 * usual.mean) ** 2))
