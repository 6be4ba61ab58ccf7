"""The sums by the return gauge: how much more, or less, comes out than should."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, isfinite, nan, sqrt

from engine.detect.bins import BIN_S
from engine.detect.return_gauge import BLOCK_S, CLIP, FIRST_NOISE, NOISE_S, PRIOR
from engine.detect.settings_volume import WatchSettings

CAP = 1.5
"""A sum stops at this many times its limit, so that it can come back. [-]"""
MOST = 0.5
"""No bin adds more than this share of a limit: one wild reading of a slow feed is no kick, and a
true one makes it in two. [-]"""
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


@dataclass(slots=True)
class Hang:
    """How long the gauge has shown the same."""

    value: float = nan
    bins: int = 0
    longest: int = 0
    """Longest repetition that ended by itself. [-]"""

    def step(self, reading: float, least: int) -> bool:
        """Go on by a bin; return whether it hangs, if `least` bins are no chance. [-]"""
        if reading != self.value:
            if 0 < self.bins * BIN_S < LONGEST_S and self.bins < max(least, 3 * self.longest):
                self.longest = max(self.longest, self.bins)
            self.value, self.bins = reading, 0
        self.bins += 1
        return self.bins >= max(least, 3 * self.longest)


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
        above = excess - self.drift
        self.bins += 1
        weight = max(BIN_S / drift_s, 1 / self.bins)
        least = DRIFT * self.noise
        self.drift += weight * min(max(above, -least), least)
        self.total += above
        if self.bins % MINUTE == 0:
            minutes = self.bins // MINUTE
            mean = min(abs(self.total / MINUTE), CLIP * self.noise)
            weight = max(1 - exp(-BLOCK_S / NOISE_S), 1 / (minutes + PRIOR))
            self.noise = sqrt(self.noise**2 + weight * (mean**2 - self.noise**2))
            self.total = 0.0
        return above


@dataclass(slots=True, eq=False)
class FlowSums:
    """One leaky sum for each leak, in one direction."""

    limits: WatchSettings
    sign: float
    sums: list[float] = field(default_factory=list)
    """[m3]"""
    share: float = 0.0
    """Largest sum, in its own limit. [-]"""
    scale: float = 1.0
    """Noise of the gauge, in that for which the limits were set. [-]"""
    hang: Hang = field(default_factory=Hang)
    steady: Steadiness = field(default_factory=Steadiness)
    _kept: tuple[float, ...] = ()
    """Sums when the reading was last another."""
    _flow: list[tuple[float, float]] = field(init=False)
    """Leak [m3/s] and limit [m3] of each."""

    def __post_init__(self) -> None:
        self.sums = [0.0] * len(self.limits.flow)
        self._flow = [(limit.leak, limit.volume) for limit in self.limits.flow]

    def step(self, reading: float, excess: float, expected: float) -> None:
        """Go on by one bin of settled flow.

        Parameters
        ----------
        reading, expected : float
            Of the return gauge. [m3/s]
        excess : float
            What comes out beyond what should; NaN is not known. [m3/s]
        """
        if not isfinite(excess):
            return
        limits = self.limits
        before = self.hang.value
        hangs = self.hang.step(reading, round(limits.stuck_s / BIN_S))
        if reading != before:
            self._kept = tuple(self.sums)
        if hangs and abs(reading / expected - 1) < BEYOND:
            if self.share < 1.0:
                self.sums = list(self._kept)
                self.share = max(
                    size / (volume * self.scale)
                    for size, (_, volume) in zip(self.sums, self._flow, strict=True)
                )
            return
        above = self.steady.step(self.sign * excess, limits.flow_drift_s)
        if self.steady.bins < LEARNS:
            return
        self.scale = max(limits.least_noise, self.steady.noise / limits.flow_noise)
        self.share = 0.0
        for i, (leak, volume) in enumerate(self._flow):
            limit = volume * self.scale
            size = self.sums[i] + min((above - leak * self.scale) * BIN_S, MOST * limit)
            if size <= 0.0:
                self.sums[i] = 0.0
                continue
            self.sums[i] = size = min(size, CAP * limit)
            if size > self.share * limit:
                self.share = size / limit

    def empty(self) -> None:
        """Begin anew."""
        self.sums, self.share = [0.0] * len(self.sums), 0.0
        self._kept = tuple(self.sums)
