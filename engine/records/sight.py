"""Which detectors could not see, when, for how long and why: from the journal alone (R-32)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engine.interfaces import JournalLine
from engine.records.journal import iso, read

WELL_CONTROL = frozenset({
    "influx", "influx_at_connection", "flow_pumps_off", "pressure_rise_pumps_off", "swab",
    "out_of_hole_gain", "shut_in_pressure_fall", "annulus_pressure", "bleed_rebuild", "total_loss",
})  # fmt: skip
"""Kinds of call without which a well that flows, or a hole that empties, may go unseen."""


@dataclass(frozen=True, slots=True)
class Spell:
    """One time that a detector could not see for one reason."""

    kind: str
    reason: str
    start: float
    """[s since 1970-01-01 UTC]"""
    end: float | None
    """None: it is blind still."""


def spells(lines: Iterable[JournalLine]) -> list[Spell]:
    """Return every spell of the journal in the order in which they began.

    A detector that stays blind for another reason begins another spell.
    """
    out: list[Spell] = []
    place: dict[str, int] = {}
    for line in lines:
        fields = read(line)
        if fields["kind"] != "detector":
            continue
        kind = str(fields["id"])
        if (i := place.pop(kind, None)) is not None:
            out[i] = Spell(kind, out[i].reason, out[i].start, line.at)
        if fields["event"] == "blind":
            place[kind] = len(out)
            out.append(Spell(kind, str(fields.get("reason") or "no reason given"), line.at, None))
    return out


def blind_between(lines: Iterable[JournalLine], start: float, end: float) -> list[dict[str, Any]]:
    """Return the detectors that were blind at any moment from `start` to `end`, longest first.

    Parameters
    ----------
    lines : iterable of JournalLine
        The whole journal: a spell that began before the window counts from its start.
    start, end : float
        Window. [s since 1970-01-01 UTC]

    Returns
    -------
    list of dict
        ``kind``, ``minutes`` within the window, ``reasons`` in order of their minutes, and
        ``spells``: start, end (None: blind at the end of the journal) and reason, with their own
        times even where they lie outside of the window.
    """
    seconds: dict[str, dict[str, float]] = {}
    listed: dict[str, list[Spell]] = {}
    for one in spells(lines):
        last = end if one.end is None else min(one.end, end)
        if one.start > end or last < start:
            continue
        by_reason = seconds.setdefault(one.kind, {})
        within = max(0.0, last - max(one.start, start))
        by_reason[one.reason] = by_reason.get(one.reason, 0.0) + within
        listed.setdefault(one.kind, []).append(one)
    order = sorted(seconds, key=lambda kind: (-sum(seconds[kind].values()), kind))
    return [
        {
            "kind": kind,
            "minutes": round(sum(seconds[kind].values()) / 60.0, 3),
            "reasons": _longest_first(seconds[kind]),
            "spells": [_json(one) for one in listed[kind]],
        }
        for kind in order
    ]


def _longest_first(seconds: Mapping[str, float]) -> list[str]:
    return sorted(seconds, key=lambda reason: (-seconds[reason], reason))


def _json(one: Spell) -> dict[str, Any]:
    ended = None if one.end is None else iso(one.end)
    return {"start": iso(one.start), "end": ended, "reason": one.reason}


def blind_lines(found: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Say each detector of `blind_between` in a line: kind, minutes, reasons, how often."""
    for one in found:
        times = len(one["spells"])
        still = ", blind at the end" if one["spells"][-1]["end"] is None else ""
        often = f" in {times} spells" if times > 1 else ""
        name = one["kind"].replace("_", " ")
        yield f"{name}  {one['minutes']:.1f} min{often}: {'; '.join(one['reasons'])}{still}"
