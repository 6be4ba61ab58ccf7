"""Beside the pressure: which mud goes in, and whether the torque is above usual."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan, sqrt
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

    def process(
        self, density: Sequence[float], strokes: Sequence[float], lag: Sequence[float]
    ) -> tuple[list[bool], list[bool]]:
        """Go on by the bins of a block.

        Returns
        -------
        renewed, changing : list of bool
            Whether the reference must begin anew with this bin, and whether another mud is on
            its way, shape (m,) each.
        """
        renewed, changing = [False] * len(density), [self.changing] * len(density)
        for i, x in enumerate(density):
            if 0 < x < inf:  # unknown tells nothing
                renewed[i] = self._step(x, strokes[i], lag[i])
            changing[i] = self.changing
        return renewed, changing

    def _step(self, density: float, strokes: float, lag: float) -> bool:
        usual = self.usual
        if usual != usual:  # nothing is known yet
            self.usual = usual = density
        far = abs(density / usual - 1) > self.change
        if self.changing:
            return self._through(density, strokes, lag)
        self.odd = self.odd + 1 if far else 0
        if self.odd >= SUSTAINED:
            self.changing, self.since, self.newest = True, strokes, density
        elif not far:
            self.seen += 1
            weight = 1 / self.seen if self.seen < DENSITY_BINS else 1 / DENSITY_BINS
            self.usual = usual + weight * (density - usual)
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

    def learn(self, new: float) -> None:
        """Take one short mean in."""
        self.seen += 1
        if self.seen == 1:
            self.mean, self.spread = new, 0.03 * abs(new)
            return
        mean, square = self.mean, self.spread**2
        weight = BIN_S / TORQUE_S if self.seen > TORQUE_S / BIN_S else 1 / self.seen
        limit, out = 3 * self.spread, new - mean
        if not -limit <= out <= limit:
            out = limit if out > 0 else -limit
        self.mean = mean = mean + weight * out
        variance, least = square + weight * (out**2 - square), (0.005 * mean) ** 2
        self.spread = sqrt(variance if variance > least else least)


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

    def process(
        self, pumps: Sequence[bool], torque: Sequence[float], rotary: Sequence[float],
        on_bottom: Sequence[bool], steady: Sequence[bool],
    ) -> tuple[list[float], list[float]]:  # fmt: skip
        """Go on by those bins of a block in which the pumps run.

        Returns
        -------
        times, share : list of float
            Above usual, in standard deviations of the short mean, and as a share, shape (m,)
            each; NaN where not known. [-]
        """
        times, shares = [nan] * len(torque), [nan] * len(torque)
        short = self.short
        for i, (runs, x, on) in enumerate(zip(pumps, torque, on_bottom, strict=True)):
            if not runs:
                continue
            if not -inf < x < inf or abs(rotary[i]) < TURNING:
                short.clear()
                continue
            if on != self.was_on:
                short.clear()
                self.was_on, self.wait = on, MEAN
            if self.wait:  # the weight comes and goes within some seconds
                self.wait -= 1
                continue
            short.append(x)
            if len(short) < MEAN:
                continue
            mean = sum(short) / MEAN
            usual, spread = self._usual(on)
            if usual > 0:
                times[i], shares[i] = (mean - usual) / spread, mean / usual - 1
            if steady[i] and on:
                self.on.learn(mean)
            elif steady[i] and not shares[i] > STUCK:
                self.off.append(mean)
        return times, shares

    def _usual(self, on_bottom: bool) -> tuple[float, float]:
        """Return the reference and its spread, NaN while there is none."""
        if not on_bottom and len(self.off) >= OFF_LEARNS:
            usual = median(self.off)
            apart = 1.4826 * median([abs(x - usual) for x in self.off])
            return usual, max(apart, UNSURE * usual)
        on = self.on
        if on.seen < LEARNS:
            return nan, nan
        least = 0.01 * on.mean
        return on.mean, on.spread if on.spread > least else least
