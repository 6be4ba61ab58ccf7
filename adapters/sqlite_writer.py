"""The thread that writes a recording: a bounded queue, one transaction a second.

Order is kept: the file always holds a beginning of what was handed over, never a part with a
hole. Urgent items do not wait for the second. When the disk refuses, everything stays in the
queue and is tried again each second; when the queue is full, the next `put` raises, and so
does every later one: nothing is ever dropped in silence.
"""

from __future__ import annotations

import sqlite3
import threading
from collections import deque
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import cast

from engine.channels import CHANNELS
from engine.errors import RecordingError

COMMIT_S = 1.0
"""Between two commits, and between two tries on a full disk; a kill loses no more. [s]"""
BOUND = 100_000
"""Items that may wait: about an hour at ten frames a second, some 200 MB. [-]"""
BATCH = 20_000
"""Items in one transaction at most, so that a command never waits long for the file. [-]"""
PATIENCE_S = 10.0
"""How long a caller with more than fits (an import) waits for the disk to catch up. [s]"""

Parameters = tuple[object, ...]

INSERTS = {
    "wire": "INSERT INTO wire VALUES (?, ?, ?, ?)",
    "inputs": "INSERT INTO inputs VALUES (?, ?, ?, ?)",
    "rows": f"INSERT INTO rows VALUES ({', '.join('?' * (len(CHANNELS) + 2))})",
    "journal": "INSERT INTO journal VALUES (?, ?, ?)",
    "taken": "UPDATE commands SET taken = ? WHERE id = ?",
}
STATUS = "INSERT OR REPLACE INTO status VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?)"


@dataclass(frozen=True, slots=True)
class Item:
    """What one call handed over: parameters for one of `INSERTS`.

    Their first is the line's number; of ``taken`` it is the second, the command's.
    """

    table: str
    parameters: list[Parameters]


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a file has come at one moment."""

    written: Mapping[str, int | None]
    """Table to the number of its last line on the disk; None: it has none."""
    waiting: tuple[Item, ...]
    """What comes next, in order, while the disk refuses; else nothing."""
    status: Parameters | None
    """The newest heartbeat."""


class Writer:
    """Owns `connection` from now on; all writing to it happens on one thread.

    Parameters
    ----------
    connection : sqlite3.Connection
        Open for writing, in autocommit mode, usable from another thread.
    path : str
        Names the file in messages.
    bound : int
        Items that may wait for the disk. [-]
    numbers : mapping, optional
        Table to the number of its last line in the file, None if it has none.
    """

    def __init__(
        self,
        connection: sqlite3.Connection,
        path: str,
        bound: int = BOUND,
        numbers: Mapping[str, int | None] | None = None,
    ) -> None:
        self._connection, self._path, self._bound = connection, path, bound
        self._queue: deque[Item] = deque()
        self._written = dict(numbers or {})
        self._newest: Parameters | None = None
        self._status: Parameters | None = None
        self._urgent = self._closing = False
        self._changed = threading.Condition()
        self.waiting = 0
        """Items in the queue. [-]"""
        self.problem = ""
        """Why the disk refuses at present, in words."""
        self.failed = ""
        """Set for good once an item could not be taken."""
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._thread.start()

    def put(self, table: str, parameters: list[Parameters], *, urgent: bool = False) -> None:
        """Queue one item whole, or raise `RecordingError` and queue nothing of it."""
        count = len(parameters)
        with self._changed:
            if not self._fits(count):
                self._urgent = True
                self._changed.notify_all()
                self._changed.wait_for(
                    lambda: self._fits(count) or bool(self.problem), timeout=PATIENCE_S
                )
            if not self._fits(count) and not self.failed:
                why = self.problem or "the disk is too slow"
                self.failed = f"{self._path}: {self.waiting} items wait for the disk: {why}"
            if self.failed or self._closing:
                raise RecordingError(self.failed or f"{self._path}: the recorder is closed")
            if not count:
                return
            self._queue.append(Item(table, parameters))
            self.waiting += count
            self._urgent |= urgent
            if urgent or self.waiting >= BATCH:
                self._changed.notify_all()

    def beat(self, status: Parameters) -> None:
        """Replace the heartbeat that goes out with the next commit; never raises."""
        with self._changed:
            self._status = self._newest = status

    def standing(self) -> Standing:
        """Return what is in the file and, while the disk refuses, what waits for it."""
        with self._changed:
            waiting = tuple(self._queue) if self.problem or self.failed else ()
            return Standing(dict(self._written), waiting, self._newest)

    def close(self) -> None:
        """Write everything out and end the thread; `waiting` says what could not be written."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        self._thread.join()

    def fold(self) -> None:
        """Let go of the file after `close`.

        What is left is one plain file without a log, unless someone is reading it: then the
        log stays, empty.
        """
        with suppress(sqlite3.Error):  # a reader may be in the way; the log stays valid
            self._connection.execute("PRAGMA busy_timeout = 100")
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            self._connection.execute("PRAGMA journal_mode = DELETE")
        self._connection.close()

    def _fits(self, count: int) -> bool:
        return self.waiting == 0 or self.waiting + count <= self._bound

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(self._due, timeout=COMMIT_S)
                closing, status = self._closing, self._status
                self._urgent, self._status = False, None
                batch = self._batch()
            written = self._attempt(batch, status)
            if closing and (not written or not self.waiting):
                return

    def _due(self) -> bool:
        """Tell whether to write before the second is over; not while the disk refuses."""
        return self._closing or (not self.problem and (self._urgent or self.waiting >= BATCH))

    def _batch(self) -> list[Item]:
        batch: list[Item] = []
        count = 0
        for item in self._queue:
            count += len(item.parameters)
            if batch and count > BATCH:
                self._urgent = True  # the rest may hold a journal line
                break
            batch.append(item)
        return batch

    def _attempt(self, batch: list[Item], status: Parameters | None) -> bool:
        """Write `batch` in one transaction; it stays in the queue until it is on the disk."""
        problem = self._trouble(lambda: self._write(batch, status))
        if problem and status is not None:  # the heartbeat alone needs no new page
            self._trouble(lambda: self._write([], status))
        with self._changed:
            self.problem = problem
            if not problem:
                for item in batch:
                    self._queue.popleft()
                    self.waiting -= len(item.parameters)
                    table, place = ("commands", 1) if item.table == "taken" else (item.table, 0)
                    self._written[table] = cast(int, item.parameters[-1][place])
            self._changed.notify_all()
        return not problem

    def _trouble(self, work: Callable[[], None]) -> str:
        """Do `work`; return in words what went wrong, empty if nothing did."""
        try:
            work()
        except Exception as error:  # whatever it is, the thread lives and the watch is told
            with suppress(sqlite3.Error):
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
            if getattr(error, "sqlite_errorname", "") == "SQLITE_FULL":
                return "the disk is full; free some space and writing goes on"
            return f"cannot be written: {error}"
        return ""

    def _write(self, batch: list[Item], status: Parameters | None) -> None:
        if not batch and status is None:
            return
        self._connection.execute("BEGIN IMMEDIATE")
        for item in batch:
            self._connection.executemany(INSERTS[item.table], item.parameters)
        if status is not None:
            self._connection.execute(STATUS, status)
        self._connection.execute("COMMIT")
