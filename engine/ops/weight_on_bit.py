r"""Weight on bit as the fall of hook load below its off-bottom tare.

.. math:: W = f (F_{\text{tare}} - F)

with f the sheave factor of a dead-line gauge while lowering, as the block does on bottom.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1.
"""

from __future__ import annotations

import numpy as np

from engine.block import Block, Quality, mark, same_length
from engine.ops.bottom import Bottoms
from engine.ops.primitives import NAN
from engine.ops.tare import KLBF
from engine.ops.tare_state import Tares

NEAR_TARE = 3 * KLBF
"""Off bottom a load so near the tare is no weight; further off it is drag, not weight. [N]"""


def weight_on_bit(
    hook: Block, tares: Tares, bottoms: Bottoms, slips: Block, factor: float = 1.0
) -> Block:
    """Work out weight on bit; it carries nothing from block to block.

    Parameters
    ----------
    hook, slips : Block
        Hook load [N] and slips, 1 in, 0 out [-]; shape (n,).
    tares : Tares
        Tare at each sample.
    bottoms : Bottoms
        On bottom at each sample. From the touch to the witness the weight is shown too.
    factor : float
        True load over gauge load while lowering, see `engine.well.sheaves`. [-]

    Returns
    -------
    Block
        Shape (n,). [N] Negative weights are kept. 0 off bottom while the load is within
        `NEAR_TARE` of the tare; NaN with ``NOT_APPLICABLE`` in slips, and off bottom when
        the load is further off (overpull, drag); NaN with ``NO_REFERENCE`` without a tare or
        while slips are unknown.

    Raises
    ------
    InputError
        If the inputs differ in length.
    """
    same_length("weight on bit", hook, tares.load, bottoms.on, slips)
    drop = factor * (tares.load - hook.usable())
    down = bottoms.on | bottoms.touching
    value = np.where(down, drop, np.where(np.abs(drop) < NEAR_TARE, 0.0, NAN))
    # NaN < limit is false: a missing tare must not read as drag.
    in_slips, unknown = slips.value == 1.0, np.isnan(slips.value)
    value = np.where(in_slips | unknown, NAN, value)
    none = np.isnan(tares.load)
    value = np.where(none, NAN, value)
    quality = mark(hook.quality, none | unknown, Quality.NO_REFERENCE)
    quality = mark(quality, in_slips, Quality.NOT_APPLICABLE)
    away = np.isnan(value) & hook.good & ~none & ~unknown
    quality = mark(quality, away, Quality.NOT_APPLICABLE)
    quality = mark(quality, ~np.isnan(value) & tares.old, Quality.OLD_REFERENCE)
    quality = mark(quality, ~np.isnan(value) & tares.refused, Quality.CONFLICT)
    return Block(hook.t, value, quality)
