"""Runs the test or drill that is announced, and writes down what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any

import numpy as np

from engine.block import Block, Table, no_quality
from engine.channels import CHANNELS, no_channel
from engine.commands import Issued
from engine.commands_trial import MarkTrial, OverrideTrial, StartTrial
from engine.config_pressures import PressurePair
from engine.detect.bins import MEDIANS, Binner
from engine.detect.call import call_entry
from engine.detect.kinds import TEST_LIMIT, Severity
from engine.errors import InputError
from engine.ops.table import times
from engine.records.journal import Entry, iso
from engine.trials.criteria import complete
from engine.trials.flow_check import FlowCheck
from engine.trials.inflow_test import InflowTest
from engine.trials.kinds import TRIALS
from engine.trials.trial import MET, NOT_MET, Outcome, Trial

HELD_S = 60.0
"""A breach is called for so long after the end, so that no alarm's delay can miss it. [s]"""


@dataclass(frozen=True, slots=True)
class Ended:
    """The newest verdict."""

    trial: str
    began: float
    verdict: str
    who: str
    accepted: bool = False


@dataclass(frozen=True, slots=True)
class Call:
    """How grave a breach is, from when until when."""

    severity: int = Severity.NONE
    until: float = float("inf")
    """[s since 1970-01-01 UTC]"""
    why: tuple[str, ...] = ()
    """The test, and what is beyond its limit."""


@dataclass(slots=True, eq=False)
class Trials:
    """One test or drill at a time. It looks at what the detectors look at and touches nothing.

    Any split of the rows into blocks gives the same entries and calls.
    """

    pairs: Sequence[PressurePair] = ()
    running: Trial | None = None
    by: Issued | None = None
    """Who started it."""
    newest: Ended | None = None
    call: Call = field(default_factory=Call)
    said: int = Severity.NONE
    """What the journal was told last."""
    since: float = nan
    binner: Binner = field(default_factory=Binner)

    def process(self, table: Table) -> tuple[Block, list[Entry]]:
        """Judge one block of rows.

        Parameters
        ----------
        table : mapping
            Every channel of `engine.channels`, shape (n,). [SI]

        Returns
        -------
        call : Block
            A `Severity` for the alarms, shape (n,). [-]
        entries : list of Entry
            Kind ``trial``: ``beyond`` for the first breach of each thing, ``verdict`` at the end.
            Kind ``event``: the call, as those of the detectors.
        """
        t = times(table)
        value, entries = np.zeros(t.size), list[Entry]()
        entries += self._call(value, t, 0)
        if self.running is not None:
            bins = self.binner.process(table)
            columns = {name: bins[name].tolist() for name in MEDIANS}
            for i, (row, end) in enumerate(zip(bins.row.tolist(), bins.t.tolist(), strict=True)):
                trial, at = self.running, float(t[row])
                if trial is None:
                    break
                known = set(trial.breaches)
                trial.step(end, {name: column[i] for name, column in columns.items()})
                entries += self._beyond(trial, known, at)
                if trial.over:
                    entries += self._end(at)
                entries += self._call(value, t, row)
        entries += self._call(value, t, int(t.searchsorted(self.call.until, side="right")))
        return Block(t, value, no_quality(t.size)), entries

    def start(self, issued: Issued, command: StartTrial, off_since: float = nan) -> dict[str, Any]:
        """Start a trial.

        Parameters
        ----------
        issued : Issued
        command : StartTrial
        off_since : float
            When the pumps stopped; NaN if they run or are not known. [s since 1970-01-01 UTC]

        Returns
        -------
        dict
            All criteria for the journal, [SI], or ``refused`` in words.
        """
        if self.running is not None:
            since = iso(self.running.began)
            return {"refused": f"a {self.running.name} is running since {since}; end it first"}
        kind = TRIALS.get(command.trial)
        if kind is None:
            return {"refused": f"no trial {command.trial!r}; give one of {', '.join(TRIALS)}"}
        watch = tuple(dict.fromkeys(command.watch.split()))
        for name in watch:
            if name not in CHANNELS:
                return {"refused": no_channel(name)}
            if name not in MEDIANS:
                return {"refused": f"{name} is not watched in tests; give {', '.join(MEDIANS)}"}
        try:
            limits = complete(command.trial, kind.criteria, command.criteria)
        except InputError as error:
            return {"refused": str(error)}
        trial = kind(limits, issued.at, watch)
        if isinstance(trial, FlowCheck):
            trial.off_since = off_since
        if isinstance(trial, InflowTest):
            trial.pairs = tuple(self.pairs)
        self.running, self.by, self.binner, self.call = trial, issued, Binner(), Call()
        return {"criteria_in_force_si": limits}

    def mark(self, issued: Issued, command: MarkTrial) -> dict[str, Any]:
        """Take a moment that a person marks."""
        if self.running is None:
            return {"refused": "no test or drill is running"}
        why = self.running.mark(command.moment, issued.at)
        return {"refused": why} if why else {"trial": self.running.name}

    def acknowledged(self, at: float) -> None:
        """Somebody acknowledged an alarm: in a drill it is detected."""
        if self.running is not None:
            self.running.mark("detected", at)

    def end(self, at: float) -> tuple[dict[str, Any], list[Entry]]:
        """End what runs, on the word of a person."""
        if self.running is None:
            return {"refused": "no test or drill is running"}, []
        trial, known = self.running, set(self.running.breaches)
        verdict = self._end(at)
        return {"trial": trial.name}, [*self._beyond(trial, known, at), *verdict]

    def override(self, issued: Issued, command: OverrideTrial) -> dict[str, Any]:
        """Accept the newest verdict on the word of two; the verdict stays as it is."""
        one, second, first = self.newest, command.second.strip(), issued.who.strip()
        why = ""
        if self.running is not None:
            why = f"a {self.running.name} is running; end it first"
        elif one is None:
            why = "there is no verdict yet"
        elif one.verdict == MET:
            why = f"the criteria of the {one.trial} were met; there is nothing to override"
        elif one.accepted:
            why = f"the {one.trial} was overridden before"
        elif not command.reason.strip():
            why = "write a reason"
        elif not second or second.casefold() == first.casefold():
            why = "a second person must answer for it: give another name than your own"
        if why or one is None:
            return {"refused": why}
        self.newest = Ended(one.trial, one.began, one.verdict, one.who, accepted=True)
        return {"trial": one.trial, "began": iso(one.began), "verdict": one.verdict}

    def _end(self, at: float) -> list[Entry]:
        trial, by = self.running, self.by
        assert trial is not None
        assert by is not None
        outcome = trial.end(at)
        self.running = self.by = None
        self.newest = Ended(trial.name, trial.began, outcome.verdict, by.who)
        severity = int(trial.severity) if outcome.verdict == NOT_MET else int(Severity.NONE)
        why = (trial.name, *(one.what for one in outcome.breaches))
        self.call = Call(severity, at + HELD_S, why)
        return [Entry(at, "trial", trial.name, "verdict", _told(trial, outcome, by))]

    def _beyond(self, trial: Trial, known: set[str], at: float) -> list[Entry]:
        new = [one for what, one in trial.breaches.items() if what not in known]
        if self.running is trial:
            severity = int(trial.severity) if trial.breaches else int(Severity.NONE)
            self.call = Call(severity, why=(trial.name, *trial.breaches))
        return [Entry(at, "trial", trial.name, "beyond", one.as_json()) for one in new]

    def _call(self, value: np.ndarray, t: np.ndarray, row: int) -> list[Entry]:
        """Hold the call from `row` on, and say where it changes."""
        if row >= t.size:
            return []
        value[row:] = np.where(t[row:] <= self.call.until, float(self.call.severity), 0.0)
        at, now, before = float(t[row]), int(value[row]), self.said
        if now == before:
            return []
        self.since = self.since if now and before else at if now else self.since
        evidence = {"volume_m3": None, "witnesses": list(self.call.why)}
        self.said = now
        return [call_entry(TEST_LIMIT, at, now, before, self.since, evidence)]


def _told(trial: Trial, outcome: Outcome, by: Issued) -> dict[str, Any]:
    command = by.command
    assert isinstance(command, StartTrial)
    read = {name: one.as_json(name) for name, one in trial.seen.items() if one.known}
    return {
        "began": iso(trial.began),
        "counted_from": iso(trial.clock) if isfinite(trial.clock) else None,
        "seconds": round(outcome.seconds, 3),
        "by": by.who,
        "what": command.what,
        "verdict": outcome.verdict,
        "breaches": [one.as_json() for one in outcome.breaches],
        "why": list(outcome.why),
        "criteria_si": dict(trial.limits),
        "numbers": dict(outcome.numbers),
        "channels": read,
        "not_read": [name for name, one in trial.seen.items() if not one.known],
    }
