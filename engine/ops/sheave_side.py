"""The load at the hook behind what a dead-line gauge shows, by the way the block moves.

References
----------
.. [1] G. R. Luke and H. C. Juvkam-Wold, The determination of true hook-and-line tension under
   dynamic conditions, SPE Drilling & Completion 8(4), 1993 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.block import Block, FloatArray, Mask
from engine.ops.table import ever
from engine.well.sheaves import hoisting_factor, lowering_factor

MOVES = 0.03
"""A slower block may as well stand, and then nobody knows which way the sheaves lean. [m/s]"""


@dataclass(frozen=True, slots=True)
class SheaveSide:
    """True load over gauge load, up and down; both 1 for a load cell at the hook."""

    up: float
    """[-]"""
    down: float
    """[-]"""

    @classmethod
    def of(cls, lines: int, efficiency: float) -> SheaveSide:
        """Take the lines strung and the efficiency of a sheave [-]."""
        return cls(hoisting_factor(lines, efficiency), lowering_factor(lines, efficiency))

    def factor(self, speed: FloatArray) -> FloatArray:
        """Factor at each block speed, up positive [m/s]; 1 for a block that stands, (n,). [-]"""
        down = np.where(speed < -MOVES, self.down, 1.0)
        return np.where(speed > MOVES, self.up, down)

    def leaning(self, speed: FloatArray) -> Mask:
        """Where the factor is not known: the block stands, or its speed is unknown, (n,). [-]"""
        return ~(np.abs(speed) > MOVES) & (self.up != self.down)


def until_tare(tare: Block, restrung: bool) -> Mask:
    """Where no tare has come since the line count changed, shape (n,). [-]

    Parameters
    ----------
    tare : Block
        Off-bottom hook load; it was cleared when the line count changed. [N]
    restrung : bool
        A tare was awaited when the block began.
    """
    if not restrung:
        return np.zeros(len(tare), np.bool_)
    return ~ever(~np.isnan(tare.value), False)
