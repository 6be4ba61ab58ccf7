"""Entering something by command: only on a running watch, and not before it has been kept."""

from __future__ import annotations

import time

from adapters.sqlite_reader import SqliteRecording
from engine.alarms.entries import command_name
from engine.commands import Command
from engine.errors import FeedError, RecordingError
from engine.records.journal import read
from tui.commands.common import station
from tui.follow import HEARTBEAT_LIMIT_S

ANSWER_S = 5.0
"""How long a watch may take to answer; it looks for commands ten times a second. [s]"""


def must_be_watched(recording: SqliteRecording) -> None:
    """Raise `FeedError` unless a watch is writing the recording."""
    status = recording.status()
    alive = (
        status is not None
        and status.running
        and abs(time.time() - status.wall) <= HEARTBEAT_LIMIT_S
    )
    if not alive:
        raise FeedError(
            f"{recording.path}: no watch is writing this recording, so nothing can be entered; "
            "start one with kellydown live or record"
        )


def post_and_wait(recording: SqliteRecording, command: Command, who: str, look: str) -> None:
    """Post a command and wait for the journal line that answers it.

    Parameters
    ----------
    recording : SqliteRecording
    command : Command
    who : str
        Written beside it.
    look : str
        The command line that shows whether it was kept, for the message of an error.

    Raises
    ------
    FeedError
        If the watch does not answer.
    RecordingError
        If the watch refused it.
    """
    lines = recording.journal()
    last = lines[-1].seq if lines else 0
    recording.post(command, who, station())
    wanted, until = command_name(command), time.monotonic() + ANSWER_S
    while time.monotonic() < until:
        for line in recording.journal(after=last):
            told = read(line)
            last = line.seq
            if (told["kind"], told["id"], told.get("who")) != ("command", wanted, who):
                continue
            if "refused" in told:
                raise RecordingError(f"the watch refused it: {told['refused']}")
            return
        time.sleep(0.05)
    raise FeedError(
        f"the watch has not answered for {ANSWER_S:g} s; look with {look} whether it was kept "
        "before you enter it again"
    )
