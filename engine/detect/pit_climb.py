r"""How fast the pits rise while the pumps stand: a straight line through all that was read.

.. math:: \sigma_b^2 = w\,\sigma^2 / \sum (t - \bar t)^2

References
----------
.. [1] Least squares of a straight line: textbook. The factor w for neighbours that go together,
   (1 + r)/(1 - r) with r the correlation from bin to bin: the same, of a first-order process.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import isfinite, nan, sqrt

WAVES = 3.5
"""r = 0.55: waves of 8 s, the longest that agitated pits have, in bins of 5 s. [-]"""
LONGEST_S = 600.0
"""Looked back on. [s]"""
LEAST = 6
"""Half a minute of bins makes a line. [-]"""


@dataclass(slots=True)
class PitClimb:
    """The volumes of a stop."""

    points: deque[tuple[float, float]] = field(default_factory=deque)
    """Since the pumps stopped [s], and volume [m3]; only known ones."""

    def add(self, off: float, volume: float) -> None:
        """Take a bin; NaN is none."""
        if isfinite(volume):
            self.points.append((off, volume))
        while self.points and self.points[0][0] < off - LONGEST_S:
            self.points.popleft()

    def fit(self, since: float, noise: float) -> tuple[float, float]:
        """Return how fast they rise since `since` [s], and its standard deviation. [m3/s]

        Both are NaN with too few points. `noise` is the standard deviation of a bin. [m3]
        """
        points = [p for p in self.points if p[0] >= since]
        n = len(points)
        if n < LEAST:
            return nan, nan
        t0 = sum(t for t, _ in points) / n
        v0 = sum(v for _, v in points) / n
        spread = sum((t - t0) ** 2 for t, _ in points)
        rate = sum((t - t0) * (v - v0) for t, v in points) / spread
        return rate, noise * sqrt(WAVES / spread)
