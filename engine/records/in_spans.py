"""A recording read piece by piece, so that a long one never has to be in memory at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from engine.block import Table
from engine.interfaces import Recording
from engine.ops.table import times


def in_spans(recording: Recording, span_s: float, channels: Sequence[str]) -> Iterator[Table]:
    """Yield all rows in order of time, those of `span_s` [s] at once; no table is empty.

    Parameters
    ----------
    recording : Recording
    span_s : float
        [s], greater than 0
    channels : sequence of str
        Channels to read.
    """
    span = recording.span()
    if span is None:
        return
    after, end = float(np.nextafter(span[0], -np.inf)), span[1]
    while after < end:
        until = min(after + span_s, end)
        table = recording.rows(after, until, channels)
        if times(table).size:
            yield table
        after = until
