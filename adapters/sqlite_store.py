"""A recording as the watch writes it: made, resumed, locked, fed, and copied along."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from adapters import sqlite_schema as schema
from adapters.sqlite_copy import Copy
from adapters.sqlite_lock import is_busy
from adapters.sqlite_lock import lock as locked
from adapters.sqlite_writer import BOUND, Parameters, Writer
from engine.block import Quality, Table
from engine.channels import CHANNELS
from engine.commands import Command
from engine.commands_copy import SecondCopy
from engine.errors import RecordingError
from engine.events import WireBytes
from engine.interfaces import InputEvent, JournalLine, Posted, Status
from engine.records import codec

ASK_S = 0.02
"""How long a look for commands may wait; the next look is soon. [s]"""


def create_recording(
    path: Path | str, meta: Mapping[str, str], *, bound: int = BOUND
) -> SqliteRecorder:
    """Make a new recording and write to it.

    Parameters
    ----------
    path : Path or str
        The file; it must not exist, its folder must.
    meta : mapping of str to str
        The head: see ``docs/recording.md`` for its keys.
    bound : int
        Items that may wait for the disk. [-]

    Raises
    ------
    RecordingError
        If the file exists, is in use or cannot be made.
    """
    path = Path(path)
    if path.exists():
        raise RecordingError(f"{path}: exists already; a recording is never written over")
    lock = locked(path)
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        try:
            schema.create_tables(path, meta)
        except BaseException:
            path.unlink()
            raise
        return SqliteRecorder(path, lock, bound)
    except BaseException as error:
        lock.close()
        if isinstance(error, OSError | sqlite3.Error):
            raise RecordingError(f"{path}: cannot be made: {error}") from None
        raise


def resume_recording(path: Path | str, *, bound: int = BOUND) -> SqliteRecorder:
    """Write on to a recording whose watch ended or was killed; its numbers go on.

    Raises
    ------
    RecordingError
        If there is no such recording, another watch writes to it, it was made with other
        channels, or it comes from a newer program.
    """
    path = Path(path)
    schema.connect(path, "ro", schema.BUSY_S).close()  # complain about the file before the lock
    lock = locked(path)
    try:
        return SqliteRecorder(path, lock, bound)
    except BaseException:
        lock.close()
        raise


class SqliteRecorder:
    """`engine.interfaces.Recorder` on an SQLite file; see `Writer` for what it promises.

    Calls come from one thread at a time. A caller that brings more than the queue holds, as an
    import does, waits while the disk catches up; while the disk refuses, it gets an error.
    """

    def __init__(self, path: Path, lock: sqlite3.Connection, bound: int) -> None:
        self.path = str(path)
        self._lock = lock
        self._asker = schema.connect(path, "rw", ASK_S)  # reads only; `ro` could not start a log
        connection = schema.connect(path, "rw", schema.BUSY_S)
        try:
            schema.tune(connection)
            schema.migrate(connection, path)
            if schema.row_channels(connection) != tuple(CHANNELS):
                raise RecordingError(f"{path}: has other channels; start a new recording")
            last = schema.last_numbers(connection)
            connection.execute("DELETE FROM meta WHERE key = ?", (schema.COPY_OF,))  # no more
        except BaseException as error:
            connection.close()
            self._asker.close()
            if isinstance(error, sqlite3.Error):
                raise RecordingError(f"{path}: cannot be written: {error}") from None
            raise
        self._last_wire, self._last_input = last["wire"] or 0, last["inputs"] or 0
        self._last_line, self._last_us = last["journal"] or 0, last["rows"]
        self._last_posted, self._refused = 0, ""
        self._copy: Copy | None = None
        self._own: list[Command] = []
        self._ids: frozenset[str] | None = None
        self._closed = False
        self._writer = Writer(connection, self.path, bound, last)

    def wire(self, event: WireBytes) -> None:
        """Keep bytes as they came."""
        self._writer.put(
            "wire", [(self._last_wire + 1, float(event.at), event.feed, bytes(event.data))]
        )
        self._last_wire += 1

    def inputs(self, events: Sequence[InputEvent]) -> None:
        """Keep what the engine takes, in order."""
        items: list[Parameters] = [
            (seq, float(event.at), codec.kind_of(event), codec.encode_event(event))
            for seq, event in enumerate(events, self._last_input + 1)
        ]
        self._writer.put("inputs", items)
        self._last_input += len(items)

    def rows(self, table: Table) -> None:
        """Keep samples; times go on from the last call, channels are the same in every call.

        A channel that no call brings is kept as unknown, with ``NO_DATA``.

        Raises
        ------
        RecordingError
            Also if time does not rise, is no whole microsecond, or channels are wrong.
        """
        if self._ids != frozenset(table):
            self._check_channels(table)
        blocks = list(table.values())
        if not blocks or not len(blocks[0]):
            return
        t = blocks[0].t
        if any(b.t is not t and not np.array_equal(b.t, t) for b in blocks):
            raise RecordingError("rows: the channels of one call must share their times")
        us = schema.to_us(t)
        before = int(us[0]) - 1 if self._last_us is None else self._last_us
        rises = np.diff(us, prepend=before) > 0
        if not rises.all():
            at = int(np.argmin(rises))
            last = float(t[at - 1]) if at else before / 1e6
            raise RecordingError(f"rows: time must rise, got {float(t[at])!r} s after {last!r} s")
        value = np.full((t.size, len(CHANNELS)), np.nan)
        quality = np.full((t.size, len(CHANNELS)), Quality.NO_DATA, "<u2")
        for column, channel in enumerate(CHANNELS):
            if channel in table:
                value[:, column] = table[channel].value
                quality[:, column] = table[channel].quality
        blob, width = quality.tobytes(), 2 * len(CHANNELS)
        # sqlite3 binds NaN as NULL; tolist() because it would keep a numpy scalar as a blob
        items: list[Parameters] = [
            (row_us, *row, blob[i * width : (i + 1) * width])
            for i, (row_us, row) in enumerate(zip(us.tolist(), value.tolist(), strict=True))
        ]
        self._writer.put("rows", items)
        self._last_us = int(us[-1])

    def _check_channels(self, table: Table) -> None:
        if extra := table.keys() - CHANNELS.keys():
            raise RecordingError(f"rows: no such channel: {', '.join(sorted(extra))}")
        if self._ids is not None:
            changed = ", ".join(sorted(self._ids ^ table.keys()))
            raise RecordingError(
                f"rows: every call must bring the same channels; missing or new: {changed}"
            )
        self._ids = frozenset(table)

    def journal(self, lines: Sequence[JournalLine]) -> None:
        """Keep journal lines; they go to the disk at once."""
        for expected, line in enumerate(lines, self._last_line + 1):
            if line.seq != expected:
                raise RecordingError(f"journal: line {line.seq} came, {expected} must be next")
        items: list[Parameters] = [(line.seq, float(line.at), line.text) for line in lines]
        self._writer.put("journal", items, urgent=True)
        self._last_line += len(items)

    def status(self, status: Status) -> None:
        """Replace the heartbeat; does not raise for the disk, so that it can tell of it."""
        s = status
        self._writer.beat(
            (s.wall, s.data, s.speed, s.running, codec.encode_feeds(s.feeds), s.queue,
             s.problem, s.pid)
        )  # fmt: skip

    def copy_to(self, place: Path | None) -> None:
        """Write everything to a second file as well, from its beginning; None: to none.

        What becomes of it comes back as commands of the watch, by `posted`.
        """
        if place is None:
            self._own.append(SecondCopy(""))
        else:
            head = dict(self._asker.execute("SELECT key, value FROM meta"))
            self._copy = Copy(place, Path(self.path), self._writer, head)

    def posted(self) -> list[Posted]:
        """Return commands not returned before; they are marked as taken with the next commit.

        A command that cannot be read is marked -1 and told by `problem`. Those of the watch
        itself, about the second copy, have the number 0.
        """
        own, self._own = self._own, []
        own += self._copy.news() if self._copy else []
        return [Posted(0, command, "watch", "watch") for command in own] + self._asked()

    def _asked(self) -> list[Posted]:
        question = (
            "SELECT id, body, who, station FROM commands WHERE id > ? AND taken = 0 ORDER BY id"
        )
        try:
            found = self._asker.execute(question, (self._last_posted,)).fetchall()
        except sqlite3.Error as error:
            if is_busy(error):
                return []
            raise RecordingError(f"{self.path}: commands cannot be read: {error}") from None
        out: list[Posted] = []
        marks: list[Parameters] = []
        for number, body, who, station in found:
            try:
                command = codec.decode_command(body, f"command {number}")
            except RecordingError as error:
                self._refused = str(error)
                marks.append((-1, number))
                continue
            self._refused = ""
            out.append(Posted(number, command, who, station))
            marks.append((1, number))
        self._writer.put("taken", marks)
        if found:
            self._last_posted = found[-1][0]
        return out

    def backlog(self) -> int:
        """Return how many items wait for the disk."""
        return self._writer.waiting

    def problem(self) -> str:
        """Return why writing fails at present, in words; empty when it works."""
        return self._writer.failed or self._writer.problem or self._refused

    def close(self) -> None:
        """Write everything out, fold the log into the file, let go of it.

        Raises
        ------
        RecordingError
            If something could not be written, here or to the second copy; what is there is whole.
        """
        if self._closed:
            return
        self._closed = True
        self._asker.close()
        self._writer.close()
        lacking = self._copy.close() if self._copy else ""
        self._writer.fold()
        self._lock.close()
        problems = []
        if self._writer.waiting:
            problems = [
                f"{self.path}: {self._writer.waiting} items could not be written:"
                f" {self._writer.problem}"
            ]
            problems += [f"{self._copy.path} holds them all"] if self._copy and not lacking else []
        problems += [lacking] if lacking else []
        if problems:
            raise RecordingError("; ".join(problems))
