"""The recording as an SQLite file: its tables, how it is opened, what is refused.

``docs/recording.md`` describes the file for people who read it with other tools.

Row times are kept as whole microseconds since 1970-01-01 UTC. A time of the engine is a float
of seconds that is the nearest one to such a microsecond, which holds for all times that were
rounded by ``round(t, 6)``; then ``t_us / 1e6`` gives the same float back, to the last bit,
until the year 2106. Other times are refused, never rounded in silence.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray
from engine.channels import CHANNELS
from engine.errors import RecordingError

SCHEMA = 1
"""Version of the tables, kept as the file's ``user_version``. [-]"""
APPLICATION_ID = 0x6B647265
"""Marks an SQLite file as a recording; the letters ``kdre``. [-]"""
END_US = 2**62
"""Later than any row. [us]"""
BUSY_S = 5.0
"""How long a writer waits for another one, a screen that posts a command. [s]"""
WAL_LIMIT = 16 * 2**20
"""A longer write-ahead log is cut after a checkpoint. [byte]"""

GROWING = {"wire": "id", "inputs": "seq", "journal": "seq", "rows": "t_us"}
"""Tables that only grow, each with the column that numbers its lines."""
TAKEN = "taken != 0"
"""Of `commands`: the watch has answered, and the line changes no more."""
COPY_OF = "copy_of"
"""Key of `meta` in a second copy: the file it is a copy of."""

IntArray = npt.NDArray[np.int64]

_TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE wire (id INTEGER PRIMARY KEY, at REAL NOT NULL, feed TEXT NOT NULL,
                   data BLOB NOT NULL);
CREATE TABLE inputs (seq INTEGER PRIMARY KEY, at REAL NOT NULL, kind TEXT NOT NULL,
                     body TEXT NOT NULL);
CREATE TABLE journal (seq INTEGER PRIMARY KEY, at REAL NOT NULL, text TEXT NOT NULL);
CREATE TABLE status (one INTEGER PRIMARY KEY CHECK (one = 1), wall REAL NOT NULL,
                     data REAL NOT NULL, speed REAL NOT NULL, running INTEGER NOT NULL,
                     feeds TEXT NOT NULL, queue INTEGER NOT NULL, problem TEXT NOT NULL,
                     pid INTEGER NOT NULL);
CREATE TABLE commands (id INTEGER PRIMARY KEY AUTOINCREMENT, posted_at REAL NOT NULL,
                       who TEXT NOT NULL, station TEXT NOT NULL, body TEXT NOT NULL,
                       taken INTEGER NOT NULL DEFAULT 0);
"""

MIGRATIONS: dict[int, Callable[[sqlite3.Connection], None]] = {}
"""From a version to the next one; each step runs inside the one transaction of `migrate`."""


def rows_table() -> str:
    """Return the statement that makes the table of samples, one column a channel."""
    columns = ", ".join(f'"{channel}" REAL' for channel in CHANNELS)
    return f"CREATE TABLE rows (t_us INTEGER PRIMARY KEY, {columns}, quality BLOB NOT NULL)"


def create_tables(path: Path, meta: Mapping[str, str], mode: str = "wal") -> None:
    """Fill the empty file `path`: it becomes a whole recording in one step, or stays empty."""
    connection = _open(str(path), BUSY_S, uri=False)
    try:
        tune(connection, mode)
        connection.execute("BEGIN IMMEDIATE")
        for statement in _TABLES.split(";"):
            connection.execute(statement)
        connection.execute(rows_table())
        connection.executemany("INSERT INTO meta VALUES (?, ?)", list(meta.items()))
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("COMMIT")
    finally:
        connection.close()


def tune(connection: sqlite3.Connection, mode: str = "wal") -> None:
    """Set what a writing connection needs: a commit is on the disk.

    With ``wal`` readers never wait; with ``delete`` the file is whole by itself between two
    commits, and lies on any disk or network folder.
    """
    got = connection.execute(f"PRAGMA journal_mode = {mode}").fetchone()[0]
    if got != mode:
        wanted = "no write-ahead log" if mode == "wal" else "no plain file"
        raise sqlite3.OperationalError(f"the file system allows {wanted}, only {got}")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(f"PRAGMA journal_size_limit = {WAL_LIMIT}")


def connect(path: Path, mode: str, timeout: float) -> sqlite3.Connection:
    """Open `path` without ever creating it.

    Parameters
    ----------
    path : Path
        The recording.
    mode : str
        ``ro`` to read or ``rw`` to write.
    timeout : float
        How long to wait for another writer. [s]

    Raises
    ------
    RecordingError
        If there is no such file, or it cannot be opened, or is no recording of a known schema.
    """
    if not path.is_file():
        raise RecordingError(f"{path}: there is no such recording")
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    try:
        try:
            return _checked(uri, path, timeout)
        except sqlite3.OperationalError as error:
            if getattr(error, "sqlite_errorname", "") == "SQLITE_READONLY_ROLLBACK":
                # A commit was cut short and nobody has tidied up since; a writer does so.
                _checked(f"{path.absolute().as_uri()}?mode=rw", path, timeout).close()
                return _checked(uri, path, timeout)
            # On a read-only disk the log's index cannot be made; without a log none is needed.
            log = path.with_name(path.name + "-wal")
            if mode != "ro" or (log.exists() and log.stat().st_size):
                raise
            return _checked(uri + "&immutable=1", path, timeout)
    except sqlite3.Error as error:
        raise RecordingError(f"{path}: cannot be opened: {error}") from None


def _open(name: str, timeout: float, *, uri: bool) -> sqlite3.Connection:
    return sqlite3.connect(
        name, uri=uri, timeout=timeout, isolation_level=None, check_same_thread=False
    )


def _checked(uri: str, path: Path, timeout: float) -> sqlite3.Connection:
    connection = _open(uri, timeout, uri=True)
    try:
        check(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def check(connection: sqlite3.Connection, path: Path) -> None:
    """Raise `RecordingError` unless the open file is a recording this program can read."""
    if path.stat().st_size == 0:
        raise RecordingError(f"{path}: is empty; making it was cut short, it can be deleted")
    try:
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        version = connection.execute("PRAGMA user_version").fetchone()[0]
    except sqlite3.OperationalError:
        raise
    except sqlite3.DatabaseError as error:
        raise RecordingError(f"{path}: is not a recording: {error}") from None
    if application != APPLICATION_ID:
        raise RecordingError(
            f"{path}: is an SQLite file but not a recording: its application_id is"
            f" {application:#x}, a recording has {APPLICATION_ID:#x}"
        )
    if version > SCHEMA:
        raise RecordingError(
            f"{path}: was written by a newer version of this program (schema {version});"
            f" this one reads up to schema {SCHEMA}; update the program"
        )


def migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Bring an older file to the present schema, all steps or none."""
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version == SCHEMA:
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        for step in range(version, SCHEMA):
            if step not in MIGRATIONS:
                raise RecordingError(f"{path}: schema {step} is unknown; it cannot be updated")
            MIGRATIONS[step](connection)
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def last_numbers(connection: sqlite3.Connection) -> dict[str, int | None]:
    """Return the number of the last line of each growing table and of the answered commands."""
    asked = {table: f"max({key}) FROM main.{table}" for table, key in GROWING.items()}
    asked["commands"] = f"max(id) FROM main.commands WHERE {TAKEN}"
    return {t: connection.execute(f"SELECT {of}").fetchone()[0] for t, of in asked.items()}


def row_channels(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the channels of the file, in the order of its columns and of its quality."""
    names = [row[1] for row in connection.execute("PRAGMA table_info(rows)")]
    return tuple(name for name in names if name not in {"t_us", "quality"})


def to_us(t: FloatArray) -> IntArray:
    """Return times [s] as whole microseconds, shape (n,).

    Raises
    ------
    RecordingError
        If a time is not finite or does not come back as the same float.
    """
    with np.errstate(over="ignore", invalid="ignore"):
        scaled = np.rint(t * 1e6)
        exact = (np.abs(scaled) < END_US) & (scaled / 1e6 == t)
    if not exact.all():
        wrong = float(t[~exact][0])
        raise RecordingError(
            f"rows: time {wrong!r} s is not a whole microsecond; round(t, 6) makes it one"
        )
    return scaled.astype(np.int64)


def first_us_after(t: float) -> int:
    """Return the least microsecond whose time in seconds is later than `t`. [us]"""
    if math.isnan(t):
        raise RecordingError("rows: a limit of time must be a number of seconds, got nan")
    if abs(t) >= END_US / 1e6:
        return int(math.copysign(END_US, t))
    us = math.floor(t * 1e6) - 1
    while us / 1e6 <= t:
        us += 1
    return us
