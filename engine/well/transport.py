r"""How much of the mud's way up the annulus its cuttings keep, for many moments at once. SI.

References
----------
.. [1] Own derivation: cuttings rise at :math:`v_i - v_s` in each part of the annulus, so over
   the whole of it they keep the share :math:`\sum L_i / v_i \,/\, \sum L_i / (v_i - v_s)` of
   the mud's progress. `engine.well.cuttings.lag_of_cuttings` is the same for one moment.
"""

from __future__ import annotations

import numpy as np

from engine.block import FloatArray
from engine.well.capacities import circle
from engine.well.geometry import WellGeometry


def kept_share(well: WellGeometry, bit: FloatArray, flow: FloatArray, slip: float) -> FloatArray:
    """Share of the mud's progress that cuttings keep, from the bit to the floor.

    Parameters
    ----------
    well : WellGeometry
        String and hole; near vertical, or this single-particle picture says nothing.
    bit, flow : ndarray
        Depth of the bit [m] and flow up the annulus [m3/s], shape (n,).
    slip : float
        How fast cuttings fall through the mud. [m/s]

    Returns
    -------
    ndarray
        Shape (n,), 0 to 1. [-] 0 where the mud is somewhere no faster than cuttings fall: they
        are not transported. NaN where bit depth or flow is NaN, and at no flow.
    """
    mud, cuttings = np.zeros(bit.shape), np.zeros(bit.shape)
    low = bit
    for i, part in enumerate(well.string):
        last = i == len(well.string) - 1 or part.length is None
        high = np.zeros(bit.shape) if last else np.maximum(0.0, low - (part.length or 0.0))
        for s in well.hole:
            end = np.inf if s is well.hole[-1] or s.bottom is None else s.bottom
            length = np.maximum(np.minimum(low, end) - np.maximum(high, s.top), 0.0)
            area = circle(s.diameter) - circle(part.outer)
            volume, rest = length * area, np.maximum(flow - slip * area, 0.0)
            mud += volume
            with np.errstate(divide="ignore", invalid="ignore"):
                cuttings += np.where(length > 0, volume * flow / rest, 0.0)
        low = high
    known = (flow > 0) & ~np.isnan(bit)
    with np.errstate(invalid="ignore", divide="ignore"):
        share: FloatArray = np.where(mud > 0, mud / cuttings, 1.0)
    return np.where(known, share, np.nan)
