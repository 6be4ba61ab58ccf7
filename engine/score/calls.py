"""Calls and blind spells, read back from the lines of a journal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from engine.detect.kinds import Severity
from engine.interfaces import JournalLine
from engine.records.journal import read
from engine.score.families import EPISODE_S

_GRADE = {s.id: int(s) for s in Severity} | {"end": 0}


@dataclass(frozen=True, slots=True)
class Call:
    """One time a detector raised its voice; times in s from the start of the run."""

    kind: str
    at: float
    """First moment at warning or above; of what never got there, the first at advice. [s]"""
    end: float
    """When it fell below again, or the run was over. [s]"""
    severity: int
    """Gravest `Severity` it reached. [-]"""

    @property
    def counts(self) -> bool:
        """Whether it is a call: advice alone is none."""
        return self.severity >= Severity.WARNING


@dataclass(frozen=True, slots=True)
class Blind:
    """A spell in which a detector could not see."""

    kind: str
    at: float
    end: float
    reason: str


def said(lines: Iterable[JournalLine], start: float, end: float) -> tuple[list[Call], list[Blind]]:
    """Return the calls and the blind spells of a run, in order of time.

    Parameters
    ----------
    lines : iterable of JournalLine
        Of one run.
    start, end : float
        Of the run; what still lasts then ends there. [s since 1970-01-01 UTC]
    """
    calls: list[Call] = []
    blind: list[Blind] = []
    grades: dict[str, list[tuple[float, int]]] = {}
    eyes: dict[str, list[tuple[float, str]]] = {}
    for line in lines:
        fields = read(line)
        at = line.at - start
        if fields["kind"] == "event":
            grades.setdefault(fields["id"], []).append((at, _GRADE[fields["event"]]))
        elif fields["kind"] == "detector":
            reason = fields["reason"] if fields["event"] == "blind" else ""
            eyes.setdefault(fields["id"], []).append((at, reason))
    for kind, steps in grades.items():
        calls += _calls(kind, [*steps, (end - start, 0)])
    for kind, turns in eyes.items():
        ends = [at for at, _ in turns[1:]] + [end - start]
        blind += [
            Blind(kind, at, till, reason)
            for (at, reason), till in zip(turns, ends, strict=True)
            if reason
        ]
    return sorted(calls, key=lambda c: (c.at, c.kind)), sorted(blind, key=lambda b: (b.at, b.kind))


def _calls(kind: str, steps: Sequence[tuple[float, int]]) -> Iterator[Call]:
    """Yield the calls of one kind; `steps` are (time, severity from then on), the last is 0."""
    since = called_at = None
    worst, spoke = 0, False
    for at, grade in steps:
        if called_at is not None and grade < Severity.WARNING:
            yield Call(kind, called_at, at, worst)
            called_at, worst, spoke = None, 0, True
        if grade == 0:
            if since is not None and not spoke:
                yield Call(kind, since, at, int(Severity.ADVICE))
            since, spoke = None, False
            continue
        since = at if since is None else since
        if grade >= Severity.WARNING:
            called_at = at if called_at is None else called_at
            worst = max(worst, grade)


def episodes(calls: Iterable[Call]) -> list[Call]:
    """Return `calls` with those of one kind made one that are closer than `EPISODE_S`."""
    out: list[Call] = []
    newest: dict[str, int] = {}
    for call in sorted(calls, key=lambda c: (c.at, c.kind)):
        place = newest.get(call.kind)
        if place is not None and call.at - out[place].end < EPISODE_S:
            one = out[place]
            end, severity = max(one.end, call.end), max(one.severity, call.severity)
            out[place] = Call(call.kind, one.at, end, severity)
        else:
            newest[call.kind] = len(out)
            out.append(call)
    return out
