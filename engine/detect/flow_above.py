"""What the return gauge shows beyond its own drift, and how noisy it is; whether it hangs."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, nan, sqrt
from typing import NamedTuple

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.return_gauge import BLOCK_S, CLIP, FIRST_NOISE, NOISE_S, PRIOR
from engine.detect.settings_volume import WatchSettings

MINUTE = round(BLOCK_S / BIN_S)
"""Bins of a minute. [-]"""
LEARNS = 120
"""Nothing is counted before so many bins of settled flow were seen: ten minutes. [-]"""
DRIFT = 4.0
"""Nor does the drift learn from more than this many times the noise. [-]"""
BEYOND = 0.25
"""A reading so far off, as a share of the flow, is no gauge that hangs but one at its end. [-]"""
LONGEST_S = 190.0
"""A gauge that hangs for longer is frozen; that is told elsewhere. [s]"""
WAITS, COUNTS, HANGS = 0, 1, 2
"""What a bin is for the sums: nothing, a flow that counts, a gauge that hangs."""


@dataclass(slots=True)
class Hang:
    """How long the gauge has shown the same."""

    value: float = nan
    bins: int = 0
    longest: int = 0
    """Longest repetition that ended by itself. [-]"""

    def fresh(self, reading: float, least: int) -> None:
        """Take another reading, if `least` bins of one are no chance. [-]"""
        usual = max(least, 3 * self.longest)
        if 0 < self.bins * BIN_S < LONGEST_S and self.longest < self.bins < usual:
            self.longest = self.bins
        self.value, self.bins = reading, 1


@dataclass(slots=True)
class Steadiness:
    """Drift and noise of the gauge in one direction."""

    drift: float = 0.0
    """What it is off for longer. [m3/s]"""
    noise: float = FIRST_NOISE
    """Standard deviation of minute means about it. [m3/s]"""
    bins: int = 0
    total: float = 0.0

    def step(self, excess: float, drift_s: float) -> float:
        """Go on by a bin; return what is left of `excess`. [m3/s]"""
        drift, least = self.drift, DRIFT * self.noise
        above = excess - drift
        self.bins = bins = self.bins + 1
        weight = max(BIN_S / drift_s, 1 / bins)
        clipped = -least if above < -least else least if above > least else above
        self.drift = drift + weight * clipped
        self.total += above
        if bins % MINUTE == 0:
            self._minute()
        return above

    def _minute(self) -> None:
        mean = min(abs(self.total / MINUTE), CLIP * self.noise)
        weight = max(1 - exp(-BLOCK_S / NOISE_S), 1 / (self.bins // MINUTE + PRIOR))
        self.noise = sqrt(self.noise**2 + weight * (mean**2 - self.noise**2))
        self.total = 0.0


class Flows(NamedTuple):
    """What each of m bins is for the sums."""

    use: list[int]
    """`WAITS`, `COUNTS` or `HANGS`. [-]"""
    fresh: list[bool]
    """The gauge shows another value than in the bin before."""
    above: list[float]
    """What comes out beyond what should, less the drift, where it counts. [m3/s]"""
    scale: list[float]
    """Noise of the gauge, in that for which the limits were set. [-]"""


@dataclass(slots=True, eq=False)
class FlowAbove:
    """Follows the gauge from bin to bin of settled flow, in the direction that is watched."""

    limits: WatchSettings
    sign: float
    hang: Hang = field(default_factory=Hang)
    steady: Steadiness = field(default_factory=Steadiness)
    scale: float = 1.0

    def process(
        self, reading: FloatArray, excess: FloatArray, expected: FloatArray, used: Mask
    ) -> Flows:
        """Go on by m bins; all shapes are (m,).

        Parameters
        ----------
        reading, expected : ndarray
            Of the return gauge. [m3/s]
        excess : ndarray
            What comes out beyond what should; NaN is not known. [m3/s]
        used : ndarray of bool
            The others are left out. [-]
        """
        limits, hang, steady = self.limits, self.hang, self.steady
        least, noise = round(limits.stuck_s / BIN_S), nan
        uses, changed, left, scales = out = Flows([], [], [], [])
        rows = zip(
            reading.tolist(), (self.sign * excess).tolist(), expected.tolist(),
            (used & np.isfinite(excess)).tolist(), strict=True,
        )  # fmt: skip
        for now, beyond, should, known in rows:
            use, above, fresh = WAITS, nan, False
            if known:
                fresh = now != hang.value
                if fresh:
                    hang.fresh(now, least)
                else:
                    hang.bins += 1
                if hang.bins >= least and self._hangs(now, should, least):
                    use = HANGS
                else:
                    above = steady.step(beyond, limits.flow_drift_s)
                    if steady.bins >= LEARNS:
                        use = COUNTS
                        if steady.noise != noise:
                            noise = steady.noise
                            self.scale = max(limits.least_noise, noise / limits.flow_noise)
            uses.append(use)
            changed.append(fresh)
            left.append(above)
            scales.append(self.scale)
        return out

    def _hangs(self, reading: float, expected: float, least: int) -> bool:
        long = self.hang.bins >= max(least, 3 * self.hang.longest)
        return long and abs(reading / expected - 1) < BEYOND
