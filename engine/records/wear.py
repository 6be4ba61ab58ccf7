"""What pumps and drilling line have done since somebody entered that they were renewed.

A recording knows its own time only. What was done before it is counted where the well file says
so, and never guessed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import pi

import numpy as np

from engine.block import BAD, Quality, Table
from engine.config import WellConfig
from engine.interfaces import Recording
from engine.ops.flow import PUMP_RATES
from engine.ops.table import pick, times
from engine.records.in_spans import in_spans
from engine.records.upkeep import Entered, Upkeep
from engine.well.answer import Answer, Unknown
from engine.well.drilling_line import Due, SlipAndCut
from engine.well.pumps import STROKING, pump_hours

LONGEST = 5.0
"""A rate counts until the next one, but no longer: see `pump_hours`. [s]"""
SPAN_S = 6 * 3600.0
"""Rows read at once; any span gives the same. [s]"""
WHOLE = "recording"
"""What hours count from where nothing was marked: the start of the recording."""
NOT_BEFORE = Unknown("not known before the recording: under [line], done_tkm")
NO_WORK = Unknown("the recording has no line work")


@dataclass(frozen=True, slots=True)
class Count:
    """What a pump has done since one mark."""

    what: str
    """What was renewed, or `WHOLE`."""
    since: float
    """[s since 1970-01-01 UTC]"""
    who: str
    """Who marked it; empty for the whole recording."""
    stroking: float
    """[s]"""
    unknown: float
    """Time without a stroke rate: it may have stroked. [s]"""
    strokes: float
    """In the time it is known to have stroked. [-]"""


@dataclass(frozen=True, slots=True)
class LineWear:
    """The drilling line since its last cut."""

    since: float | None
    """The cut, or the start of the recording; None: nothing was recorded. [s]"""
    seen: Answer
    """Work since then that the recording saw. [J]"""
    done: Answer
    """Work since the last cut. [J] Unknown if the cut was before the recording and the well file
    does not say what had been done by then."""
    estimated: bool
    """A part of it was worked out with the expected in place of the measured hook load."""
    used: Answer
    """Share of the limit. [-]"""
    left: Answer
    """[J]"""
    due: Due | Unknown
    """By the work; where that is not known, by what was seen of it if that is enough alone."""
    cut: Answer
    """Laps of the drum that the programme cuts. [-]"""
    cut_fault: str
    """What is wrong with them, empty if nothing is."""


@dataclass(frozen=True, slots=True)
class Wear:
    """Pumps and line at the end of a recording."""

    now: float | None
    """The newest row, journal line or heartbeat. [s since 1970-01-01 UTC]"""
    pumps: Mapping[str, tuple[Count, ...]]
    """Pump of the well file to its counts: the recording, then mark by mark."""
    line: LineWear
    upkeep: Upkeep


def wear(recording: Recording, config: WellConfig) -> Wear:
    """Work out the wear at the end of a recording; it is only read."""
    lines, span, status = recording.journal(), recording.span(), recording.status()
    upkeep = Upkeep().take(lines)
    ends = [span[1]] if span else []
    ends += [line.at for line in lines[-1:]] + ([status.data] if status else [])
    counts = {
        pump.name: [_Counting(channel, what, since)
                    for what, since in _marks(upkeep, pump.name, span)]
        for pump, channel in zip(config.pumps, PUMP_RATES, strict=False)
    }  # fmt: skip
    work = _Work(span[0] if span and upkeep.cut is None else _at(upkeep))
    for table in _tables(recording):
        work.take(table)
        for one in (one for pump in counts.values() for one in pump):
            one.take(table)
    pumps = {name: tuple(one.count() for one in found) for name, found in counts.items()}
    return Wear(max(ends, default=None), pumps, _line(work, upkeep, config), upkeep)


def _at(upkeep: Upkeep) -> float | None:
    return None if upkeep.cut is None else upkeep.cut.at


def _marks(
    upkeep: Upkeep, pump: str, span: tuple[float, float] | None
) -> Iterator[tuple[str, Entered]]:
    if span is not None:
        yield WHOLE, Entered(span[0], "")
    for (name, what), entered in sorted(upkeep.marks.items(), key=lambda one: one[1].at):
        if name == pump:
            yield what, entered


def _tables(recording: Recording) -> Iterator[Table]:
    held = [c for c in ("line_work", *PUMP_RATES) if c in recording.channels()]
    if held:
        yield from in_spans(recording, SPAN_S, held)


@dataclass(slots=True)
class _Counting:
    """Adds up one pump since one mark, table by table."""

    channel: str
    what: str
    since: Entered
    stroking: float = 0.0
    unknown: float = 0.0
    strokes: float = 0.0
    last: tuple[float, float] | None = None
    """Time [s] and rate [1/s] of the newest row taken."""

    def take(self, table: Table) -> None:
        t, rate = times(table), pick(table, self.channel).usable()
        if self.last is not None:
            t, rate = np.append(self.last[0], t), np.append(self.last[1], rate)
        self.last = float(t[-1]), float(rate[-1])
        # The row before the mark counts from the mark on.
        first = max(int(np.searchsorted(t, self.since.at, side="right")) - 1, 0)
        t, rate = np.maximum(t[first:], self.since.at), rate[first:]
        hours = pump_hours(t, rate, LONGEST)
        self.stroking += hours.stroking
        self.unknown += hours.unknown
        span, before = np.minimum(np.diff(t), LONGEST), rate[:-1]
        turns = before > STROKING
        self.strokes += float((before[turns] * span[turns]).sum())

    def count(self) -> Count:
        entered = self.since
        return Count(self.what, entered.at, entered.who, self.stroking, self.unknown, self.strokes)


@dataclass(slots=True)
class _Work:
    """Finds the line work at a moment and at the end, table by table."""

    since: float | None
    begin: float = float("nan")
    """Newest known up to `since`; if none, the first one after it. [J]"""
    end: float = float("nan")
    estimated: bool = False
    """In any row after `since`."""

    def take(self, table: Table) -> None:
        block = pick(table, "line_work")
        # A held sum is a sum: only what has no number is not known.
        known = ~np.isnan(block.value) & ((block.quality & np.uint16(BAD)) == 0)
        t, value = block.t[known], block.value[known]
        if self.since is None or not t.size:
            return
        before = int(np.searchsorted(t, self.since, side="right"))
        if before:
            self.begin = float(value[before - 1])
        elif np.isnan(self.begin):
            self.begin = float(value[0])
        partial = (block.quality[known][before:] & np.uint16(Quality.PARTIAL)) != 0
        self.estimated |= bool(partial.any())
        self.end = float(value[-1])

    def seen(self) -> Answer:
        found = self.end - self.begin
        return NO_WORK if np.isnan(found) else found


def _line(work: _Work, upkeep: Upkeep, config: WellConfig) -> LineWear:
    plan = config.line
    seen = work.seen()
    before: Answer = 0.0
    if upkeep.cut is None:
        before = NOT_BEFORE if plan is None or plan.done is None else plan.done
    done: Answer
    if isinstance(before, Unknown) or isinstance(seen, Unknown):
        done = before if isinstance(before, Unknown) else seen
    else:
        done = before + seen
    if plan is None:
        no = Unknown("no programme in the well file: a [line] table with goal_tkm")
        return LineWear(work.since, seen, done, work.estimated, no, no, no, no, "")
    programme = SlipAndCut(plan.goal, plan.drum or 0.0)
    due = programme.due(done)
    if isinstance(due, Unknown) and programme.due(seen) is Due.NOW:
        due = Due.NOW  # what was seen is the least that was done
    laps, fault = _laps(config)
    return LineWear(
        work.since, seen, done, work.estimated, programme.used(done), programme.left(done), due,
        laps, fault,
    )  # fmt: skip


def _laps(config: WellConfig) -> tuple[Answer, str]:
    """Return how many laps of the drum the programme cuts, and what is wrong with them."""
    plan = config.line
    if plan is None or plan.cut is None or plan.drum is None:
        return Unknown("the well file needs cut_m and drum_m under [line]"), ""
    laps = plan.cut / (pi * plan.drum)
    length = SlipAndCut(plan.goal, plan.drum).cut(laps)
    return laps, length.reason if isinstance(length, Unknown) else ""
