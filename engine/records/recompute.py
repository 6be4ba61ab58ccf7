"""Work a recording out again from its input and compare: replay is the live path (R-53)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

import numpy as np

from engine.channels import CHANNELS
from engine.config import WellConfig
from engine.engine import Engine
from engine.interfaces import JournalLine, Recording
from engine.records.journal import broken_at, iso
from engine.run import head_entry

BATCH = 5000
"""Events at once. Any number gives the same result; this one is fast and small. [-]"""


def compare(recording: Recording, config: WellConfig) -> list[str]:
    """Return the differences between a recording and its recomputation, in words; best none.

    Rows are compared to the last bit (a recorded -0.0 may have lost its sign), journal lines
    byte by byte. An unfinished recording may lack what follows its last commit.
    """
    engine = Engine(config, head_entry(recording.meta()))
    kept = recording.journal()
    found = list(_journal_problem(kept))
    lines: list[JournalLine] = []
    stream = iter(recording.inputs())
    while batch := list(islice(stream, BATCH)):
        tables, new = engine.take(batch)
        lines += new
        for table in tables:
            t = next(iter(table.values())).t
            recorded = recording.rows(float(np.nextafter(t[0], 0)), float(t[-1]))
            for channel in CHANNELS:
                a, b = table[channel], recorded[channel]
                if a.t.tobytes() != b.t.tobytes():
                    found.append(f"rows from {iso(float(t[0]))}: other times than recorded")
                    break
                same = (a.value == b.value) | (np.isnan(a.value) & np.isnan(b.value))
                same &= a.quality == b.quality
                if not same.all():
                    at = float(t[np.flatnonzero(~same)[0]])
                    found.append(
                        f"{channel}: differs at {int((~same).sum())} rows, first {iso(at)}"
                    )
    for mine, theirs in zip(lines, kept, strict=False):
        if mine.text != theirs.text:
            found.append(f"journal line {theirs.seq}: {theirs.text} worked out as {mine.text}")
            break
    if len(lines) != len(kept):
        found.append(f"journal: {len(kept)} lines recorded, {len(lines)} worked out")
    return found


def _journal_problem(kept: list[JournalLine]) -> Iterator[str]:
    bad = broken_at(kept)
    if bad is not None:
        yield f"journal line {bad}: the chain of hashes is broken here"
