"""Where the block stood when the slips took or gave the string."""

from __future__ import annotations

import numpy as np

from engine.block import Mask
from engine.ops.primitives import NAN
from engine.ops.slips import Hoisting

TAIL = 24
"""Samples kept to find where the block stood. [-]"""
STOOD = 0.03
"""A block that keeps within this stands: 5 mm noise and a 1 cm step, 3 sd. [m]"""
STOOD_S = 6.0
"""So far back is looked for samples of a standing block. [s]"""
BRAKED = 0.15
"""A block that brakes goes no further than this between two samples. [m]"""


def stood(past: Hoisting, fit: Mask) -> float:
    """Position at which the block last stood, over the newest samples that are `fit`. [m]

    Returns
    -------
    float
        Median of the newest run of at most 15 samples within `STOOD` of the newest fit one;
        NaN if none is fit.
    """
    z, t, fit = past.z[-TAIL:], past.t[-TAIL:], fit[-TAIL:]
    k = np.flatnonzero(fit & ~np.isnan(z))
    if not k.size:
        return NAN
    k = k[-15:]
    z, t = z[k], t[k]
    away = np.flatnonzero((np.abs(z - z[-1]) > STOOD) | (t[-1] - t > STOOD_S))
    return float(np.median(z[away[-1] + 1 if away.size else 0 :]))


def set_at(past: Hoisting, whole: Mask, t: float, z: float, hung: float) -> float:
    """Block position at which the slips took the string, between two samples. [m]

    Parameters
    ----------
    past : Hoisting
        Samples before the load was gone; `whole` are those that still had it.
    t, z : float
        First sample with the load gone. [s], [m]
    hung : float
        Newest position with the load whole, should `past` not reach back to it. [m]

    Notes
    -----
    A block that moved at the last whole sample and came on in the same direction, no further
    than that speed carries it, took the string along to where it came to rest.
    """
    k = np.flatnonzero(whole & ~np.isnan(past.z))
    rest = stood(past, whole)
    if not k.size:
        return hung
    on, speed = z - float(past.z[k[-1]]), float(past.speed[k[-1]])
    carried = on * speed > 0.0 and abs(on) <= 1.2 * abs(speed) * (t - float(past.t[k[-1]]))
    if abs(on) > STOOD and (carried or abs(on) <= BRAKED):
        return z
    return rest
