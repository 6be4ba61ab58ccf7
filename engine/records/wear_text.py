"""Wear of pumps and line, and the crown check, as a page and as JSON values."""

from __future__ import annotations

from typing import Any

from engine.config import WellConfig
from engine.records.connection_text import clock_time, head_of, indented
from engine.records.connection_tours import number_of
from engine.records.journal import iso
from engine.records.stand_text import said
from engine.records.upkeep import Due, Entered
from engine.records.wear import WHOLE, Count, LineWear, Wear
from engine.records.words import amount
from engine.units import HOUR
from engine.well.answer import Answer, Unknown
from engine.well.drilling_line import Due as LineDue


def wear_text(found: Wear, due: Due | None, config: WellConfig) -> str:
    """Return pumps, line and crown check as a page of at most 80 columns; times are UTC."""
    page = [head_of("WEAR", config)]
    if found.now is None:
        return "\n".join([*page, "nothing was recorded"]) + "\n"
    page += [f"at {clock_time(found.now)} UTC", "", *_crown(found.upkeep.check, due), ""]
    page.append(f"{'PUMP':8}{'SINCE':20}{'HOURS':>8}{'STROKES':>10}  {'UNKNOWN':>9}  COUNTED FROM")
    for name, counts in found.pumps.items():
        page += [_pump(name, one) for one in counts]
    page += ["", *_line(found.line, found, config)]
    return "\n".join(page) + "\n"


def _crown(check: Entered | None, due: Due | None) -> list[str]:
    signed = "no check is signed in this recording"
    if check is not None:
        signed = f"last check {clock_time(check.at)} UTC by {check.who}"
    if due is None:
        return [f"crown check in order: {signed}"]
    return [f"CROWN CHECK DUE: {due.reason}", *indented(signed)]


def _pump(name: str, one: Count) -> str:
    start = "the recording" if one.what == WHOLE else f"{one.what}, marked by {one.who}"
    return (
        f"{name:8}{clock_time(one.since):20}{one.stroking / HOUR:>8.2f}{one.strokes:>10.0f}"
        f"  {one.unknown / HOUR:>7.2f} h  {start}"
    )


def _line(line: LineWear, found: Wear, config: WellConfig) -> list[str]:
    units = config.display_units()
    cut, plan = found.upkeep.cut, config.line
    start = "the start of the recording"
    if cut is not None:
        start = f"the cut of {clock_time(cut.at)} UTC, {amount(cut.cut, 'm', units)} by {cut.who}"
    mark = ", a part of it estimated" if line.estimated else ""
    lines = indented(f"LINE: {_or_why(line.seen, 'J', units)} since {start}{mark}")
    lines += indented(f"since the last cut: {_or_why(line.done, 'J', units)}")
    if plan is None:
        return [*lines, *indented(_why(line.used))]
    goal = amount(plan.goal, "J", units)
    share = "" if isinstance(line.used, Unknown) else f"{line.used:.0%} of "
    left = said(line.left, "J", units)
    lines += indented(f"programme: {share}{goal} between cuts, {left} left")
    state = line.due.reason if isinstance(line.due, Unknown) else line.due.value
    lines += indented(f"{'LINE DUE: ' if line.due is LineDue.NOW else ''}{state}")
    lengths = [
        f"{word} {amount(value, 'm', units)}"
        for word, value in (("slip", plan.slip), ("cut", plan.cut))
        if value is not None
    ]
    if lengths:
        laps = "" if isinstance(line.cut, Unknown) else f", {line.cut:.2f} laps of the drum"
        lines += indented(f"each time: {', '.join(lengths)}{laps}")
    if line.cut_fault:
        lines += indented(f"CUT: {line.cut_fault}")
    return lines


def _or_why(answer: Answer, unit_id: str, units: dict[str, str]) -> str:
    return _why(answer) if isinstance(answer, Unknown) else amount(answer, unit_id, units)


def _why(answer: Answer) -> str:
    return f"unknown: {answer.reason}" if isinstance(answer, Unknown) else ""


def as_json(found: Wear, due: Due | None, config: WellConfig, recording: str) -> dict[str, Any]:
    """Return wear and crown check as JSON values: times ISO 8601 UTC, SI with the unit in the key.

    None is what is not known; ``unknown`` of the line says why. Keys: recording, well, synthetic,
    now, crown_check (due, since, reason, signed, signed_by), pumps (pump, counted_from, since,
    by, hours_s, unknown_s, strokes), line (since, seen_J, done_J, estimated, goal_J, used, left_J,
    due, cut_laps, cut_fault, unknown), slip (at, who, length_m, cut_m; None without one).
    """
    check, slip, line = found.upkeep.check, found.upkeep.slip, found.line
    answers: dict[str, Answer] = {
        "seen_J": line.seen, "done_J": line.done, "used": line.used, "left_J": line.left,
        "cut_laps": line.cut,
    }  # fmt: skip
    return {
        "recording": recording,
        "well": config.well,
        "synthetic": config.synthetic,
        "now": None if found.now is None else iso(found.now),
        "crown_check": {
            "due": due is not None,
            "since": None if due is None else iso(due.since),
            "reason": None if due is None else due.reason,
            "signed": None if check is None else iso(check.at),
            "signed_by": None if check is None else check.who,
        },
        "pumps": [
            {
                "pump": name,
                "counted_from": one.what,
                "since": iso(one.since),
                "by": one.who,
                "hours_s": round(one.stroking, 3),
                "unknown_s": round(one.unknown, 3),
                "strokes": round(one.strokes, 1),
            }
            for name, counts in found.pumps.items()
            for one in counts
        ],
        "line": {
            "since": None if line.since is None else iso(line.since),
            **{name: number_of(answer, 6) for name, answer in answers.items()},
            "estimated": line.estimated,
            "goal_J": None if config.line is None else config.line.goal,
            "due": None if isinstance(line.due, Unknown) else line.due.name.lower(),
            "cut_fault": line.cut_fault,
            "unknown": {name: a.reason for name, a in answers.items() if isinstance(a, Unknown)},
        },
        "slip": None
        if slip is None
        else {
            "at": iso(slip.at), "who": slip.who, "length_m": slip.length, "cut_m": slip.cut
        },
    }  # fmt: skip
