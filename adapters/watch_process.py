"""Start the watch as a process of its own, that outlives the screen which started it."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from adapters.sqlite_reader import SqliteRecording
from engine.errors import FeedError, RigError
from engine.interfaces import Status

READY_S = 60.0
"""Longest wait for the first heartbeat; a synthetic history takes a few seconds. [s]"""


@dataclass(slots=True)
class WatchProcess:
    """A running watch and where it writes."""

    recording: Path
    log: Path
    process: subprocess.Popen[bytes]

    def stop_hard(self, patience: float = 10.0) -> None:
        """Wait for its end; ask once more after `patience` [s], end it by force after another."""
        for insist in (self.process.terminate, self.process.kill):
            try:
                self.process.wait(timeout=patience)
                return
            except subprocess.TimeoutExpired:
                insist()
        self.process.wait()


def start_watch(
    recording: Path, arguments: Sequence[str], ready_s: float = READY_S
) -> WatchProcess:
    """Start ``kellydown record`` in a session of its own and wait for its first heartbeat.

    What it says goes to ``RECORDING.log`` beside the recording.

    Raises
    ------
    FeedError
        If it ends or says nothing within `ready_s` [s]; carries the last lines of its log.
    """
    log = recording.with_name(recording.name + ".log")
    log.parent.mkdir(parents=True, exist_ok=True)
    # -P: a folder named engine or tui where the person happens to be must not be run instead.
    command = [sys.executable, "-P", "-m", "tui.cli", "record", *arguments]
    command += ["--out", str(recording)]
    before = _status(recording)
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
    deadline = time.monotonic() + ready_s
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise FeedError(f"the watch did not start:\n{_tail(log)}")
        status = _status(recording)
        if status is not None and _is_of(process.pid, status, before):
            return watch
        time.sleep(0.1)
    process.terminate()
    watch.stop_hard()
    raise FeedError(f"the watch gave no sign of life within {ready_s:g} s:\n{_tail(log)}")


def _status(recording: Path) -> Status | None:
    """Return the newest heartbeat, None if there is none or no whole recording yet."""
    if not recording.exists():
        return None
    try:
        with closing(SqliteRecording(str(recording))) as reader:
            return reader.status()
    except RigError:
        return None


def _is_of(pid: int, status: Status, before: Status | None) -> bool:
    """Tell a heartbeat of process `pid` from one of another watch on the same recording."""
    if sys.platform == "win32":  # there `python.exe` of a venv runs another process
        return before is None or status.pid != before.pid
    return status.pid == pid and (before is None or status.wall != before.wall)


def _tail(log: Path, lines: int = 12) -> str:
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:])
