"""The sum of what the pressure has lost at the same flow: how a washout begins."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite, nan
from typing import NamedTuple

from engine.detect.cusum import step_up
from engine.detect.settings_standpipe import WashoutSettings
from engine.detect.standpipe_reference import BLOCK_S, Reference

MEAN = 4
"""Blocks of the fall that is told. [-]"""
CAP = 1.5
"""The sum stops at this many times its limit. [-]"""
RETURNS_OFF = 0.03
"""Returns that are this far off, and three times the noise of the gauge, explain a fall: a pump
or a loss, an influx. [-]"""
GAIN = 0.3
"""So does this much more or less in the pits than a quarter of an hour ago. [m3] Two barrels,
the usual warning of an influx."""
LIGHT = 0.03
"""But an influx takes no more off the pressure: 5 m3 around collars are 200 m of mud half as
heavy. [-]"""
PITS_S = 900.0
"""Time constant of the volume that the pits are compared with. [s]"""


class Fallen(NamedTuple):
    """Where the sum stands."""

    sum_: float = 0.0
    limit: float = nan
    onset: float = nan
    """When the sum was last 0. [s since 1970-01-01 UTC]"""
    recent: tuple[float, ...] = ()
    """Newest blocks since then. [-]"""
    called: bool = False
    correlation: float = 0.0

    @property
    def size(self) -> float:
        """How much of the pressure is gone, positive. [-]"""
        return size_of(self.recent)


def size_of(blocks: tuple[float, ...]) -> float:
    """Return the fall that is told of these newest blocks, positive. [-]"""
    return -sum(blocks) / len(blocks) if blocks else 0.0


@dataclass(slots=True, eq=False)
class Fall:
    """Cumulative sum of the fall in standard deviations of blocks of 30 s."""

    settings: WashoutSettings
    state: Fallen = field(default_factory=Fallen)
    volume: float = nan
    """Unexplained volume, its slow mean. [m3]"""

    def clear(self) -> None:
        """Begin anew."""
        self.state = Fallen()

    def unexplained(self, mean: float, returns: float, noise: float, volume: float) -> bool:
        """Whether returns and pits are as before: else this block has another cause."""
        least = max(RETURNS_OFF, 3 * noise)
        gained = False
        if isfinite(volume):
            old = self.volume if isfinite(self.volume) else volume
            gained = abs(volume - old) > GAIN
            self.volume = old + BLOCK_S / PITS_S * (volume - old)
        return not (returns < -least or (-mean < LIGHT and (returns > least or gained)))

    def block(self, t: float, z: float, mean: float, reference: Reference) -> None:
        """Take one block in."""
        set_, s = self.settings, self.state
        limit = reference.limit(set_.false_alarms_per_tour, set_.reference_value)
        # A level from few blocks is off by its standard error.
        k = set_.reference_value + reference.unsure
        sum_ = min(step_up(s.sum_, -z, k), CAP * limit)
        if sum_ == 0.0:
            self.state = Fallen(0.0, limit, t, correlation=reference.correlation)
            return
        recent = (*s.recent, mean)[-MEAN:]
        size = size_of(recent)
        if s.called and len(recent) == MEAN and size < 0.5 * set_.least:
            self.state = Fallen(0.0, limit, t, correlation=reference.correlation)
            return
        called = s.called or (sum_ > limit and size >= set_.least)
        self.state = Fallen(sum_, limit, s.onset, recent, called, reference.correlation)
