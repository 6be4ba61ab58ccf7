r"""What left the bit when, and which of it is at surface now.

.. math:: U(now) - U(\text{when the hole was } d) = V_{ann}(d \to \text{surface})

with :math:`U` the volume that has gone up. It is a volume and not a time, so it stands still with
the pumps.

References
----------
.. [1] Own derivation from the balance of volumes, as in `engine.well.lag_times.lagged_depth`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import FloatArray
from engine.ops.primitives import NAN, IntArray, hold, previous, running_max

GRAIN = 0.02
"""A point for each such length of new hole: a fifth of the decimetre that is shown. [m]"""
UNSEEN = 0.5
"""So much new hole between two samples was drilled with nobody looking, or was set. [m]"""
FASTEST = 0.1
"""Hole that grows faster was set by hand, not drilled: 360 m/h. [m/s]"""


def _none() -> FloatArray:
    return np.empty(0)


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """Points of new hole; the oldest is the one at surface now, if any has arrived."""

    left: FloatArray = field(default_factory=_none)
    """Volume that had gone up when it left the bit. [m3]"""
    depth: FloatArray = field(default_factory=_none)
    """NaN: hole that was drilled unseen follows. [m]"""
    due: FloatArray = field(default_factory=_none)
    """Volume that has gone up when it arrives, never decreasing. [m3]"""
    hole: float = NAN
    """Deepest hole so far. [m]"""
    seen: float = NAN
    """Volume that had gone up when the hole depth was last known. [m3]"""

    def go_on(
        self, up: FloatArray, hole: FloatArray, annulus: Callable[[FloatArray], FloatArray]
    ) -> tuple[FloatArray, Log]:
        """Work out samples between which nothing was set by hand.

        Parameters
        ----------
        up, hole : ndarray
            Volume gone up [m3], never decreasing, and hole depth [m], shape (n,); NaN in
            `hole` repeats the newest one.
        annulus : callable
            Annulus volume [m3] at depths [m].

        Returns
        -------
        depth : ndarray
            At surface at each sample; NaN before the first arrival and where it is hole that
            was drilled unseen, shape (n,). [m]
        log : Log
            To go on with.

        Notes
        -----
        A point is made where the hole first reaches a multiple of `GRAIN`. It is due only
        after more has gone up, so no sample ever looks at a point made after it: any split
        gives the same bits.
        """
        known = ~np.isnan(hole)
        deepest = running_max(hole, self.hole)
        before = previous(deepest, self.hole)
        new = (_cell(deepest) > _cell(before)) | (np.isnan(before) & known)
        log = self
        if new.any():
            seen = previous(hold(up, known, self.seen), self.seen)
            log = self._longer(up, deepest, before, seen, np.flatnonzero(new), annulus)
        at = np.searchsorted(log.due, up, side="right") - 1
        shown = np.full(up.size, NAN)
        if log.due.size:
            shown = np.where(at >= 0, log.depth[np.maximum(at, 0)], NAN)
        if not up.size:
            return shown, self
        keep = slice(max(int(at[-1]), 0), None)
        seen_at = float(hold(up, known, self.seen)[-1])
        return shown, Log(
            log.left[keep], log.depth[keep], log.due[keep], float(deepest[-1]), seen_at
        )

    def _longer(
        self, up: FloatArray, deepest: FloatArray, before: FloatArray, seen: FloatArray,
        new: IntArray, annulus: Callable[[FloatArray], FloatArray],
    ) -> Log:  # fmt: skip
        left, depth = up[new], deepest[new]
        due = left + annulus(depth)
        blind = np.flatnonzero(depth - before[new] > UNSEEN)
        if blind.size:
            # What came between the two samples left the bit at nobody knows which depth.
            k = new[blind]
            left = np.insert(left, blind, up[k])
            depth = np.insert(depth, blind, NAN)
            due = np.insert(due, blind, seen[k] + annulus(before[k]))
        due = np.maximum(due, np.nextafter(left, np.inf))  # never before it was made
        return replace(
            self,
            left=np.concatenate((self.left, left)),
            depth=np.concatenate((self.depth, depth)),
            due=np.maximum.accumulate(np.concatenate((self.due, due))),
        )

    def moved(self, by: float, annulus: Callable[[FloatArray], FloatArray]) -> Log:
        """Return the log after the depth was corrected by `by` [m]: all of it was as wrong."""
        depth = self.depth + by
        due = np.where(np.isnan(depth), self.due, self.left + annulus(depth))
        due = np.maximum(due, np.nextafter(self.left, np.inf))
        return replace(self, depth=depth, due=np.maximum.accumulate(due), hole=self.hole + by)

    def due_at(self, depth: float) -> float:
        """Volume that has gone up when hole of `depth` [m] arrives; NaN: not in the log. [m3]"""
        found = np.flatnonzero(self.depth >= depth - 1e-9)
        if not found.size:
            return NAN
        i = int(found[0])
        first = i == 0 and self.depth[0] > depth + GRAIN
        unseen = i > 0 and bool(np.isnan(self.depth[i - 1]))
        return NAN if first or unseen else float(self.due[i])


def _cell(depth: FloatArray) -> FloatArray:
    return np.floor(depth / GRAIN + 1e-6)
