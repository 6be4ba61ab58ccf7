"""The trip sheet of a recording as a page to read or print, and as JSON values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from engine.config import WellConfig
from engine.records.connection_text import clock_time, head_of, indented
from engine.records.connection_tours import number_of
from engine.records.journal import iso
from engine.records.trip_log import TripStand
from engine.records.words import amount
from engine.units import UNITS
from engine.well.answer import Answer, Unknown

VOLUMES = ("expected", "actual", "difference", "total_expected", "total_actual", "total_difference")
"""Fields of a line, in m3."""


def trip_text(log: Sequence[TripStand], config: WellConfig) -> str:
    """Return every stand of every trip: what the hole should have taken, and what it took."""
    units = config.display_units()
    symbol = UNITS[units["volume"]].symbol
    page = [head_of("TRIP SHEET", config)]
    if not log:
        return "\n".join([*page, "no trip was recorded"]) + "\n"
    page += [
        f"times are UTC, volumes in {symbol}",
        "SHORT and TOTAL, since the trip began, are positive on the side of an influx",
    ]
    for before, one in zip([None, *log], log, strict=False):
        if before is None or (before.trip, before.way) != (one.trip, one.way):
            page += ["", *_head(one, units)]
        page += _lines(one, before, units)
    return "\n".join(page) + "\n"


def _head(one: TripStand, units: Mapping[str, str]) -> list[str]:
    way = "OUT OF THE HOLE" if one.way == "out" else "INTO THE HOLE"
    symbol = UNITS[units["length"]].symbol
    return [
        f"TRIP {one.trip}, {way}, from {clock_time(one.at)}",
        f"{'TIME':9}{'STAND':>5}{'BIT ' + symbol:>9}{'EXPECTED':>10}{'ACTUAL':>8}{'SHORT':>8}"
        f"{'TOTAL':>8}  PIPE",
    ]


def _lines(one: TripStand, before: TripStand | None, units: Mapping[str, str]) -> list[str]:
    length = UNITS[units["length"]]
    row = (
        f"{iso(one.at)[11:19]:9}{one.number:>5}{length.from_si(one.bit_depth):>9.1f}"
        f"{_volume(one.expected, units):>10}{_volume(one.actual, units):>8}"
        f"{_volume(one.difference, units):>8}{_volume(one.total_difference, units):>8}"
        f"  {one.pipe}"
    )
    notes = []
    if before is None or before.method != one.method:
        notes.append(f"measured by: {one.method}")
    if one.overdue:
        notes.append("FILL OVERDUE")
    if one.partial and not (before and before.trip == one.trip and before.partial):
        notes.append("from here on the total leaves out fills that were not measured")
    for name in ("expected", "actual"):
        answer: Answer = getattr(one, name)
        if isinstance(answer, Unknown):
            notes.append(f"{name} not known: {answer.reason}")
    return [row, *(line for note in notes for line in indented(note))]


def _volume(answer: Answer, units: Mapping[str, str]) -> str:
    """Return a volume with one decimal more than usual: a stand takes little."""
    if isinstance(answer, Unknown):
        return "-"
    unit = UNITS[units["volume"]]
    digits = unit.decimals + 1
    return f"{round(unit.from_si(answer), digits) + 0.0:.{digits}f}"  # no -0.00


def trip_summary(log: Sequence[TripStand], config: WellConfig) -> list[str]:
    """Return what each way of each trip came to, one line each."""
    units = config.display_units()
    last = {(one.trip, one.way): one for one in log}
    lines = []
    for (trip, way), one in last.items():
        total = one.total_difference
        short = total.reason if isinstance(total, Unknown) else amount(total, "m3", units)
        lines.append(f"trip {trip} {way}: {one.number} stands, total short of expected: {short}")
    return lines


def as_json(log: Sequence[TripStand], config: WellConfig, recording: str) -> dict[str, Any]:
    """Return the sheet as JSON values: times ISO 8601 UTC, SI with the unit in the key.

    None is what is not known; ``unknown`` says why.
    """
    return {
        "recording": recording,
        "well": config.well,
        "synthetic": config.synthetic,
        "stands": [_stand(one) for one in log],
    }


def _stand(one: TripStand) -> dict[str, Any]:
    volumes: dict[str, Answer] = {name: getattr(one, name) for name in VOLUMES}
    return {
        "trip": one.trip,
        "stand": one.number,
        "way": one.way,
        "at": iso(one.at),
        "bit_depth_m": round(one.bit_depth, 3),
        **{f"{name}_m3": number_of(answer, 6) for name, answer in volumes.items()},
        "pipe": one.pipe,
        "method": one.method,
        "overdue": one.overdue,
        "partial": one.partial,
        "unknown": {name: a.reason for name, a in volumes.items() if isinstance(a, Unknown)},
    }
