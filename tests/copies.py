"""What the tests of the second copy share."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np

from adapters.sqlite_store import SqliteRecorder
from engine.block import Block
from engine.commands_copy import SecondCopy
from engine.events import Tick, WireBytes
from engine.records.journal import Entry, Journal
from tests.helpers import T0, eventually, full_table

META = {"well": "Emberholt 4", "source": "live"}
TABLE = full_table(T0 + np.arange(5000))
AT_ONCE = 3.0
"""Within this a copy must have seen what happened, on a busy machine. [s]"""


class Feed:
    """Hands one recording input, bytes, row and journal line of each second, in order."""

    def __init__(self, recorder: SqliteRecorder, first: int = 0) -> None:
        self.recorder, self.n, self.journal = recorder, first, Journal()

    def give(self, count: int) -> None:
        for i in range(self.n, self.n + count):
            self.recorder.wire(WireBytes(T0 + i, "rig", b"&&\r\n%d\r\n!!" % i))
            self.recorder.inputs([Tick(T0 + i)])
            self.recorder.rows(rows(i, i + 1))
            self.recorder.journal(self.journal.write([Entry(T0 + i, "event", "x", "advice")]))
        self.n += count


def rows(first: int, end: int) -> dict[str, Block]:
    return {c: block.slice(first, end) for c, block in TABLE.items()}


def digest(path: Path) -> str:
    """Return one hash over every line of every table; the mark of a copy is no part of it."""
    found = hashlib.sha256()
    with closing(sqlite3.connect(path)) as base:
        for table in ("meta", "wire", "inputs", "rows", "journal", "status", "commands"):
            for line in base.execute(f"SELECT * FROM {table} ORDER BY 1"):
                if line[0] != "copy_of":
                    found.update(repr((table, line)).encode())
    return found.hexdigest()


def count(path: Path) -> int:
    """Return how many rows there are; -1 before there is a recording."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as base:
            return int(base.execute("SELECT count(*) FROM rows").fetchone()[0])
    except sqlite3.Error:
        return -1


def told(recorder: SqliteRecorder) -> SecondCopy | None:
    """Return what the watch has to say of the copy now, if anything."""
    said = [p.command for p in recorder.posted() if isinstance(p.command, SecondCopy)]
    assert len(said) <= 1
    return said[0] if said else None


def wait_told(recorder: SqliteRecorder) -> SecondCopy:
    said: list[SecondCopy] = []

    def heard() -> bool:
        said.extend([one] if (one := told(recorder)) else [])
        return bool(said)

    eventually(heard, AT_ONCE)
    return said[0]
