"""Start the watch as a process of its own, that outlives the screen which started it."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from adapters.sqlite_reader import SqliteRecording
from engine.errors import FeedError, RigError

READY_S = 60.0
"""Longest wait for the first heartbeat; a synthetic history takes a few seconds. [s]"""


@dataclass(slots=True)
class WatchProcess:
    """A running watch and where it writes."""

    recording: Path
    log: Path
    process: subprocess.Popen[bytes]

    def stop_hard(self) -> None:
        """End it after it was asked to stop and did not."""
        try:
            self.process.wait(timeout=10.0)
        except subprocess.TimeoutExpired:
            self.process.terminate()
            self.process.wait(timeout=10.0)


def start_watch(recording: Path, arguments: Sequence[str]) -> WatchProcess:
    """Start ``kellydown record`` in a session of its own and wait for its first heartbeat.

    Raises
    ------
    FeedError
        If it ends or says nothing within the time; carries the last lines of its log.
    """
    log = recording.with_suffix(".log")
    command = [sys.executable, "-m", "tui.cli", "record", *arguments, "--out", str(recording)]
    detached = 0
    if sys.platform == "win32":
        # Own console group, so that closing the screen's window does not end the watch.
        detached = subprocess.CREATE_NEW_PROCESS_GROUP | subprocess.DETACHED_PROCESS
    with log.open("ab") as out:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=subprocess.STDOUT,
            start_new_session=sys.platform != "win32",
            creationflags=detached,
        )
    watch = WatchProcess(recording, log, process)
    before = time.time()
    deadline = time.monotonic() + READY_S
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise FeedError(f"the watch did not start:\n{_tail(log)}")
        if _beats(recording, before):
            return watch
        time.sleep(0.1)
    process.terminate()
    raise FeedError(f"the watch gave no sign of life within {READY_S:g} s:\n{_tail(log)}")


def _beats(recording: Path, since: float) -> bool:
    """Whether a heartbeat has been written since `since` [s since 1970-01-01 UTC]."""
    if not recording.exists():
        return False
    try:
        reader = SqliteRecording(str(recording))
        try:
            status = reader.status()
        finally:
            reader.close()
    except RigError:
        return False  # not made to the end yet
    return status is not None and status.wall >= since


def _tail(log: Path, lines: int = 12) -> str:
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:])
