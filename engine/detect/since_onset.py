"""What the tanks did since something began: the active pits, what explains it, what does not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray
from engine.detect.call import Seen

NAMES = ("active", "unexplained", "reserve", "trip_tank", "declared")
"""Columns of the volume balance. [-]"""


@dataclass(slots=True, eq=False)
class SinceOnset:
    """Keeps the volumes of the bin at which a sum was last zero."""

    start: FloatArray = field(default_factory=lambda: np.full(len(NAMES), np.nan))

    def process(self, seen: Seen, onset: FloatArray) -> Callable[[int], dict[str, float]]:
        """Go on by the bins of a block.

        Parameters
        ----------
        seen : Seen
        onset : ndarray
            When the sum was last zero, shape (m,). [s since 1970-01-01 UTC]

        Returns
        -------
        callable
            Changes since the onset by bin: ``active_m3`` is the sum of ``explained_m3`` and
            ``unexplained_m3``; the others only where they are known. [m3]
        """
        now = np.array([seen.balance[name] for name in NAMES])
        fresh = np.where(onset == seen.bins.t, np.arange(onset.size), -1)
        newest = np.maximum.accumulate(fresh)
        before = self.start
        if newest.size and newest[-1] >= 0:
            self.start = now[:, newest[-1]].copy()

        def changes(i: int) -> dict[str, float]:
            base = now[:, newest[i]] if newest[i] >= 0 else before
            change = now[:, i] - base
            found = dict(zip((f"{name}_m3" for name in NAMES), change.tolist(), strict=True))
            found["explained_m3"] = found["active_m3"] - found["unexplained_m3"]
            return {name: round(x, 4) for name, x in found.items() if np.isfinite(x)}

        return changes
