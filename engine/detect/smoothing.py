"""Readings that are smoothed from bin to bin while the pumps run."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, nan


def smoothed(
    x: Sequence[float], pumping: Sequence[bool], weight: float, start: float
) -> list[float]:
    """Return the exponentially weighted mean after each bin, shape (m,), in the unit of `x`.

    Parameters
    ----------
    x : sequence of float
        Shape (m,); what is not a number leaves the mean as it is.
    pumping : sequence of bool
        Where the pumps stand it is forgotten, shape (m,). [-]
    weight : float
        Of the newest. [-]
    start : float
        Mean before the first bin, NaN if there is none.
    """
    out, mean = [], start
    for new, runs in zip(x, pumping, strict=True):
        if not runs:
            mean = nan
        elif -inf < new < inf:
            mean = mean + weight * (new - mean) if -inf < mean < inf else new
        out.append(mean)
    return out
