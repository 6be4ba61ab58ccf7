"""The length by tally of the stand that a measured one must be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.config import WellConfig
from engine.ops.primitives import NAN


@dataclass(frozen=True, slots=True)
class ByTally:
    """Stands of the well file in the order they are run."""

    lengths: tuple[float, ...] = ()
    """[m]"""
    below: float = 0.0
    """Bit depth in slips with none of them in the hole. [m]"""
    stand_length: float = 0.0
    """Nominal. [m]"""

    @classmethod
    def of(cls, config: WellConfig) -> ByTally:
        """Take the tally of a well file; below it are the parts of the string with a length."""
        below = sum(part.length or 0.0 for part in config.string[:-1]) - config.rig.stick_up
        lengths = tuple(stand.length for stand in config.tally)
        return cls(lengths, below, config.rig.stand_length)

    def __call__(self, bit: float, travel: float) -> float:
        """Return the length of the stand made up on a string in slips, or broken out of it. [m]

        Parameters
        ----------
        bit : float
            Bit depth in slips. [m]
        travel : float
            Of the block while in slips: up, a stand was made up; down, broken out. [m]

        Returns
        -------
        float
            [m] The string is as many stands as bring it nearest to `bit`; NaN if none do by
            half a stand, or the tally has no such stand.
        """
        if not self.lengths:
            return NAN
        depths = self.below + np.cumsum((0.0, *self.lengths))
        n = int(np.argmin(np.abs(depths - bit)))
        i = n if travel > 0 else n - 1
        near = abs(float(depths[n]) - bit) <= 0.5 * self.stand_length
        return self.lengths[i] if near and 0 <= i < len(self.lengths) else NAN
