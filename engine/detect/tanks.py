"""All tanks that are measured, in one sum: what goes from one to another cancels."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan
from typing import NamedTuple

import numpy as np

from engine.block import FloatArray
from engine.ops.primitives import hold


@dataclass(slots=True)
class Beside:
    """One tank outside the active set; one that is not known now counts as it last was."""

    first: float = nan
    """[m3]"""
    last: float = nan
    """[m3]"""

    def process(self, volume: FloatArray) -> FloatArray:
        """Return the change since the first reading, NaN before it, shape (m,). [m3]

        `volume` has the shape (m,); NaN is no reading. [m3]
        """
        known = np.isfinite(volume)
        if not known.any():
            return np.full(volume.size, self.last - self.first)
        if not isfinite(self.first):
            self.first = float(volume[np.argmax(known)])
        last = hold(volume, known, self.last)
        self.last = float(last[-1])
        return last - self.first


class Levels(NamedTuple):
    """What m bins show of the tanks; all shapes are (m,). [m3]"""

    volume: FloatArray
    """Active pits with what the others have gained since they were first seen."""
    active: FloatArray
    """Change of the active pits since the first good level, NaN where not known."""
    reserve: FloatArray
    """Change since the first reading, NaN before it."""
    trip_tank: FloatArray
    """The same."""
    others: FloatArray
    """What all tanks outside the active set have gained, as far as they are known."""


@dataclass(slots=True)
class Tanks:
    """Active pits with the tanks outside them, as far as a feed sends those.

    The trip tank is counted whatever it is lined up to: to the hole, what comes or goes is the
    well's; shut off, only what is moved to or from the pits changes it, and that cancels.
    """

    reserve: Beside
    trip_tank: Beside
    first: float = nan
    """First good level of the active pits. [m3]"""

    def process(self, pit: FloatArray, reserve: FloatArray, trip_tank: FloatArray) -> Levels:
        """Go on by m bins of levels, shape (m,) each, NaN where there is none. [m3]"""
        known = np.isfinite(pit)
        if not isfinite(self.first) and known.any():
            self.first = float(pit[np.argmax(known)])
        beside = self.reserve.process(reserve), self.trip_tank.process(trip_tank)
        first, second = (np.where(np.isnan(change), 0.0, change) for change in beside)
        others = first + second
        return Levels(pit + others, pit - self.first, *beside, others)


def holds(what: str, reserve: bool, trip_tank: bool) -> bool:
    """Whether the other end of a transfer, told in words, is a tank in the sum.

    Such a transfer changes nothing, so there is nothing to be explained by it. A tank is in the sum
    if it has been measured, as `reserve` and `trip_tank` tell.
    """
    ends = (("trip tank", trip_tank), ("reserve", reserve))
    return any(name in what.lower() and known for name, known in ends)
