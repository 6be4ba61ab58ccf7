"""The level of the pits as the sums see it: waves filtered out, and how far it goes by itself."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import exp, isfinite, nan, sqrt
from typing import NamedTuple

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.settings_volume import WatchSettings

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
WAITS, COUNTS, ANEW = 0, 1, 2
"""What a bin is for the sum: nothing, a level that means something, another state of the flow."""


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

    def wave(self, wave: float) -> None:
        """Learn from what a bin is off the level. [m3]"""
        weight = max(1 / self.bins, EACH / WANDER)
        self.waves += weight * (wave**2 - self.waves)
        if not self.seen and self.bins >= EACH:
            ratio = self.waves / (WAVES * self.usual) ** 2
            self.size = self.usual * min(max(ratio, 1.0), RATIO)

    def change(self) -> None:
        """Learn from how far the newest level is from the first that is kept."""
        levels = self.levels
        change = min(levels[0] - levels[-1], CLIP * self.size)
        if len(levels) < SPAN or change <= 0:
            return
        self.seen += 1
        weight = max(EACH / WANDER, 1 / (self.seen + PRIOR))
        self.size = sqrt(self.size**2 + weight * (change**2 - self.size**2))


class Levels(NamedTuple):
    """What each of m bins is for the sum."""

    use: list[int]
    """`WAITS`, `COUNTS` or `ANEW`. [-]"""
    level: list[float]
    """Newest, filtered, in the direction that is watched; NaN before the first. [m3]"""
    scale: list[float]
    """By which the limits are multiplied on these pits. [-]"""


@dataclass(slots=True, eq=False)
class PitLevel:
    """Filters the level from bin to bin, in the direction that is watched.

    A single wild reading is none: the level is taken from the middle one of three. While the flow
    settles, and just after the pumps stopped, there is none.
    """

    limits: WatchSettings
    sign: float
    level: float = nan
    """[m3]"""
    wander: Wander = field(init=False)
    scale: float = 1.0
    _before: tuple[float, float] = (nan, nan)
    _seen: int = 0
    """Bins since the flow settled. [-]"""

    def __post_init__(self) -> None:
        self.wander = Wander(self.limits.wander)

    def process(
        self, unexplained: FloatArray, pumping: Mask, settled: FloatArray, skipped: Mask
    ) -> Levels:
        """Go on by m bins; all shapes are (m,).

        Parameters
        ----------
        unexplained : ndarray
            NaN while the pits are not known. [m3]
        pumping, skipped : ndarray of bool
            Bins that are `skipped` are left out, and the level begins anew after them. [-]
        settled : ndarray
            Time since the last start, stop or change of flow. [s]
        """
        weighs, sign = 1 - exp(-BIN_S / self.limits.filter_s), self.sign
        enter = self.limits.enter_s - (MEAN - 1) * BIN_S
        level, seen, (a, b) = self.level, self._seen, self._before
        wander = self.wander
        uses, levels, scales = out = Levels([], [], [])
        rows = zip(
            unexplained.tolist(), pumping.tolist(), settled.tolist(), skipped.tolist(), strict=True
        )
        for volume, pumps, since, skip in rows:
            use = WAITS
            if skip:
                seen = 0
            elif isfinite(volume):
                new = sign * volume
                low, high = (a, b) if a < b else (b, a)
                middle = low if new < low else high if new > high else new
                if b != b:  # not a number: there are no three yet
                    middle = new
                a, b = new, a
                if since < (enter if pumps else DRAINED_S):
                    if seen:
                        use, seen = ANEW, 0
                        wander.levels.clear()
                else:
                    seen += 1
                    weight = 1 / seen if seen <= MEAN else weighs
                    level = middle if seen == 1 else level + weight * (middle - level)
                    if seen >= MEAN:
                        use = COUNTS
                        wander.levels.append(level)
                        wander.bins += 1
                        if wander.seen < PRIOR:
                            wander.wave(middle - level)
                        if not wander.bins % EACH:
                            wander.change()
                            self._rescale()
            uses.append(use)
            levels.append(level)
            scales.append(self.scale)
        self.level, self._seen, self._before = level, seen, (a, b)
        return out

    def _rescale(self) -> None:
        limits = self.limits
        scale = self.wander.size / limits.wander
        self.scale = min(max(scale, limits.least_wander), limits.most_wander)
