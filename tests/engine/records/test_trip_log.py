"""The trip sheet of a recording, from hand-made rows worked out by the live sheet."""

from __future__ import annotations

import numpy as np
import pytest

from engine.alarms.entries import command_entry
from engine.block import Block, Quality
from engine.commands import DeclareTrip, Issued
from engine.config import WellConfig
from engine.ops.trip_fill import TripFill
from engine.records.journal import Journal
from engine.records.trip_log import TripStand, trip_stands
from engine.records.trip_text import as_json, trip_summary, trip_text
from engine.units import BBL
from engine.well.answer import Unknown
from engine.well.trip_sheet import Entry, trip_sheet
from tests.connection_rows import joined, later
from tests.tables import NAN, T0, cut
from tests.trip_rows import BEFORE, DRY, STAND, at_slips, end_of, of, sheet, trip

Table = dict[str, Block]


def log_of(table: Table, config: WellConfig | None = None) -> tuple[TripStand, ...]:
    config = config or of()
    return trip_stands(table | sheet(table, config), config)


def there_and_back() -> Table:
    """Return four stands out, taking 0.41 bbl each, and three in again."""
    out = trip(4, lambda _: 0.41 * BBL)
    level = float(out["trip_tank_volume"].value[-1])
    back = trip(3, lambda _: -DRY, way=-1, bit=2397.0 - 4 * STAND, level=level)
    slips = back["in_slips"]
    hung = np.where(np.arange(len(slips)) < BEFORE, 1.0, slips.value)
    back["in_slips"] = Block(slips.t, hung, slips.quality)
    return joined(out, later(back, float(len(out["bit_depth"]))))


def test_it_adds_up_as_the_trip_sheet_of_the_office_does() -> None:
    """Against `engine.well.trip_sheet.trip_sheet`, given the same fills."""
    log = log_of(there_and_back())
    fills = [Entry(1, DRY, 0.41 * BBL)] * 4 + [Entry(1, DRY, DRY, "in")] * 3
    assert [one.way for one in log] == [fill.way for fill in fills]
    assert [one.number for one in log] == [1, 2, 3, 4, 1, 2, 3]
    for one, row in zip(log, trip_sheet(fills), strict=True):
        assert one.expected == pytest.approx(row.entry.expected, abs=1e-9)
        assert one.actual == pytest.approx(row.entry.actual, abs=1e-9)
        assert one.difference == pytest.approx(row.difference, abs=1e-9)
        assert one.total_expected == pytest.approx(row.total_expected, abs=1e-9)
        assert one.total_actual == pytest.approx(row.total_actual, abs=1e-9)
        assert one.total_difference == pytest.approx(row.total_difference, abs=1e-9)
        assert (one.trip, one.method, one.overdue, one.partial) == (1, "trip tank", False, False)
    assert [one.bit_depth for one in log[:2]] == pytest.approx([2397.0 - STAND, 2397.0 - 2 * STAND])
    assert log[0].at - T0 == end_of(1)
    assert {one.pipe for one in log[:4]} == {"dry"}
    assert {one.pipe for one in log[4:]} == {"open"}


def test_wet_from_the_moment_it_was_declared() -> None:
    """SC-13: 2.40 bbl a stand from then on, less what is recovered."""
    table, op, at = trip(4, lambda _: DRY), TripFill(of()), end_of(2) + 1
    first = op.process(cut(table, 0, at))
    op.declare(0.5, 0)
    second = op.process(cut(table, at, len(table["bit_depth"])))
    filled = table | {
        name: Block(*(np.concatenate([getattr(p[name], f) for p in (first, second)])
                      for f in ("t", "value", "quality")))
        for name in first
    }  # fmt: skip
    declared = Issued(T0 + at, DeclareTrip(True, 0.5, 0, "float leaks"), "Ines", "doghouse")
    refused = Issued(T0 + at + 1.0, DeclareTrip(False, 0.5), "Ines", "doghouse")
    journal = Journal()
    lines = journal.write([command_entry(declared), command_entry(refused, {"refused": "no"})])
    log = trip_stands(filled, of(), lines)
    assert [one.pipe for one in log] == ["dry", "dry", *["wet, 50% recovered"] * 2]
    assert [one.expected for one in log] == pytest.approx(
        [DRY, DRY, *[(0.74 + 0.83) * BBL] * 2], abs=1e-9
    )


def test_a_stand_whose_fill_was_not_measured_says_why_and_the_next_one_too() -> None:
    table = trip(5, lambda _: 0.41 * BBL)
    level = table["trip_tank_volume"]
    value, bits = level.value.copy(), level.quality.copy()
    away = slice(at_slips(2) + 5, at_slips(3))
    value[away], bits[away] = NAN, int(Quality.STALE)
    log = log_of(table | {"trip_tank_volume": Block(level.t, value, bits)})
    assert log[1].actual == Unknown("stale")
    assert log[1].method == "not measured"
    assert log[2].actual == Unknown("the fill before it was not measured")
    assert log[2].total_actual == pytest.approx(3 * 0.41 * BBL, abs=1e-9)
    assert log[3].actual == pytest.approx(0.41 * BBL, abs=1e-9)


def test_an_overdue_fill_is_marked() -> None:
    """SC-22: programme every three stands; they fill after the fifth."""
    table = trip(6, lambda i: 6 * DRY if i == 6 else 0.0)
    log = log_of(table, of(programme_stands=3))
    assert [one.overdue for one in log] == [False, False, True, True, True, False]


def test_the_page_and_the_values_say_the_same_in_the_units_of_the_well() -> None:
    config = of().model_copy(update={"display": "oilfield", "synthetic": True})
    log = log_of(there_and_back())
    page = trip_text(log, config)
    lines = page.splitlines()
    assert "SYNTHETIC DATA" in lines[0]
    assert all(len(line) <= 80 for line in lines)
    row = next(line for line in lines if line.startswith("20:40:24"))
    assert row.split() == ["20:40:24", "4", "7490.2", "0.74", "0.41", "0.33", "1.32", "dry"]
    assert any(line.startswith("TRIP 1, INTO THE HOLE, from 2026-05-28 20:4") for line in lines)
    assert trip_summary(log, config) == [
        "trip 1 out: 4 stands, total short of expected: 1.3 bbl",
        "trip 1 in: 3 stands, total short of expected: 1.3 bbl",
    ]
    values = as_json(log, config, "x.kdrec")
    assert len(values["stands"]) == 7
    fourth = values["stands"][3]
    assert (fourth["stand"], fourth["way"], fourth["pipe"]) == (4, "out", "dry")
    assert fourth["total_difference_m3"] == pytest.approx(4 * 0.33 * BBL, abs=1e-6)
    assert "no trip was recorded" in trip_text((), config)
