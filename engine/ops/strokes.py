"""Strokes between two readings of a counter that rolls over or is set back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.block import Block, Quality, mark
from engine.ops.primitives import previous

ROLLS_AT = 10.0 ** np.arange(4, 13)
"""A counter starts again at one of these: four digits or more. [-] common practice"""
ROLL_RATE = 5.0
"""A step back is a roll-over only if fewer strokes than this a second explain it. [1/s]"""
ROLL_GAP_S = 30.0
"""After a longer gap a step back says nothing: it may have been set back meanwhile. [s]"""
FASTEST = 15.0
"""No three pumps stroke faster; a larger step is another counter, not strokes. [1/s]"""


@dataclass(frozen=True, slots=True)
class StrokesState:
    """The newest count and its time."""

    count: float = float("nan")
    at: float = float("nan")
    """[s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class Strokes:
    """Turn a stroke counter into strokes since its previous reading, never negative."""

    state: StrokesState = StrokesState()

    def process(self, counter: Block) -> Block:
        """Work out one block.

        Parameters
        ----------
        counter : Block
            Strokes counted, shape (n,). [-]

        Returns
        -------
        Block
            Strokes since the newest earlier reading, shape (n,). [-] 0 where the count is
            ``HELD``; NaN and ``NO_REFERENCE`` at the first reading and where the interval
            cannot be told (a reset, an impossible step); NaN with its reason where there is
            no reading.
        """
        value = np.where(counter.good, 0.0, np.nan)
        fresh = counter.good & ((counter.quality & np.uint16(Quality.HELD)) == 0)
        count, at = counter.value[fresh], counter.t[fresh]
        before = previous(count, self.state.count)
        gap = at - previous(at, self.state.at)
        step = count - before
        top = ROLLS_AT[np.minimum(np.searchsorted(ROLLS_AT, before, "right"), ROLLS_AT.size - 1)]
        rolled = step + top
        fits = (step < 0) & (gap <= ROLL_GAP_S) & (rolled < ROLL_RATE * gap)
        step = np.where(fits, rolled, step)
        known = (step >= 0) & (step <= FASTEST * gap)
        value[fresh] = np.where(known, step, np.nan)
        lost = np.zeros(len(counter), np.bool_)
        lost[fresh] = ~known
        if count.size:
            self.state = StrokesState(float(count[-1]), float(at[-1]))
        return Block(counter.t, value, mark(counter.quality, lost, Quality.NO_REFERENCE))
