"""Trip sheet: what each fill should have been, what it was, and how far the two are apart. SI.

A difference is positive on the side of an influx: the hole took less than the steel that left
it, or gave back more than the steel that went in. It is kept for each line and from the start.

References
----------
.. [1] Hydrostatic pressure decrease when pulling out,
   www.drillingformulas.com/hydrostatic-pressure-decrease-when-pooh/ : expected fill.
.. [2] 30 CFR 250.456(c): the fill is measured.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Literal

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import not_negative, number, positive
from engine.well.trip import displaced, fill_volume

Way = Literal["out", "in"]
"""Pulling out of the hole, or running in."""
Bore = Literal["dry", "wet", "closed"]
"""Dry: open, it drains and fills. Wet: its mud leaves with the pipe. Closed: a float or plug."""


def expected(length: float, steel: float, bore: float, way: Way, state: Bore) -> Answer:
    """Fill (out) or return (in) that a length of pipe should make. [m3]

    Parameters
    ----------
    length : float
        Pulled or run. [m]
    steel, bore : float
        Open-end displacement and bore capacity. [m3/m]
    way : {"out", "in"}
        Direction.
    state : {"dry", "wet", "closed"}
        Out: steel when dry; steel and bore when wet or closed. In: steel when the pipe fills
        by itself, steel and bore when a float keeps it empty; "wet" says nothing there and
        counts as dry.

    Returns
    -------
    float or Unknown
        [m3]
    """
    shut = state == "closed" or (state == "wet" and way == "out")
    return expected_part(length, steel, bore, float(shut))


def expected_part(length: float, steel: float, bore: float, spilled: float) -> Answer:
    """Fill for pipe of which a share `spilled` [-] of the bore's mud is lost [1]_. [m3]

    Parameters
    ----------
    length : float
        [m]
    steel, bore : float
        [m3/m]
    spilled : float
        0 dry, 1 wet; between them with a mud bucket. [-]
    """
    taken = displaced(steel, bore, spilled)
    return taken if isinstance(taken, Unknown) else fill_volume(length, taken)


def by_trip_tank(before: float, after: float, way: Way, added: float = 0.0) -> Answer:
    """Measured fill or return from two levels of the trip tank. [m3]

    Parameters
    ----------
    before, after : float
        Volume in the tank; NaN or negative is no reading. [m3]
    way : {"out", "in"}
        Out: the tank falls by the fill. In: it rises by the return.
    added : float
        Put into the tank meanwhile (a refill, a transfer); negative: taken out. [m3]

    Returns
    -------
    float or Unknown
        [m3] Negative when the hole gave instead of taking, and the other way round: that is
        an alarm and never clipped.
    """
    if bad := not_negative(trip_tank_before=before, trip_tank_after=after):
        return bad
    if bad := number(volume_added=added):
        return bad
    return before + added - after if way == "out" else after - before - added


def by_strokes(strokes: float, per_stroke: float) -> Answer:
    """Measured fill from the strokes of the pump that fills the hole. [m3]

    Parameters
    ----------
    strokes : float
        Counted until returns were seen. [-]
    per_stroke : float
        Output for each stroke. [m3]
    """
    if bad := not_negative(strokes=strokes) or positive(volume_per_stroke=per_stroke):
        return bad
    return finite(strokes * per_stroke, "the strokes are unknown")


@dataclass(frozen=True, slots=True)
class Entry:
    """One fill as it happened: after one stand or several."""

    stands: int
    """Pulled or run since the last fill. [-]"""
    expected: Answer
    """[m3]"""
    actual: Answer
    """Measured. [m3]"""
    way: Way = "out"
    note: str = ""
    """Wet or dry, method, who."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the trip sheet."""

    stands: int
    """Since the start, out and in alike. [-]"""
    entry: Entry
    difference: Answer
    """Positive on the side of an influx. [m3]"""
    total_expected: Answer
    """Since the start of this way, out or in. [m3]"""
    total_actual: Answer
    """Since the start of this way. [m3]"""
    total_difference: Answer
    """Since the start of the sheet, out and in. [m3]"""


def trip_sheet(entries: Sequence[Entry]) -> tuple[Row, ...]:
    """Add the fills of a trip up.

    Parameters
    ----------
    entries : sequence of Entry
        In order of time.

    Returns
    -------
    tuple of Row
        A fill that was not measured leaves every total after it unknown, with its reason: a
        gap is not a zero. The difference of each later line is known again.
    """
    rows: list[Row] = []
    stands = 0
    way: Way | None = None
    want: Answer = 0.0
    got: Answer = 0.0
    apart: Answer = 0.0
    for entry in entries:
        if entry.way != way:
            way, want, got = entry.way, 0.0, 0.0
        before, stands = stands, stands + entry.stands
        span = f"stands {before + 1} to {stands}" if entry.stands > 1 else f"stand {stands}"
        own = difference(entry.expected, entry.actual, entry.way)
        want = _plus(want, entry.expected, span)
        got = _plus(got, entry.actual, span)
        apart = _plus(apart, own, span)
        rows.append(Row(stands, entry, own, want, got, apart))
    return tuple(rows)


def difference(want: Answer, got: Answer, way: Way) -> Answer:
    """Difference on the side of an influx: expected less fill, or return less expected. [m3]"""
    if isinstance(want, Unknown):
        return want
    if isinstance(got, Unknown):
        return got
    if not (isfinite(want) and isfinite(got)):
        return Unknown("a fill is no number")
    return want - got if way == "out" else got - want


def _plus(total: Answer, more: Answer, span: str) -> Answer:
    if isinstance(total, Unknown):
        return total
    return Unknown(f"{span}: {more.reason}") if isinstance(more, Unknown) else total + more


def _fill(v: Mapping[str, float]) -> dict[str, Answer]:
    want = expected_part(v["stand"], v["steel"], v["bore"], v["spilled"])
    total = want if isinstance(want, Unknown) else fill_volume(v["stands"], want)
    return {
        "each": want,
        "total": total,
        "difference": difference(total, v["actual"], "out"),
    }


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "trip-fill",
        "expected fill for stands pulled, and how far the measured fill is short of it",
        (
            Input("stands", "count", "stands pulled", low=0.0),
            Input("stand", "length", "length of a stand", low=0.0),
            Input("steel", "capacity", "open-end displacement of the pipe", low=0.0),
            Input("bore", "capacity", "bore capacity of the pipe", 0.0, 0.0),
            Input("spilled", "ratio", "share of the bore lost: 0 dry, 1 wet or closed", 0, 0, 1),
            Input("actual", "volume", "measured fill"),
        ),
        (
            Output("each", "volume", "expected fill for each stand"),
            Output("total", "volume", "expected fill"),
            Output("difference", "volume", "short by; positive on the side of an influx"),
        ),
        "www.drillingformulas.com, hydrostatic pressure decrease when pulling out",
        _fill,
        caution=True,
    ),
)
