"""A second copy of a recording, written along in another place by a thread of its own.

The thread follows the first file: once a second it takes what has been committed there and is
still lacking here, in one transaction. So the copy is at every moment what the recording once
was, and to catch up after any outage is the same step with more in it. The watch never waits for
it. Only while the first file cannot be written does the copy run ahead: it then takes what waits
in memory as well.

The copy has no write-ahead log: between two commits it is one whole file, on any disk or network
folder.
"""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from adapters import sqlite_schema as schema
from adapters.sqlite_lock import lock
from adapters.sqlite_writer import INSERTS, STATUS, Item, Standing, Writer
from engine.channels import CHANNELS
from engine.commands_copy import SecondCopy
from engine.errors import RecordingError
from engine.records.journal import iso

EVERY_S = 1.0
"""Between two steps, and before the first new try after a failure. [s]"""
LONGEST_S = 30.0
"""Between two tries at most, and between two reports that change nothing else. [s]"""
SLOW_S = 10.0
"""A copy that has not been complete for so long is told to be late. [s]"""
CLOSE_S = 10.0
"""How long the end of a watch waits for the last step. [s]"""
SLOW = "it does not keep up: the place is slow, or much is being made up for"

Numbers = Mapping[str, int | None]
"""Table to the number of its last line, None if it has none."""


class Copy:
    """Writes along from its making on; `news` says how it stands.

    Parameters
    ----------
    path : Path
        The copy. It is made if it is not there and the folder is.
    first : Path
        The recording.
    writer : Writer
        That of the recording.
    meta : mapping
        The head of the recording.
    """

    def __init__(self, path: Path, first: Path, writer: Writer, meta: Mapping[str, str]) -> None:
        self.path = path
        self._first, self._writer, self._meta = first, writer, dict(meta)
        self._connection: sqlite3.Connection | None = None
        self._lock: sqlite3.Connection | None = None
        self._identity: tuple[int, int] | None = None
        self._apart: bool | None = None
        self._numbers: Numbers = {}
        self._changed = threading.Condition()
        self._closing = self._tried = False
        self._problem = ""
        self._complete_at = self._said_at = time.monotonic()
        self._complete_to: float | None = None
        self._said: SecondCopy | None = None
        self._thread = threading.Thread(target=self._run, name="second copy", daemon=True)
        self._thread.start()

    def news(self) -> list[SecondCopy]:
        """Return what the journal does not know yet; empty if nothing has changed."""
        now = time.monotonic()
        with self._changed:
            problem, to, slow = self._problem, self._complete_to, now - self._complete_at > SLOW_S
            if not self._tried and not slow:
                return []
        problem = problem or (SLOW if slow else "")
        said = SecondCopy(str(self.path), problem, to if problem else None)
        before = self._said
        turned = before is None or bool(before.problem) != bool(problem)
        if not turned and (said == before or now - self._said_at < LONGEST_S):
            return []
        self._said, self._said_at = said, now
        return [said]

    def close(self) -> str:
        """Take the last step and end; return in words what the copy lacks, if it lacks any."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        self._thread.join(CLOSE_S)
        if self._thread.is_alive() and (connection := self._connection) is not None:
            with suppress(sqlite3.Error):
                connection.interrupt()
            self._thread.join(CLOSE_S / 5)
        problem = SLOW if self._thread.is_alive() else self._problem
        if not problem:
            return ""
        to = (
            "nothing" if self._complete_to is None else f"everything up to {iso(self._complete_to)}"
        )
        return f"{self.path}: the second copy is not complete, it holds {to}: {problem}"

    def _run(self) -> None:
        pause, again, failed_at = 0.0, EVERY_S, time.monotonic()
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._closing, timeout=pause)
                closing = self._closing
            began = time.monotonic()
            problem = self._attempt()
            with self._changed:
                self._problem, self._tried = problem, True
                if not problem:
                    self._complete_at = began
                    newest = self._numbers.get("rows")
                    self._complete_to = None if newest is None else newest / 1e6
            pause = EVERY_S
            if problem:  # ever less often, so that a loose plug does not fill the journal
                pause, again, failed_at = again, min(LONGEST_S, 2 * again), time.monotonic()
            elif time.monotonic() - failed_at > LONGEST_S:
                again = EVERY_S
            if closing:
                self._let_go()
                return

    def _attempt(self) -> str:
        """Take a step; return in words what went wrong, empty if nothing did."""
        try:
            self._step(self._writer.standing())
        except RecordingError as error:
            problem = str(error)
        except Exception as error:  # whatever it is, the thread lives and the watch is told
            problem = f"cannot be written: {error}"
            if getattr(error, "sqlite_errorname", "") == "SQLITE_FULL":
                problem = "the disk is full; free some space and it is made up for"
        else:
            return ""
        self._let_go()
        return problem

    def _step(self, standing: Standing) -> None:
        """Bring the copy to where `standing` is, or raise and leave it as it was."""
        if self._connection is None or self._identity != _identity(self.path):
            self._let_go()
            self._open(standing)
        connection = self._connection
        assert connection is not None
        behind = _behind(self._numbers, standing.written)
        if behind:
            self._attach(connection)
        try:
            connection.execute("BEGIN")
            if behind:
                _take_committed(connection)
            numbers = schema.last_numbers(connection)
            _take_waiting(connection, standing.waiting, numbers)
            if standing.status is not None:
                connection.execute(STATUS, standing.status)
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        finally:
            if behind:  # an open reader would keep the recording from being folded at its end
                with suppress(sqlite3.Error):
                    connection.execute("DETACH first")
        self._numbers = schema.last_numbers(connection)

    def _attach(self, connection: sqlite3.Connection) -> None:
        try:
            connection.execute(f"ATTACH '{self._first.absolute().as_uri()}?mode=ro' AS first")
        except sqlite3.Error as error:
            raise RecordingError(f"{self._first}: cannot be read: {error}") from None

    def _open(self, standing: Standing) -> None:
        folder = self.path.parent
        if not folder.is_dir():
            raise RecordingError("its folder is not there; plug the disk in")
        apart = not same_disk(folder, self._first.parent)
        if self._apart and not apart:
            raise RecordingError("its disk is gone, the folder is now on the first; plug it in")
        self._lock = lock(self.path)
        if not self.path.exists() or not self.path.stat().st_size:
            self.path.unlink(missing_ok=True)
            self._make()
        self._connection = schema.connect(self.path, "rw", schema.BUSY_S)
        self._check(self._connection, standing)
        self._identity, self._apart = _identity(self.path), apart

    def _make(self) -> None:
        os.close(os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        schema.create_tables(self.path, self._meta | {schema.COPY_OF: str(self._first)}, "delete")

    def _check(self, connection: sqlite3.Connection, standing: Standing) -> None:
        """Raise `RecordingError` unless the file is what the recording once was."""
        if schema.row_channels(connection) != tuple(CHANNELS):
            raise RecordingError("it has other channels; move it away and a new one is made")
        head = dict(connection.execute("SELECT key, value FROM meta"))
        marked = head.pop(schema.COPY_OF, None)
        if head != self._meta:
            raise RecordingError("it is of another recording; move it away and a new one is made")
        numbers = schema.last_numbers(connection)
        if numbers != self._numbers:  # not as this watch left it
            self._attach(connection)
            try:
                same = all(_agrees(connection, table, numbers[table]) for table in schema.GROWING)
            finally:
                connection.execute("DETACH first")
            if not same:
                more = _behind(standing.written, numbers)
                what = f"it holds more than {self._first}" if more else "it went another way"
                raise RecordingError(
                    f"{what}; nothing is written to it. Go on with it (record --out), or move it"
                    " away and a new one is made"
                )
        schema.tune(connection, "delete")
        if marked != str(self._first):
            connection.execute(
                "INSERT OR REPLACE INTO meta VALUES (?, ?)", (schema.COPY_OF, str(self._first))
            )
        self._numbers = numbers

    def _let_go(self) -> None:
        for held in (self._connection, self._lock):
            if held is not None:
                with suppress(sqlite3.Error):
                    held.close()
        self._connection = self._lock = self._identity = None


def same_disk(one: Path, other: Path) -> bool:
    """Tell whether two folders are on one disk, as far as the system says."""
    return one.stat().st_dev == other.stat().st_dev


def _identity(path: Path) -> tuple[int, int] | None:
    """Return what tells `path` from another file that takes its name; None if it is gone."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _behind(numbers: Numbers, other: Numbers) -> bool:
    """Tell whether `numbers` lack anything of `other`."""
    floor = -schema.END_US
    return any((numbers.get(t) or floor) < (other.get(t) or floor) for t in other)


def _agrees(connection: sqlite3.Connection, table: str, last: int | None) -> bool:
    """Tell whether line `last` of `table` is in the first file, the same in everything."""
    where = f"{table} WHERE {schema.GROWING[table]} = ?"
    lines = f"SELECT * FROM main.{where} EXCEPT SELECT * FROM first.{where}"
    return last is None or connection.execute(lines, (last, last)).fetchone() is None


def _take_committed(connection: sqlite3.Connection) -> None:
    """Add what the first file holds and the copy does not, all from one moment of the first."""
    numbers = schema.last_numbers(connection)
    for table, key in schema.GROWING.items():
        connection.execute(
            f"INSERT INTO main.{table} SELECT * FROM first.{table} WHERE {key} > ? ORDER BY {key}",
            (-schema.END_US if numbers[table] is None else numbers[table],),
        )
    connection.execute(
        f"INSERT INTO main.commands SELECT * FROM first.commands WHERE {schema.TAKEN}"
        " AND id > (SELECT coalesce(max(id), 0) FROM main.commands) ORDER BY id"
    )


def _take_waiting(
    connection: sqlite3.Connection, waiting: tuple[Item, ...], numbers: Numbers
) -> None:
    """Add what waits for the first file and is not here yet."""
    for item in waiting:
        if item.table == "taken":  # a command stays in the file it was left in
            continue
        known = numbers[item.table]
        new = [p for p in item.parameters if known is None or p[0] > known]  # type: ignore[operator]
        connection.executemany(INSERTS[item.table], new)
