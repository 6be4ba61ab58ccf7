"""Work a recording out again from its input and compare: replay is the live path (R-53)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

import numpy as np

from engine import run
from engine.block import Block
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
    byte by byte. A recording whose watch did not end in good order may lack, at its very end,
    what followed from its last inputs: they are kept first.
    """
    engine = Engine(config, head_entry(recording.meta()))
    status, kept = recording.status(), recording.journal()
    cut_off = status is None or status.running  # killed, or growing now
    found = list(_journal_problem(kept))
    lines: list[JournalLine] = []
    last, lacking, stream = float("-inf"), 0, iter(recording.inputs())
    while batch := list(islice(stream, BATCH)):
        tables, new = engine.take(batch)
        lines += new
        for table in tables:
            t = next(iter(table.values())).t
            recorded = recording.rows(last, float(t[-1]), recording.channels())
            found += _rows(table, recorded)
            absent = _lacking(table, recorded)
            if lacking and absent < t.size:
                found.append(f"rows: {lacking} before {iso(float(t[0]))} are not recorded")
                lacking = 0
            lacking += absent
            last = float(t[-1])
    if lacking and not (cut_off and lacking <= run.BATCH):
        found.append(f"rows: the last {lacking} are not recorded, up to {iso(last)}")
    if not cut_off and (more := len(next(iter(recording.rows(last).values())))):
        found.append(f"rows: {more} recorded after the last input, {iso(last)}")
    return found + list(_lines(lines, kept, cut_off=cut_off))


def _rows(mine: Mapping[str, Block], recorded: Mapping[str, Block]) -> Iterator[str]:
    """Compare two tables, the second of which may end sooner."""
    t, u = next(iter(mine.values())).t, next(iter(recorded.values())).t
    n = min(t.size, u.size)
    other = np.flatnonzero(t[:n] != u[:n])
    if other.size or u.size > n:
        at = float(min(t[other[0]], u[other[0]]) if other.size else u[n])
        yield f"rows from {iso(at)}: other times than recorded"
        return
    for channel, b in recorded.items():
        a = mine[channel].slice(0, n)
        same = (a.value == b.value) | (np.isnan(a.value) & np.isnan(b.value))
        same &= a.quality == b.quality
        if not same.all():
            at = float(t[np.flatnonzero(~same)[0]])
            yield f"{channel}: differs at {int((~same).sum())} rows, first {iso(at)}"


def _lacking(mine: Mapping[str, Block], recorded: Mapping[str, Block]) -> int:
    """Return how many of the last rows are not recorded. [-]"""
    t, u = next(iter(mine.values())).t, next(iter(recorded.values())).t
    return t.size - int(t.searchsorted(u[-1], side="right")) if u.size else t.size


def _lines(
    lines: Sequence[JournalLine], kept: Sequence[JournalLine], *, cut_off: bool
) -> Iterator[str]:
    for mine, theirs in zip(lines, kept, strict=False):
        if mine.text != theirs.text:
            yield f"journal line {theirs.seq}: {theirs.text} worked out as {mine.text}"
            break
        if mine.at != theirs.at:
            yield f"journal line {theirs.seq}: kept at {iso(theirs.at)}, worked out {iso(mine.at)}"
            break
    if len(lines) < len(kept) or (len(lines) > len(kept) and not cut_off):
        yield f"journal: {len(kept)} lines recorded, {len(lines)} worked out"


def _journal_problem(kept: list[JournalLine]) -> Iterator[str]:
    bad = broken_at(kept)
    if bad is not None:
        yield f"journal line {bad}: the chain of hashes is broken here"
