"""What the journal says of the alarms of a tour, folded for their performance."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from engine.alarms.model import Event, Notice, State
from engine.interfaces import JournalLine
from engine.records.journal import read

_SHOWN = frozenset("BCDEF")


@dataclass(slots=True)
class Told:
    """One time that an alarm came to the driller."""

    id: str
    priority: int
    at: float
    """[s since 1970-01-01 UTC]"""
    since: float
    """When its condition began; earlier than `at` if it sounded again while it stood."""
    acknowledged: float | None = None
    cleared: float | None = None
    again: bool = False
    """It sounded again while it stood; the later one goes on from here."""


@dataclass(slots=True)
class Kept:
    """For how long an alarm was kept quiet by a person, and on whose word."""

    id: str
    start: float
    """[s since 1970-01-01 UTC]"""
    who: str
    authoriser: str
    reason: str
    end: float | None = None


@dataclass(slots=True)
class History:
    """Everything the metrics look at, in order of time."""

    told: list[Told] = field(default_factory=list)
    shelved: list[Kept] = field(default_factory=list)
    out_of_service: list[Kept] = field(default_factory=list)
    changes: list[dict[str, Any]] = field(default_factory=list)
    """Limits that were changed."""
    floods: list[tuple[float, float | None]] = field(default_factory=list)
    """From when until when; None: it goes on."""
    acknowledgements: list[float] = field(default_factory=list)
    """When a person acknowledged, one alarm or all at once."""
    silences: int = 0
    escalated: int = 0
    unauthorised: int = 0
    """Kept quiet or changed without a name, a reason, or for out of service an authoriser."""


def history(lines: Iterable[JournalLine]) -> History:
    """Fold the journal."""
    out = History()
    newest: dict[str, Told] = {}
    quiet: dict[tuple[str, str], Kept] = {}
    for line in lines:
        fields = read(line)
        kind, event = fields["kind"], fields["event"]
        if kind == "flood":
            _flood(out, event, line.at)
        elif kind == "command" and event == "given":
            out.silences += fields["id"] == "silence"
            if fields["id"] == "acknowledge":
                out.acknowledgements.append(line.at)
        elif kind == "alarm":
            _told(out, newest, fields, line.at)
            _kept(out, quiet, fields, line.at)
            out.escalated += event == Notice.ESCALATE
    return out


def _flood(out: History, event: str, at: float) -> None:
    if event == "start":
        out.floods.append((at, None))
    elif out.floods:
        out.floods[-1] = (out.floods[-1][0], at)


def _told(out: History, newest: dict[str, Told], fields: Mapping[str, Any], at: float) -> None:
    name, event = fields["id"], fields["event"]
    one = newest.get(name)
    if fields["after"] == State.UNACKNOWLEDGED != fields["before"]:
        since = at
        if one and one.cleared is None:
            one.again, since = True, one.since
        newest[name] = Told(name, int(fields["priority"]), at, since)
        out.told.append(newest[name])
    elif one is None:
        return
    elif event == Event.ACK and one.acknowledged is None:
        one.acknowledged = at
    elif one.cleared is None and (event == Event.CLEAR or fields["after"] not in _SHOWN):
        one.cleared = at


def _kept(
    out: History, quiet: dict[tuple[str, str], Kept], fields: Mapping[str, Any], at: float
) -> None:
    name, event, after = fields["id"], fields["event"], fields["after"]
    for state in (State.SHELVED, State.OUT_OF_SERVICE):
        if fields["before"] == state != after and (one := quiet.pop((name, state), None)):
            one.end = at
    words = [str(fields.get(key) or "").strip() for key in ("who", "authoriser", "reason")]
    if event in (Event.SHELVE, Event.OUT_OF_SERVICE):
        if fields["before"] != after:
            state = State.SHELVED if event == Event.SHELVE else State.OUT_OF_SERVICE
            quiet[name, state] = one = Kept(name, at, words[0], words[1], words[2])
            (out.shelved if state is State.SHELVED else out.out_of_service).append(one)
    elif event == Notice.CHANGE_LIMIT:
        keys = ("id", "limit", "old_limit", "unit", "who", "reason")
        out.changes.append({"at": at, **{key: fields.get(key) for key in keys}})
    else:
        return
    needed = words if event == Event.OUT_OF_SERVICE else [words[0], words[2]]
    out.unauthorised += not all(needed)
