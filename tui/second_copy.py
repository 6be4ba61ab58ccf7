"""What the screen says of the second copy of the recording."""

from __future__ import annotations

from collections.abc import Callable

from engine.second_copy import LATE_S
from engine.snapshot import Snapshot
from tui.format import age


def flag(snapshot: Snapshot) -> tuple[str, str] | None:
    """Return text and role of the flag in the banner; None if nothing is wrong."""
    copy = snapshot.second_copy
    if not copy.problem or snapshot.watch.replay:
        return None
    late = max(0.0, snapshot.now - copy.since)
    return f"COPY {age(late)} BEHIND", "alarm_2" if late >= LATE_S else "notice"


def value(snapshot: Snapshot) -> str:
    """Return how late it is, for its alarm."""
    copy = snapshot.second_copy
    if not copy.problem:
        return "complete again" if copy.place else "none is kept now"
    return f"{age(snapshot.now - copy.since)} behind"


def lines(snapshot: Snapshot, clock: Callable[[float], str]) -> list[str]:
    """Return where it is and how far it goes, for a page."""
    copy = snapshot.second_copy
    if not copy.place:
        return ["none is kept (--copy FOLDER)"]
    if not copy.problem:
        return [copy.place, "complete, and written along"]
    to = "it is not known to hold anything"
    if copy.complete_to is not None:
        to = f"complete to {clock(copy.complete_to)}, {age(snapshot.now - copy.since)} behind"
    return [copy.place, to, copy.problem]
