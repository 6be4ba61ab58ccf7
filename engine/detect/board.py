"""All detectors together: their calls as samples for the alarms and as lines for the journal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import Block, FloatArray, Quality, Table
from engine.detect.balance import Balance
from engine.detect.bins import Binner
from engine.detect.call import (
    NOT_ON_WATCH,
    SEES,
    Declared,
    Detector,
    Job,
    Seen,
    Verdict,
    call_entry,
)
from engine.detect.kinds import CALL_CHANNELS, Severity, call_channel
from engine.ops.primitives import IntArray
from engine.ops.table import times
from engine.records.journal import Entry

_NOBODY = int(Quality.NO_DATA)
"""Quality of a call that none of the detectors makes. [-]"""


@dataclass(frozen=True, slots=True)
class Said:
    """The newest word of one detector on one kind."""

    severity: int = Severity.NONE
    sight: int = NOT_ON_WATCH
    reason: str = ""
    """Why it is blind."""
    edition: int = 0
    since: float = float("nan")
    """When the present call began. [s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class Board:
    """Runs the detectors over blocks of rows.

    Parameters
    ----------
    detectors : sequence of Detector
        No two for one kind.
    balance : Balance
        The volume balance they share.
    """

    detectors: Sequence[Detector]
    balance: Balance
    binner: Binner = field(default_factory=Binner)
    declared: tuple[Declared, ...] = ()
    jobs: tuple[Job, ...] = ()
    said: dict[str, Said] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for kind in (kind for d in self.detectors for kind in d.kinds):
            if kind in self.said:
                raise ValueError(f"two detectors call {kind!r}")
            self.said[kind] = Said()

    def process(self, table: Table) -> tuple[dict[str, Block], dict[str, Block], list[Entry]]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Every channel of `engine.channels`, shape (n,). [SI]

        Returns
        -------
        channels : dict
            Those of the volume balance, to be recorded with the rows, shape (n,). [SI]
        calls : dict
            ``call_<kind>`` for the alarms: a `Severity`, NaN where blind, shape (n,). [-] All
            kinds, also those for which there is no detector.
        entries : list of Entry
            Calls that began, changed or ended, and detectors that went blind or see again, in
            order of time.
        """
        t = times(table)
        bins = self.binner.process(table)
        channels, balance = self.balance.process(table, bins, self.declared)
        seen = Seen(table, bins, balance, self.declared, self.jobs)
        nobody = Block(t, np.full(t.size, np.nan), np.full(t.size, _NOBODY, np.uint16))
        calls = dict.fromkeys(CALL_CHANNELS, nobody)
        entries: list[Entry] = []
        flat: dict[tuple[int, int], Block] = {}
        for detector in self.detectors:
            for kind, verdict in detector.process(seen).items():
                now = self.said[kind]
                at = _changes(verdict, now)
                what = now.severity, now.sight
                if at.size:
                    samples = _samples(t, verdict, now, at)
                    entries += self._told(kind, verdict, t, at)
                elif what in flat:
                    samples = flat[what]
                else:
                    samples = flat[what] = _samples(t, verdict, now, at)
                calls[call_channel(kind)] = samples
        entries.sort(key=lambda entry: entry.at)
        return channels, calls, entries

    def declare(self, issued: Declared) -> None:
        """Take a declaration; those that are over are forgotten."""
        self.declared = (*(d for d in self.declared if d.until >= issued.at), issued)

    def declare_job(self, job: Job) -> None:
        """Take a job; one of its kind that goes on ends with it, and one without length ends."""
        kept = (j for j in self.jobs if j.until >= job.at)
        cut = (replace(j, until=job.at) if j.what == job.what else j for j in kept)
        self.jobs = (*cut, job)

    def end_job(self, what: str, at: float) -> None:
        """End a job at `at` [s] at the latest; where it was going on before stays known."""
        self.jobs = tuple(
            replace(j, until=min(j.until, at)) if j.what == what else j for j in self.jobs
        )

    def _told(self, kind: str, v: Verdict, t: FloatArray, changes: IntArray) -> Iterator[Entry]:
        """Yield the entries of each moment at which something `changes`."""
        now = self.said[kind]
        for i in changes.tolist():
            at = float(t[v.row[i]])
            severity, sight = int(v.severity[i]), int(v.sight[i])
            new = 0 if v.edition is None else int(v.edition[i])
            reason = v.blind_reasons[sight - 1] if sight > 0 else ""
            since = now.since
            if severity != now.severity or (new != now.edition and severity):
                begins = not now.severity
                since = at if begins else now.since
                yield call_entry(kind, at, severity, now.severity, since, v.details(i))
            if reason != now.reason:
                event = "blind" if reason else "sees"
                yield Entry(at, "detector", kind, event, {"reason": reason or now.reason})
            now = Said(severity, sight, reason, new, since if severity else float("nan"))
        self.said[kind] = now


def _changes(v: Verdict, before: Said) -> IntArray:
    """Return at which of the moments of the verdict something changes, rising. [-]"""
    if not v.row.size:
        return np.empty(0, np.intp)
    edition = np.zeros(v.row.size, np.intp) if v.edition is None else v.edition
    changes = np.zeros(v.row.size, np.bool_)
    pairs = ((v.severity, before.severity), (v.sight, before.sight), (edition, before.edition))
    for now, was in pairs:
        changes[0] |= now[0] != was
        changes[1:] |= now[1:] != now[:-1]
    return np.flatnonzero(changes)


def _samples(t: FloatArray, v: Verdict, before: Said, changes: IntArray) -> Block:
    """Hold the verdict over the rows: a `Severity`, or NaN and ``NO_REFERENCE`` where blind."""
    severity = np.concatenate(([before.severity], v.severity[changes]))
    sight = np.concatenate(([before.sight], v.sight[changes]))
    hidden = (sight > SEES) & (severity == Severity.NONE)
    value = np.where(hidden, np.nan, severity)
    quality = np.where(hidden, np.uint16(Quality.NO_REFERENCE), np.uint16(0))
    lasts = np.diff(v.row[changes], prepend=0, append=t.size)
    return Block(t, np.repeat(value, lasts), np.repeat(quality, lasts))
