"""Small helpers on tables of channels, shared by the operators that read several of them."""

from __future__ import annotations

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, QualityArray, Table

_HELD = np.uint16(Quality.HELD)


def times(table: Table) -> FloatArray:
    """Return the one time array of `table`, shape (n,); empty for an empty table. [s]"""
    for block in table.values():
        return block.t
    return np.empty(0)


def pick(table: Table, channel_id: str) -> Block:
    """Return the channel's block; NaN and ``NO_DATA`` on the same times if it is not there."""
    found = table.get(channel_id)
    if found is not None:
        return found
    t = times(table)
    return Block(t, np.full(t.size, np.nan), np.full(t.size, int(Quality.NO_DATA), np.uint16))


def joined(*qualities: QualityArray) -> QualityArray:
    """Quality of what is worked out from several inputs, shape (n,).

    Every reason of every input counts, except ``HELD``: a result is a repetition only if all
    that went into it was repeated.
    """
    either = qualities[0].copy()
    held = qualities[0] & _HELD
    for quality in qualities[1:]:
        either |= quality
        held = held & quality
    out: QualityArray = (either & ~_HELD) | held
    return out


def ever(mask: Mask, carry: bool) -> Mask:
    """Whether `mask` has been true up to each sample, or `carry` was, shape (n,). [-]"""
    out: Mask = np.logical_or.accumulate(np.concatenate(([carry], mask)))[1:]
    return out
