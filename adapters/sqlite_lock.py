"""One watch a recording: a lock that goes with the process that held it.

The lock is an exclusive transaction on an empty SQLite file beside the recording
(``name.kdrec.lock``), which every system gives up when the process ends, however it ends; the
file itself stays and means nothing.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from engine.errors import RecordingError


def lock(path: Path) -> sqlite3.Connection:
    """Hold the recording at `path` for this process until the connection is closed.

    Raises
    ------
    RecordingError
        If another process holds it, or no lock can be made beside it.
    """
    beside = path.with_name(path.name + ".lock")
    try:
        held = sqlite3.connect(beside, timeout=0, isolation_level=None, check_same_thread=False)
    except sqlite3.Error as error:
        raise RecordingError(f"{beside}: cannot be made: {error}") from None
    try:
        held.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        held.close()
        if is_busy(error):
            raise RecordingError(f"{path}: another watch is writing to it; stop it first") from None
        raise RecordingError(f"{beside}: cannot be locked: {error}") from None
    return held


def is_busy(error: sqlite3.Error) -> bool:
    """Tell whether another connection is in the way."""
    return str(getattr(error, "sqlite_errorname", "")).startswith("SQLITE_BUSY")
