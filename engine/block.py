"""Samples of one channel with their times and quality: what flows between operators."""

from __future__ import annotations

from collections.abc import Mapping, Sized
from dataclasses import dataclass
from enum import IntFlag

import numpy as np
import numpy.typing as npt

from engine.errors import InputError

FloatArray = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
QualityArray = npt.NDArray[np.uint16]


class Quality(IntFlag):
    """Why a sample is not, or not quite, a fresh good measurement."""

    GOOD = 0
    NO_DATA = 1
    """Nothing has been received yet, or the source sends nothing."""
    STALE = 2
    """The newest value is older than its limit; the value is NaN."""
    LINK_DOWN = 4
    """The feed is disconnected; the value is NaN."""
    MISSING = 8
    """The sender said it has no value (empty, sentinel, placeholder); NaN."""
    REJECTED = 16
    """The line could not be read as a number or was impossible; NaN."""
    OUT_OF_RANGE = 32
    """Outside the channel's measuring range; the value is kept as it came."""
    FROZEN = 64
    """Has not moved while related channels say it should; the value is kept."""
    NOT_APPLICABLE = 128
    """The quantity has no meaning now (weight on bit in slips); NaN."""
    NO_REFERENCE = 256
    """A reference is missing (no tare, no zero, no depth yet); NaN."""
    OLD_REFERENCE = 512
    """Computed from a reference past its date (a tare from another stand); value kept."""
    HELD = 1024
    """The last received value, repeated because its age is within the limit."""
    PARTIAL = 2048
    """From a packet whose closing mark was not seen; or only a part of a sum is known (the axial
    part of the specific energy while the string slides)."""
    CONFLICT = 4096
    """Two witnesses disagree; the value is kept."""


BAD = int(
    Quality.NO_DATA
    | Quality.STALE
    | Quality.LINK_DOWN
    | Quality.MISSING
    | Quality.REJECTED
    | Quality.OUT_OF_RANGE
    | Quality.FROZEN
)
"""A sample with any of these bits must not be computed with or shown as good. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Samples of one channel in time order.

    ``t`` is in seconds since 1970-01-01 UTC and never decreases; ``value`` is in SI units, NaN
    only together with a quality bit that says why; all three have the shape (n,).
    """

    t: FloatArray
    value: FloatArray
    quality: QualityArray

    def __len__(self) -> int:
        return int(self.t.size)

    @property
    def good(self) -> Mask:
        """Samples fit for arithmetic: no bit of ``BAD`` and not NaN, shape (n,). [-]"""
        fit: Mask = ((self.quality & np.uint16(BAD)) == 0) & ~np.isnan(self.value)
        return fit

    def usable(self) -> FloatArray:
        """Values with every unfit sample as NaN, shape (n,). [SI]"""
        return np.where(self.good, self.value, np.nan)

    def slice(self, start: int, stop: int) -> Block:
        """Samples ``start`` to ``stop`` (exclusive)."""
        return Block(self.t[start:stop], self.value[start:stop], self.quality[start:stop])


Table = Mapping[str, Block]
"""Channel id to its block; all blocks of a table share one time array."""


def mark(quality: QualityArray, where: Mask, reason: Quality) -> QualityArray:
    """Return `quality` with `reason` added where `where` is true; uint16 stays uint16."""
    return np.where(where, quality | np.uint16(reason), quality).astype(np.uint16, copy=False)


def same_length(what: str, *arrays: Sized) -> None:
    """Raise `InputError` unless all `arrays` have the same length."""
    lengths = [len(a) for a in arrays]
    if len(set(lengths)) > 1:
        raise InputError(f"{what}: inputs must have one length, got {lengths}")


def no_quality(n: int) -> QualityArray:
    """Return `n` samples of good quality."""
    return np.zeros(n, np.uint16)


def derived(t: FloatArray, value: FloatArray, *reasons: tuple[Mask, Quality]) -> Block:
    """Build a derived block; NaN left without a reason is marked ``NO_DATA``.

    Parameters
    ----------
    t, value : ndarray
        Times [s] and values [SI], shape (n,).
    *reasons : (mask, Quality)
        Quality bits to add; a later one is added to an earlier one.
    """
    quality = no_quality(t.size)
    for where, reason in reasons:
        quality = mark(quality, where, reason)
    quality = mark(quality, np.isnan(value) & (quality == 0), Quality.NO_DATA)
    return Block(t, value, quality)
