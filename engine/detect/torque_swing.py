"""How far the torque swings, and whether it swings in time: windows of half a minute.

References
----------
.. [1] Period of stick-slip, 2 to 10 s in strings of 1 to 4 km: J. D. Jansen and L. van den Steen,
   Active damping of self-excited torsional vibrations in oil well drillstrings, Journal of Sound
   and Vibration 179, 1995, 647-668 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np

from engine.block import FloatArray, Mask
from engine.ops.primitives import IntArray
from engine.ops.windows import rows_of

WINDOW_S = 30.0
LEAST = 20
"""Readings in a window. [-]"""
FINEST_S = 0.2
"""Grid on which the correlation is looked for, at least. [s]"""
SHORTEST_S, LONGEST_S = 2.0, 10.0
"""Periods that are looked for. [s]"""
TROUGH = -0.2
"""Between two swings the torque must go the other way: correlation at half a period. A step has
no such trough. [-]"""


@dataclass(frozen=True, slots=True)
class Swing:
    """What is found in one window."""

    amplitude: float = nan
    """(95th less 5th percentile) / (2 mean), trend taken off. [-]"""
    periodicity: float = nan
    """Correlation with itself one period later; NaN: not looked for, or no period. [-]"""
    period: float = nan
    """[s]"""


NO_SWING = Swing()
_SURE = 1 - 1e-9
"""Rounding may take so much off a bound."""


def swinging(torque: FloatArray, begin: IntArray, end: IntArray, least: float) -> Mask:
    """Return the windows whose swing is `least` of their mean, trend left in, shape (m,). [-]

    False with fewer than `LEAST` readings or without a positive mean.
    """
    out = (end - begin) >= LEAST
    # No percentiles lie further apart than the ends of the window.
    pairs = np.stack((begin[out], end[out]), axis=1).ravel()
    padded = np.append(torque, 0.0)
    top, bottom, total = (
        f.reduceat(padded, pairs)[::2] if pairs.size else np.empty(0)
        for f in (np.maximum, np.minimum, np.add)
    )
    most = (top - bottom) * (end[out] - begin[out])
    out[out] = most >= 2 * least * total * _SURE
    out[out] = amplitudes(torque, begin[out], end[out]) >= least
    return out


def amplitudes(torque: FloatArray, begin: IntArray, end: IntArray) -> FloatArray:
    """Return the swing of each window as a share of its mean, trend left in, shape (m,). [-]

    NaN with fewer than `LEAST` readings or without a positive mean.
    """
    rows = rows_of(torque, begin, end)
    count = np.count_nonzero(~np.isnan(rows), axis=1)
    at, last = np.arange(count.size), np.maximum(count - 1, 0)
    top, bottom = (
        rows[at, np.round(0.95 * last).astype(np.intp)],
        rows[at, np.round(0.05 * last).astype(np.intp)],
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(np.isnan(rows), 0.0, rows).sum(axis=1) / count
        swing: FloatArray = (top - bottom) / (2 * mean)
    swing[(count < LEAST) | ~(mean > 0)] = np.nan
    return swing


def swing_of(t: FloatArray, torque: FloatArray) -> Swing:
    """Look closely at one window: `t` [s], rising, and `torque` [N m], without NaN."""
    step = max(float(np.median(np.diff(t))), FINEST_S)
    grid = np.arange(t[0], t[-1] + 1e-9, step)
    mean = float(torque.mean())
    slope, level = np.polyfit(t - t[0], torque, 1)
    rest = torque - (slope * (t - t[0]) + level)
    low, high = np.percentile(rest, (5, 95))
    amplitude = float(high - low) / (2 * mean)
    x = np.interp(grid, t, rest)
    power = float(x @ x)
    most = min(int(LONGEST_S / step), x.size // 2)
    if power <= 0 or most * step < SHORTEST_S:
        return Swing(amplitude)
    # Scaled by how many pairs there are, so that a long period is not put down.
    corr = np.array([float(x[k:] @ x[: x.size - k]) * x.size / (x.size - k)
                     for k in range(most + 1)]) / power  # fmt: skip
    trough = np.flatnonzero(corr < TROUGH)
    first = max(int(trough[0]) if trough.size else most + 1, int(np.ceil(SHORTEST_S / step - 1e-9)))
    if first > most:
        return Swing(amplitude)
    best = first + int(np.argmax(corr[first:]))
    return Swing(amplitude, float(corr[best]), best * step)
