"""How fast a level changes, and how slow a change could have been seen."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

import numpy as np

SEEN_SD = 4.0
"""A slope beyond so many standard deviations is no noise. [-]"""
LEAST = 6
"""Fewer levels tell nothing. [-]"""
MOST_KEPT = 0.9
"""Levels that hang together more than this are a drift, not noise. [-]"""


class Slope(NamedTuple):
    """A straight line through levels."""

    flow: float
    """[m3/s]"""
    seen: float
    """The slowest steady flow that these levels could have shown. [m3/s]"""


def slope(points: Sequence[tuple[float, float]]) -> Slope | None:
    r"""Return the least-squares slope of (time [s], level [m3]), None from too few.

    The scatter about the line gives what could have been seen, with the neighbour correlation r of
    waves in the tank, which a white-noise formula would miss by a factor of two or three:

    .. math:: 4\,s\,\sqrt{\frac{1 + r}{1 - r}} \Big/ \sqrt{\sum (t - \bar t)^2}

    References
    ----------
    .. [1] Least squares and the variance of its slope: N. R. Draper, H. Smith, Applied Regression
       Analysis, 3rd ed., Wiley, 1998, ch. 1. Effective number of correlated samples: C. E. Leith,
       J. Appl. Meteorol. 12 (1973) 1066.
    """
    if len(points) < LEAST:
        return None
    t, v = np.array(points).T
    t = t - t.mean()
    spread = float(t @ t)
    flow = float(t @ v) / spread
    rest = v - v.mean() - flow * t
    power = float(rest @ rest)
    kept = float(rest[1:] @ rest[:-1]) / power if power else 0.0
    kept = min(max(kept, 0.0), MOST_KEPT)
    sd = sqrt(power / (len(points) - 2) * (1 + kept) / (1 - kept) / spread)
    return Slope(flow, SEEN_SD * sd)
