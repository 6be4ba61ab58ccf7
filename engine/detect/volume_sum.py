r"""The leaky volume: how much has come, or gone, faster than what is never called.

.. math:: S = \max(0, S + \Delta U - k\,\Delta t)

in volume and not in standard deviations, so that its limits are those a driller speaks of. It is
the cumulative sum of Page with a reference value k.

References
----------
.. [1] E. S. Page, Continuous inspection schemes, Biometrika 41, 1954, 100-115.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import exp, isfinite, nan, sqrt

from engine.detect.bins import BIN_S
from engine.detect.settings_volume import WatchSettings

CAP = 1.5
"""The sum stops at this many times the gravest limit. [-]"""
MEAN = 12
"""So many bins make the first level after a pause: a minute. [-]"""
DRAINED_S = 150.0
"""So long after the pumps stopped the flow line has run empty and the level means something. [s]"""
SPAN = 120
"""Bins of ten minutes. [-]"""
EACH = 12
"""Every so many bins a change is taken. [-]"""
WANDER = 1440.0
"""Memory of them: two hours of settled flow. [-]"""
PRIOR = 15
"""What was assumed before counts as so many of them. [-]"""
WAVES = 0.65
"""Waves of usual pits, in what they wander. [-]"""
RATIO = 3.0
"""Rough pits are taken to wander no more than so many times the usual, and by the square of their
waves: what makes large waves is a poor gauge too. [-]"""
CLIP = 2.5
"""A change of more than so many standard deviations counts as this: an influx is no wave. [-]"""
LONGEST_S = 90.0
"""A pause counts as no more than this for the leak: what came in it, came. [s]"""


@dataclass(slots=True)
class Progress:
    """How long nothing more has come."""

    mark: float = nan
    """Highest level that was taken note of. [m3]"""
    quiet: float = 0.0
    """Since then, as far as the level was known. [s]"""

    def step(self, level: float, dt: float, least: float) -> None:
        """Go on by `dt` [s]; `least` is what counts as more. [m3]"""
        if not level < self.mark + least:
            self.mark, self.quiet = level, 0.0
        else:
            self.quiet += min(dt, LONGEST_S)

    def restart(self) -> None:
        """Begin anew at another state of the flow line; what was quiet stays quiet."""
        self.mark = nan


@dataclass(slots=True, eq=False)
class Wander:
    """How far the level goes by itself in ten minutes: waves, solids control, a gauge's drift.

    Only what goes the other way is looked at: what is watched for must not make itself usual.
    """

    usual: float
    levels: deque[float] = field(default_factory=lambda: deque(maxlen=SPAN))
    size: float = nan
    """Standard deviation of such changes. [m3]"""
    waves: float = 0.0
    """Mean square of the waves: pits that are rough wander, until more is known. [m6]"""
    bins: int = 0
    seen: int = 0
    """Changes it was learnt from. [-]"""

    def __post_init__(self) -> None:
        self.size = self.usual

    def step(self, level: float, wave: float) -> bool:
        """Go on by one bin of a flow that has settled; return whether the size may have changed.

        `wave` is what the bin is off the level. [m3]
        """
        levels = self.levels
        levels.append(level)
        self.bins += 1
        if self.seen < PRIOR:
            weight = max(1 / self.bins, EACH / WANDER)
            self.waves += weight * (wave**2 - self.waves)
            if not self.seen and self.bins >= EACH:
                ratio = self.waves / (WAVES * self.usual) ** 2
                self.size = self.usual * min(max(ratio, 1.0), RATIO)
        if self.bins % EACH:
            return False
        if len(levels) < SPAN:
            return True
        change = min(levels[0] - level, CLIP * self.size)
        if change <= 0:
            return True
        self.seen += 1
        weight = max(EACH / WANDER, 1 / (self.seen + PRIOR))
        self.size = sqrt(self.size**2 + weight * (change**2 - self.size**2))
        return True


@dataclass(slots=True, eq=False)
class VolumeSum:
    """The sum by the pits in one direction.

    A single wild reading is none: the level is taken from the middle one of three. While the flow
    settles, and while the pumps stand, the sum waits and is not lost: what came meanwhile is in the
    level with which it goes on.
    """

    limits: WatchSettings
    sign: float
    size: float = 0.0
    """[m3]"""
    level: float = nan
    """Filtered, in the direction that is watched. [m3]"""
    last: float = nan
    """Newest level that was counted. [m3]"""
    last_at: float = nan
    """[s]"""
    onset: float = nan
    """When the sum was last 0. [s since 1970-01-01 UTC]"""
    start: float = nan
    """Level at that time. [m3]"""
    progress: Progress = field(default_factory=Progress)
    wander: Wander = field(init=False)
    scale: float = 1.0
    """By which the limits are multiplied on these pits. [-]"""
    _before: tuple[float, float] = (nan, nan)
    _seen: int = 0
    """Bins since the flow settled. [-]"""
    _weight: float = field(init=False)
    """Of a bin in the filtered level. [-]"""

    def __post_init__(self) -> None:
        self._weight = 1 - exp(-BIN_S / self.limits.filter_s)
        self.wander = Wander(self.limits.wander)

    def step(
        self, t: float, unexplained: float, pumping: bool, settled: float, suspect: bool
    ) -> None:
        """Go on by one bin.

        Parameters
        ----------
        t, settled : float
            End of the bin, and time since the last start, stop or change of flow. [s]
        unexplained : float
            NaN while the pits are not known. [m3]
        pumping, suspect : bool
            With a suspicion that stands, the level counts while the pumps stand too.
        """
        ready = self.limits.enter_s - (MEAN - 1) * BIN_S if pumping else DRAINED_S
        if not isfinite(unexplained):
            return
        new, (a, b) = self.sign * unexplained, self._before
        middle = sorted((new, a, b))[1] if b == b else new  # until there are three: not a number
        self._before = (new, a)
        if settled < ready:
            if self._seen:
                self.progress.restart()
                self.wander.levels.clear()
            self._seen = 0
            return
        self._seen += 1
        weight = 1 / self._seen if self._seen <= MEAN else self._weight
        self.level = middle if self._seen == 1 else self.level + weight * (middle - self.level)
        if self._seen < MEAN:
            return
        if self.wander.step(self.level, middle - self.level):
            scale = self.wander.size / self.limits.wander
            self.scale = min(max(scale, self.limits.least_wander), self.limits.most_wander)
        self.progress.step(self.level, BIN_S, self.limits.progress * max(self.scale, 1.0))
        if pumping or suspect:
            self._count(t)

    def _count(self, t: float) -> None:
        limits = self.limits
        if isfinite(self.last):
            leak = limits.leak * max(self.scale, 1.0) * min(t - self.last_at, LONGEST_S)
            size = max(0.0, self.size + self.level - self.last - leak)
            self.size = min(size, CAP * limits.critical * self.scale)
        self.last, self.last_at = self.level, t
        if self.size == 0.0:
            self._fresh(t)

    def empty(self, t: float) -> None:
        """Begin anew: what made it is over."""
        self.size = 0.0
        self._fresh(t)

    def _fresh(self, t: float) -> None:
        self.onset, self.start = t, self.last
        self.progress.mark, self.progress.quiet = self.level, 0.0

    def skip(self) -> None:
        """Leave out what comes until it is stepped again; the sum stays."""
        self.last, self._seen = nan, 0

    @property
    def come(self) -> float:
        """Since the onset; NaN if not known. [m3]"""
        return self.last - self.start
