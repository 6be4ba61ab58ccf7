"""Pump hours, strokes and line work since what was entered, on rows made by hand.

A ton-kilometre is 1000 kgf over a kilometre; the programme's shares are those of
engine.well.drilling_line (common practice, no source).
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.commands import Command, CrownCheck, Issued, MarkPump, SlipLine
from engine.config import WellConfig
from engine.engine import Engine
from engine.records.journal import Entry
from engine.records.upkeep import Due as CrownDue
from engine.records.wear import WHOLE, Count, LineWear, Wear, wear
from engine.records.wear_text import as_json, wear_text
from engine.units import UNITS
from engine.well.answer import Unknown
from engine.well.drilling_line import Due
from tests.helpers import FakeRecording
from tests.tables import NAN, T0, table_of, well

TKM = UNITS["tkm"].factor
N = 3601
CONFIG = well()


def recording(
    *given: tuple[float, Command], config: WellConfig = CONFIG, **columns: Any
) -> FakeRecording:
    """Return an hour of 1 s rows, pump 1 at 60 strokes a minute, 10 t km of work an hour."""
    base = {"pump_1_rate": 1.0, "pump_2_rate": 0.0, "line_work": np.arange(N) * 10 * TKM / 3600}
    found = FakeRecording(table_of(N, **(base | columns)))
    engine = Engine(config, Entry(T0, "watch", "w", "start"))
    for second, command in given:
        found.lines += engine.take([Issued(T0 + second, command, "Ines", "doghouse")])[1]
    return found


def pumps(found: Wear, name: str = "1") -> list[Count]:
    return list(found.pumps[name])


def line(*given: tuple[float, Command], **tables: Any) -> LineWear:
    columns = tables.pop("columns", {})
    config = well(**tables)
    return wear(recording(*given, config=config, **columns), config).line


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def test_hours_and_strokes_of_each_pump_are_counted_over_the_recording() -> None:
    found = wear(recording(), CONFIG)
    (one,), (two,) = pumps(found, "1"), pumps(found, "2")
    assert (one.what, one.since, one.stroking, one.strokes) == (WHOLE, T0, 3600.0, 3600.0)
    assert (two.stroking, two.unknown, two.strokes) == (0.0, 0.0, 0.0)


def test_a_new_liner_counts_from_its_mark() -> None:
    """Marked at 2000.5 s, between two rows: 1599.5 s are left of the hour."""
    marks = ((600.0, MarkPump("1", "liner")), (2000.5, MarkPump("1", "liner")),
             (3000.0, MarkPump("1", "swab")))  # fmt: skip
    whole, liner, swab = pumps(wear(recording(*marks), CONFIG))
    assert whole.stroking == 3600.0
    assert (liner.what, liner.who, liner.stroking) == ("liner", "Ines", 1599.5)
    assert liner.strokes == pytest.approx(1599.5)
    assert (swab.what, swab.stroking) == ("swab", 600.0)
    assert len(pumps(wear(recording(*marks), CONFIG), "2")) == 1


def test_time_without_a_stroke_rate_is_unknown_and_not_zero() -> None:
    rate = np.where((np.arange(N) >= 1000) & (np.arange(N) < 1600), NAN, 1.0)
    (one,) = pumps(wear(recording(pump_1_rate=rate), CONFIG))
    assert (one.stroking, one.unknown, one.strokes) == (3000.0, 600.0, 3000.0)


def test_how_it_is_read_makes_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    given = ((2000.5, MarkPump("1", "liner")), (1999.9, SlipLine(12.0, 24.0)))
    rate = 1.0 + np.arange(N) / 1000.0
    whole = wear(recording(*given, pump_1_rate=rate), CONFIG)
    for span in (1.0, 333.0, 2000.0, 2000.2, 3599.0):
        monkeypatch.setattr("engine.records.wear.SPAN_S", span)
        found = wear(recording(*given, pump_1_rate=rate), CONFIG)
        assert found.line == whole.line
        for a, b in zip(pumps(found), pumps(whole), strict=True):
            assert (a.stroking, a.strokes) == pytest.approx((b.stroking, b.strokes))


def test_line_work_counts_from_the_last_cut_and_not_from_a_slip() -> None:
    cut, slip = SlipLine(12.0, 24.0), SlipLine(12.0)
    found = line((1800.0, cut), (2700.0, slip), line={"goal_tkm": 50.0, "done_tkm": 40.0})
    assert found.since == T0 + 1800
    assert found.done == found.seen == pytest.approx(5.0 * TKM)
    assert found.used == pytest.approx(0.1)
    assert found.due is Due.NOTHING


def test_without_a_cut_what_was_done_before_comes_from_the_well_file() -> None:
    found = line(line={"goal_tkm": 50.0, "done_tkm": 33.0})
    assert found.done == pytest.approx(43.0 * TKM)
    assert found.left == pytest.approx(7.0 * TKM)
    assert found.due is Due.SOON


def test_what_was_done_before_is_never_guessed() -> None:
    """Unknown is not zero; yet what was seen alone may be enough to be due."""
    found = line(line={"goal_tkm": 50.0})
    assert found.seen == pytest.approx(10.0 * TKM)
    assert "done_tkm" in reason(found.done)
    assert isinstance(found.due, Unknown)
    assert line(line={"goal_tkm": 9.9}).due is Due.NOW


@pytest.mark.parametrize(
    ("done", "due"),
    [(29.9, Due.NOTHING), (30.1, Due.SOON), (35.1, Due.NEXT), (40.1, Due.NOW), (90.0, Due.NOW)],
)
def test_the_crew_is_told_at_80_90_and_100_per_cent(done: float, due: Due) -> None:
    """Of 50 t km, 10 of which the recording saw. common practice, no source"""
    assert line(line={"goal_tkm": 50.0, "done_tkm": done}).due is due


def test_estimated_work_is_marked_from_the_cut_on_only() -> None:
    """G32: hook load unknown while the block moved."""
    table = recording().table["line_work"]

    def partly(first: int, last: int) -> Block:
        bits = np.zeros(N, np.uint16)
        bits[first:last] = int(Quality.PARTIAL)
        return Block(table.t, table.value, bits)

    for block, marked in ((partly(100, 200), False), (partly(3000, 3100), True)):
        one = recording((1800.0, SlipLine(12.0, 24.0)))
        one.table["line_work"] = block
        assert wear(one, CONFIG).line.estimated is marked


def test_whole_laps_of_the_drum_are_warned_of() -> None:
    """24 m on a drum of 0.764 m are 10.0 laps: cross-over points stay where they were."""
    plan = {"goal_tkm": 50.0, "cut_m": 24.0, "drum_m": 0.764}
    assert "add a part of one" in line(line=plan).cut_fault
    good = line(line=plan | {"cut_m": 25.2})
    assert good.cut == pytest.approx(10.5, abs=0.01)
    assert good.cut_fault == ""


def test_a_recording_without_line_work_or_rows_says_so() -> None:
    old = recording()
    del old.table["line_work"]
    found = wear(old, well(line={"goal_tkm": 50.0, "done_tkm": 1.0})).line
    assert reason(found.seen) == reason(found.done) == "the recording has no line work"
    empty = wear(FakeRecording(), CONFIG)
    assert (empty.now, empty.pumps["1"]) == (None, ())
    assert "nothing was recorded" in wear_text(empty, None, CONFIG)
    json.dumps(as_json(empty, None, CONFIG, "x"), allow_nan=False)


def test_the_page_tells_pumps_line_and_crown_check() -> None:
    config = well(line={"goal_tkm": 50.0, "done_tkm": 41.0, "slip_m": 12.0, "cut_m": 24.0})
    given = ((600.0, CrownCheck()), (1800.0, MarkPump("1", "liner")), (2000.0, SlipLine(12.0)))
    found = wear(recording(*given, config=config), config)
    text = wear_text(found, CrownDue(T0 + 2000, "the line was slipped"), config)
    assert all(len(row) <= 80 for row in text.splitlines())
    assert "CROWN CHECK DUE: the line was slipped" in text
    assert "last check 2026-05-28 20:36:40 UTC by Ines" in text
    assert "1       2026-05-28 20:26:40     1.00      3600     0.00 h  the recording" in text
    assert "0.50      1800     0.00 h  liner, marked by Ines" in text
    assert "10.0 t·km since the start of the recording" in text
    assert "programme: 102% of 50.0 t·km between cuts, 0.0 t·km left" in text
    assert "LINE DUE: limit reached: slip and cut" in text
    assert "each time: slip 12.00 m, cut 24.00 m" in text
    assert "crown check in order" in wear_text(found, None, config)
    bare = wear_text(wear(recording(), CONFIG), None, CONFIG)
    assert "no programme in the well file" in bare
    assert "since the last cut: unknown" in bare


def test_the_journal_may_be_newer_than_the_rows() -> None:
    """Or a slip on a silent line would not set the crown check due."""
    late = wear(recording((3700.0, SlipLine(12.0))), CONFIG)
    assert late.now == T0 + 3700
    assert wear(recording((1000.0, SlipLine(12.0))), CONFIG).now == T0 + 3600


def test_the_json_is_complete() -> None:
    config = well(line={"goal_tkm": 50.0})
    found = wear(recording((1800.0, MarkPump("2", "liner")), config=config), config)
    out = as_json(found, None, config, "x.kdrec")
    json.dumps(out, allow_nan=False)
    assert [(p["pump"], p["counted_from"]) for p in out["pumps"]] == [
        ("1", "recording"), ("2", "recording"), ("2", "liner"),
    ]  # fmt: skip
    assert out["line"]["done_J"] is None
    assert "done_tkm" in out["line"]["unknown"]["done_J"]
    assert out["crown_check"]["due"] is False
    assert out["slip"] is None
