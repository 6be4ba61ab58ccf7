"""What a run hands out: samples beside the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.block import FloatArray, Mask


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """A span of samples; every array has the shape (n,), numbers are SI."""

    second: FloatArray
    """Seconds from the start of the run: the times of `truth`; whole at 1 Hz. [s]"""
    t: FloatArray
    """When the sample was taken. [s since 1970-01-01 UTC]"""
    at: FloatArray
    """When its packet leaves. [s since 1970-01-01 UTC]"""
    sent: Mask
    doubled: Mask
    sensors: dict[str, FloatArray]
    """Channel id to readings; NaN: the sender has no value."""
    truth: dict[str, FloatArray]
    """See `engine.sim.truth.COLUMNS`."""


def join(parts: Sequence[Chunk], truth: dict[str, FloatArray]) -> Chunk:
    """Return the parts of one span, one after the other, with its `truth`."""
    return Chunk(
        np.concatenate([p.second for p in parts]),
        np.concatenate([p.t for p in parts]),
        np.concatenate([p.at for p in parts]),
        np.concatenate([p.sent for p in parts]),
        np.concatenate([p.doubled for p in parts]),
        {k: np.concatenate([p.sensors[k] for p in parts]) for k in parts[0].sensors},
        truth,
    )
