"""A recording as everyone reads it, also while a watch is writing it.

One read-only connection, shared by all threads of a process under a lock that is let go
between chunks; no cursor stays open, so that the writer's checkpoints can finish. A value that
was NaN comes back as NaN; -0.0 may come back as 0.0, which is how SQLite keeps it.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
import numpy.typing as npt

from adapters import sqlite_schema as schema
from engine.block import Block, FloatArray, Quality, Table
from engine.channels import CHANNELS, channel
from engine.commands import Command
from engine.errors import RecordingError
from engine.events import WireBytes
from engine.interfaces import InputEvent, JournalLine, Status
from engine.records import codec

CHUNK = 5000
"""Rows read at once: some tens of milliseconds. [-]"""
BUSY_S = 2.0
"""How long a reader waits for the file, and a command for the writer. [s]"""


class SqliteRecording:
    """`engine.interfaces.Recording` on an SQLite file.

    Parameters
    ----------
    path : Path or str
        The recording; it is never made or changed, except for posted commands.
    clock : callable
        Wall clock for the time a command is posted. [s since 1970-01-01 UTC]

    Raises
    ------
    RecordingError
        From any call, if the file is gone, damaged, no recording or of a newer program.
    """

    def __init__(self, path: Path | str, clock: Callable[[], float] = time.time) -> None:
        self.path = str(path)
        self._file = Path(path)
        self._clock = clock
        self._access = Lock()
        self._connection = schema.connect(self._file, "ro", BUSY_S)
        try:
            self._columns = schema.row_channels(self._connection)
        except sqlite3.Error as error:
            self._connection.close()
            raise RecordingError(f"{self.path}: cannot be read: {error}") from None

    def meta(self) -> Mapping[str, str]:
        """Return the head; ``docs/recording.md`` lists its keys."""
        return {str(k): str(v) for k, v in self._fetch("SELECT key, value FROM meta")}

    def channels(self) -> tuple[str, ...]:
        """Return the channels of the file, in the order of its columns."""
        return self._columns

    def span(self) -> tuple[float, float] | None:
        """Return first and last row time [s], or None while there is no row."""
        first, last = self._fetch("SELECT min(t_us), max(t_us) FROM rows")[0]
        return None if first is None else (first / 1e6, last / 1e6)

    def rows(
        self,
        after: float = float("-inf"),
        until: float = float("inf"),
        channels: Sequence[str] | None = None,
    ) -> Table:
        """Return samples with after < t <= until.

        Parameters
        ----------
        after, until : float
            Limits of time; what comes after a row's own time starts with the next row. [s]
        channels : sequence of str, optional
            Ids of the wanted channels, all if left out; others are not even read.

        Returns
        -------
        Table
            Blocks of one time array. A channel the file does not know (it was made before there
            was one) is NaN with ``NO_DATA``.

        Raises
        ------
        InputError
            If there is no channel of that name.
        """
        wanted = tuple(CHANNELS) if channels is None else tuple(channels)
        known = [channel(c).id for c in wanted if channel(c).id in self._columns]
        names = ", ".join(f'"{name}"' for name in known)
        question = (
            f"SELECT t_us, {names}{', ' if names else ''}quality FROM rows"
            " WHERE t_us >= ? AND t_us < ? ORDER BY t_us LIMIT ?"
        )
        first, end = schema.first_us_after(after), schema.first_us_after(until)
        values, qualities = [np.empty((0, 1 + len(known)))], [self._quality([])]
        dtype = np.dtype((np.float64, 1 + len(known)))

        def take(cursor: sqlite3.Cursor) -> tuple[FloatArray, list[bytes]]:
            """As floats a row's microseconds are exact, and None becomes NaN."""
            blobs: list[bytes] = []

            def numbers() -> Iterator[tuple[float, ...]]:
                for row in cursor:
                    blobs.append(row[-1])
                    yield row[:-1]

            return np.fromiter(numbers(), dtype), blobs

        while True:
            part, blobs = self._fetch(question, (first, end, CHUNK), take)
            values.append(part)
            qualities.append(self._quality(blobs))
            if len(part) < CHUNK:
                break
            first = int(part[-1, 0]) + 1
        table = np.ascontiguousarray(np.concatenate(values).T)
        quality = np.concatenate(qualities)
        t = table[0] / 1e6
        places = {name: self._columns.index(name) for name in known}
        found = {
            name: Block(t, table[i], np.ascontiguousarray(quality[:, places[name]]))
            for i, name in enumerate(known, 1)
        }
        unknown = np.full(t.size, Quality.NO_DATA, np.uint16)
        return {c: found.get(c) or Block(t, np.full(t.size, np.nan), unknown) for c in wanted}

    def _quality(self, blobs: list[bytes]) -> npt.NDArray[np.uint16]:
        """Return quality of all columns, shape (n, columns)."""
        width = len(self._columns)
        if any(len(blob) != 2 * width for blob in blobs):
            raise RecordingError(f"{self.path}: rows: quality must have {2 * width} bytes a row")
        flat = np.frombuffer(b"".join(blobs), "<u2").astype(np.uint16, copy=False)
        return flat.reshape(len(blobs), width)

    def journal(self, after: int = 0) -> list[JournalLine]:
        """Return the lines with a number above `after`, in order."""
        found = self._fetch(
            "SELECT seq, at, text FROM journal WHERE seq > ? ORDER BY seq", (after,)
        )
        return [JournalLine(*row) for row in found]

    def inputs(self) -> Iterator[InputEvent]:
        """Yield all recorded inputs in order."""
        for seq, body in self._stream("SELECT seq, body FROM inputs WHERE seq > ? ORDER BY seq"):
            yield codec.decode_event(body, f"{self.path}: input {seq}")

    def wire(self) -> Iterator[WireBytes]:
        """Yield all recorded bytes in order."""
        question = "SELECT id, at, feed, data FROM wire WHERE id > ? ORDER BY id"
        for _, at, feed, data in self._stream(question):
            yield WireBytes(at, feed, data)

    def status(self) -> Status | None:
        """Return the newest heartbeat, None before the first."""
        names = "wall, data, speed, running, feeds, queue, problem, pid"
        found = self._fetch(f"SELECT {names} FROM status")
        if not found:
            return None
        wall, data, speed, running, feeds, queue, problem, pid = found[0]
        health = codec.decode_feeds(feeds, f"{self.path}: status")
        return Status(wall, data, speed, bool(running), health, queue, problem, pid)

    def post(self, command: Command, who: str, station: str) -> int:
        """Leave a command for the watch; return its id.

        Raises
        ------
        RecordingError
            Also if the file is a second copy, stays busy for 2 s or cannot be written: then
            nothing was posted.
        """
        if first := self.meta().get(schema.COPY_OF):
            raise RecordingError(
                f"{self.path}: is the second copy of {first}; the watch takes commands there"
            )
        body = codec.encode_command(command)
        connection = schema.connect(self._file, "rw", BUSY_S)
        try:
            connection.execute("PRAGMA wal_autocheckpoint = 0")  # the watch does that
            done = connection.execute(
                "INSERT INTO commands (posted_at, who, station, body) VALUES (?, ?, ?, ?)",
                (self._clock(), who, station, body),
            )
            return int(done.lastrowid or 0)
        except sqlite3.Error as error:
            raise RecordingError(f"{self.path}: the command was not posted: {error}") from None
        finally:
            connection.close()

    def close(self) -> None:
        """Let go of the file."""
        with self._access:
            self._connection.close()

    def _fetch(
        self,
        question: str,
        parameters: Sequence[object] = (),
        take: Callable[[sqlite3.Cursor], Any] = sqlite3.Cursor.fetchall,
    ) -> Any:
        """Return all answers; every way this can fail becomes a `RecordingError`."""
        if not self._file.exists():
            raise RecordingError(f"{self.path}: the recording has gone")
        with self._access:
            try:
                return take(self._connection.execute(question, parameters))
            except sqlite3.Error as error:
                raise RecordingError(f"{self.path}: cannot be read: {error}") from None

    def _stream(self, question: str) -> Iterator[Any]:
        """Yield answers by rising number, their first column, a chunk at a time."""
        last = 0
        while found := self._fetch(f"{question} LIMIT {CHUNK}", (last,)):
            yield from found
            last = found[-1][0]
