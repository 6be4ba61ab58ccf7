"""The sums by the return gauge: how much more, or less, comes out than should."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from engine.detect.bins import BIN_S
from engine.detect.settings_volume import WatchSettings

CAP = 1.5
"""A sum stops at this many times its limit, so that it can come back. [-]"""
MOST = 0.5
"""No bin adds more than this share of a limit: one wild reading of a slow feed is no kick, and a
true one makes it in two. [-]"""


@dataclass(slots=True, eq=False)
class FlowSums:
    """One leaky sum for each leak, in one direction."""

    limits: WatchSettings
    sums: list[float] = field(init=False)
    """[m3]"""
    share: float = 0.0
    """Largest sum, in its own limit. [-]"""
    _kept: list[float] = field(init=False)
    """Sums when the reading was last another."""
    _scale: float = field(init=False)
    _flow: list[tuple[float, float, float, float]] = field(init=False)
    """Leak [m3/s], limit [m3], most of a bin [m3] and cap [m3] of each, on that scale."""
    _least: float = field(init=False)
    """Smallest of the leaks. [m3/s]"""

    def __post_init__(self) -> None:
        self.sums = self._kept = [0.0] * len(self.limits.flow)
        self._rescale(1.0)

    def fresh(self) -> None:
        """The gauge shows another value: what was counted until now stays counted."""
        self._kept = self.sums

    def count(self, above: float, scale: float) -> None:
        """Count a bin with so much `above` what should come. [m3/s]

        `scale` is the noise of the gauge, in that for which the limits were set. [-]
        """
        if scale != self._scale:
            self._rescale(scale)
        if self.share == 0.0 and above <= self._least:
            return  # all are 0, and stay so
        sums, share = [], 0.0
        for size, (leak, limit, most, cap) in zip(self.sums, self._flow, strict=True):
            more = (above - leak) * BIN_S
            size += more if more < most else most
            if size <= 0.0:
                sums.append(0.0)
                continue
            size = size if size < cap else cap
            sums.append(size)
            if size > share * limit:
                share = size / limit
        self.sums, self.share = sums, share

    def hangs(self) -> None:
        """The gauge hangs: take back what was counted since it showed another value."""
        if self.share < 1.0:
            self.sums = self._kept
            self.share = max(
                size / limit for size, (_, limit, *_) in zip(self.sums, self._flow, strict=True)
            )

    def empty(self) -> None:
        """Begin anew."""
        self.sums = self._kept = [0.0] * len(self.sums)
        self.share = 0.0

    def _rescale(self, scale: float) -> None:
        self._scale, self._flow = scale, []
        for one in self.limits.flow:
            limit = one.volume * scale
            self._flow.append((one.leak * scale, limit, MOST * limit, CAP * limit))
        self._least = min((leak for leak, *_ in self._flow), default=inf)
