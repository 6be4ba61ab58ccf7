"""Alarms and events of a recording, from its journal lines alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from engine.alarms.model import State
from engine.detect.kinds import Severity
from engine.interfaces import JournalLine
from engine.records.journal import iso, read


@dataclass(slots=True)
class Occurrence:
    """One alarm from its trip until its condition went away."""

    id: str
    priority: int
    raised: float
    """[s since 1970-01-01 UTC]"""
    value: float | None
    """When raised. [SI]"""
    limit: float | None
    """[SI]"""
    unit: str | None
    acknowledged: float | None = None
    cleared: float | None = None

    def as_json(self) -> dict[str, Any]:
        """Return it as the review has it; what has not happened is None."""
        return {
            "id": self.id,
            "priority": self.priority,
            "raised": iso(self.raised),
            "acknowledged": None if self.acknowledged is None else iso(self.acknowledged),
            "cleared": None if self.cleared is None else iso(self.cleared),
            "value": self.value,
            "limit": self.limit,
            "unit": self.unit,
        }


def occurrences(lines: Iterable[JournalLine]) -> list[Occurrence]:
    """Fold the journal into alarms, in the order in which they were raised.

    An alarm counts from the moment somebody was told: what happens while it is suppressed is on
    record in the journal but is none. If an alarm that stands is suppressed and then told again
    without having cleared, or sounds again by its timer, it is the same one.
    """
    out: list[Occurrence] = []
    newest: dict[str, Occurrence] = {}
    for line in lines:
        fields = read(line)
        if fields["kind"] != "alarm":
            continue
        name, event = fields["id"], fields["event"]
        told = fields["after"] == State.UNACKNOWLEDGED and fields["before"] != fields["after"]
        one = newest.get(name)
        if told and (one is None or one.cleared is not None):
            one = newest[name] = Occurrence(
                name,
                fields["priority"],
                line.at,
                fields.get("value"),
                fields.get("limit"),
                fields.get("unit"),
            )
            out.append(one)
        elif one is not None and event == "ack" and one.acknowledged is None:
            one.acknowledged = line.at
        elif one is not None and event == "clear" and one.cleared is None:
            one.cleared = line.at
    return out


def alarms_between(lines: Sequence[JournalLine], start: float, end: float) -> list[dict[str, Any]]:
    """Return the alarms that stood at any moment from `start` to `end` [s]."""
    return [
        one.as_json()
        for one in occurrences(lines)
        if one.raised <= end and (one.cleared is None or one.cleared >= start)
    ]


_GRAVITY = [severity.id for severity in Severity]


def events_between(lines: Iterable[JournalLine], start: float, end: float) -> list[dict[str, Any]]:
    """Return the calls of the detectors that stood at any moment from `start` to `end` [s].

    Returns
    -------
    list of dict
        ``kind``, ``at``, ``ended`` (None: it stands), the gravest ``severity``, ``volume_m3`` and
        ``witnesses`` of the first warning (of the first call if there was none), and ``steps``:
        each change with its severity and the numbers behind it.
    """
    out: list[dict[str, Any]] = []
    open_: dict[str, dict[str, Any]] = {}
    spans: list[tuple[float, float]] = []
    place: dict[str, int] = {}
    for line in lines:
        fields = read(line)
        if fields["kind"] != "event":
            continue
        kind, evidence = fields["id"], fields.get("evidence") or {}
        if fields["event"] == "end":
            if one := open_.pop(kind, None):
                one["ended"] = iso(line.at)
                spans[place[kind]] = (spans[place[kind]][0], line.at)
            continue
        one = open_.get(kind)
        if one is None:
            one = open_[kind] = {"kind": kind, "at": iso(line.at), "ended": None, "severity": ""}
            one |= {"volume_m3": None, "witnesses": [], "steps": []}
            place[kind] = len(out)
            out.append(one)
            spans.append((line.at, float("inf")))
        first = not one["steps"] or one["severity"] == Severity.ADVICE.id != fields["event"]
        if first:
            one["volume_m3"] = evidence.get("volume_m3")
            one["witnesses"] = evidence.get("witnesses") or []
        one["severity"] = max(one["severity"] or "none", fields["event"], key=_GRAVITY.index)
        step = {"at": iso(line.at), "severity": fields["event"], "evidence": evidence}
        one["steps"].append(step)
    return [one for one, (a, b) in zip(out, spans, strict=True) if a <= end and b >= start]
