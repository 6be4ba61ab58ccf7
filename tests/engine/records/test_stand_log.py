"""Stands on rows made by hand: lengths, rates, weights, and the tally beside them.

Tally arithmetic: tests/engine/well/test_tally.py (common practice, no source).
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.records.stand_log import StandLog, stand_log, stands_of
from engine.records.stand_text import as_json, stands_text
from engine.records.tally_log import tally_of
from engine.well.answer import Unknown
from engine.well.tally import Tally
from tests.connection_rows import STAND, START, connection, joined, later
from tests.helpers import FakeRecording
from tests.tables import T0, table_of, well

PIPE = {"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_kg_m": 31.9}
COLLARS = {"name": "collars", "outer_in": 6.5, "inner_in": 2.8, "weight_kg_m": 136.0}


def config(*lengths: float, below: float = 217.0) -> WellConfig:
    """Return a well whose tally has stands of two joints; stick-up 1 m."""
    tally = [{"joints_m": [length - 14.0, 14.0]} for length in lengths]
    return well(tally=tally, string=[{**COLLARS, "length_m": below}, PIPE])


EIGHTY = [28.0] * 78
"""Bit in slips with all of them: 217 + 78 x 28 - 1 = 2400 m."""


def rows(extra: dict[str, Any] | None = None) -> dict[str, Block]:
    """Return drilling with one connection at 2400 m; the stand added is 28.5 m by the block."""
    return {**connection(), **table_of(900, **(extra or {}))}


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def test_a_stand_has_its_length_its_connection_and_its_rate() -> None:
    """3 m in 300 s before the connection, 5.69 m in 570 s after it, 1 cm/s."""
    first, second = stands_of(rows(), well()).stands
    assert reason(first.length) == "it was made up before the recording began"
    assert second.length == pytest.approx(STAND)
    assert second.connection is not None
    assert second.connection.times.weight_to_weight == 330.0
    assert second.drilled == pytest.approx(2.69, abs=0.02)
    assert second.drilled_time == pytest.approx(270.0, abs=1.0)
    assert second.rate == pytest.approx(0.01, rel=0.01)
    assert first.drilled == pytest.approx(2.99, abs=0.02)
    assert (first.start, first.end) == (T0, T0 + START + 75)


def test_hole_that_nobody_saw_being_drilled_is_no_part_of_a_rate() -> None:
    """A correction of the hole depth is no hole; a stand without time on bottom has no rate."""
    table = rows()
    hole = table["hole_depth"]
    table["hole_depth"] = Block(hole.t, hole.value + (np.arange(900) > 700) * 5.0, hole.quality)
    assert stands_of(table, well()).stands[1].drilled == pytest.approx(2.68, abs=0.03)
    table["on_bottom"] = Block(hole.t, np.zeros(900), hole.quality)
    assert reason(stands_of(table, well()).stands[1].rate) == "no on-bottom time was seen"


def test_a_weight_counts_on_the_stand_it_was_taken_on() -> None:
    """Held from a stand before, it is marked and not taken over."""
    s = np.arange(900) - START
    up = table_of(900, pick_up_load=1.2e6, rotating_load=1.1e6)
    old = np.where(s >= 75, int(Quality.HELD | Quality.OLD_REFERENCE), 0).astype(np.uint16)
    up["pick_up_load"] = Block(up["pick_up_load"].t, up["pick_up_load"].value, old)
    first, second = stands_of({**rows(), **up}, well()).stands
    assert first.loads["pick_up_load"] == 1.2e6
    assert first.drag_up == pytest.approx(0.1e6)
    assert reason(second.loads["pick_up_load"]) == "not weighed on this stand"
    assert second.loads["rotating_load"] == 1.1e6
    assert reason(second.drag_up) == reason(second.drag_down) == "not weighed on this stand"


def test_the_drag_trend_is_the_median_slope_and_needs_three_stands() -> None:
    """Drag grows by 5 kN a stand of 3 m more depth; one odd stand does not bend it."""
    drags = [50e3, 55e3, 300e3, 65e3, 70e3]
    parts = []
    for k, drag in enumerate(drags):
        part = connection()
        for name in ("bit_depth", "hole_depth"):
            one = part[name]
            part[name] = Block(one.t, one.value + 6.0 * k, one.quality)
        loads = table_of(900, pick_up_load=1e6 + drag, rotating_load=1e6)
        parts.append(later({**part, **loads}, 900.0 * k))
    log = stands_of(joined(*parts), well())
    assert log.trend("drag_up") == pytest.approx(5e3 / 6.0, rel=0.15)
    assert reason(log.trend("drag_down")) == "weighed on fewer than three stands"
    two = stands_of(joined(parts[0]), well())
    assert len([one for one in two.stands if isinstance(one.drag_up, float)]) == 2
    assert reason(two.trend("drag_up")) == "weighed on fewer than three stands"


def test_the_tally_names_the_stand_and_flags_one_that_differs_by_more_than_a_reading() -> None:
    """Measured 28.50 m; 0.20 m apart is a typing slip or a lost count. common practice"""
    near = stands_of(rows(), config(*EIGHTY, 28.4, 28.0)).stands[1]
    assert (near.number, near.tally, near.off) == (79.0, pytest.approx(28.4), False)
    far = stands_of(rows(), config(*EIGHTY, 28.2, 28.0)).stands[1]
    assert (far.number, far.off) == (79.0, True)
    text = stands_text(stands_of(rows(), config(*EIGHTY, 28.2, 28.0)), config(*EIGHTY, 28.2, 28.0))
    assert "OFF TALLY: stand 79 is 28.20 m by tally, measured 0.30 m apart" in text


def test_the_bit_in_slips_is_shown_against_the_tally() -> None:
    """Block and counts say 2400 m, pipe 2396 m: 78 stands, and the difference."""
    first = stands_of(rows(), config(*EIGHTY, below=213.0)).stands[0]
    assert first.bit_by_tally == pytest.approx(2396.0)
    assert first.bit_depth == pytest.approx(2400.0, abs=0.02)


def test_what_is_in_the_hole_next_and_left_is_told() -> None:
    well_file = config(*EIGHTY, 28.4, 28.0, 27.0)
    tally = stands_of(rows(), well_file).tally
    assert isinstance(tally, Tally)
    assert tally.in_hole == 79
    assert tally.next_stand is not None
    assert tally.next_stand.number == 80
    assert tally.left == pytest.approx(55.0)
    assert tally.bit_depth == pytest.approx(217 + 78 * 28 + 28.4 - 1)
    text = stands_text(stands_of(rows(), well_file), well_file)
    assert "TALLY: 79 of 81 stands in the hole" in text
    assert "next to run: stand 80, 28.00 m; in the derrick: 2 stands, 55.00 m" in text


def test_in_slips_the_stand_being_added_is_not_in_the_hole_yet() -> None:
    half = {name: block.slice(0, START + 200) for name, block in rows().items()}
    tally = stands_of(half, config(*EIGHTY, 28.4)).tally
    assert isinstance(tally, Tally)
    assert tally.in_hole == 78


def test_pulling_takes_stands_out_of_the_hole() -> None:
    """The block goes down empty in slips: a stand was broken out."""
    s = np.arange(900) - START
    down = STAND * (1.0 - np.clip((s - 100) / 50, 0.0, 1.0)) + 4.0
    one = stands_of(rows({"block_position": down}), config(*EIGHTY, 28.4))
    assert one.stands[1].change == -1
    assert one.stands[1].number == 78.0
    assert isinstance(one.tally, Tally)
    assert one.tally.in_hole == 77


def test_a_tally_that_does_not_reach_the_bit_is_said_so() -> None:
    short = stands_of(rows(), config(28.0, 28.0))
    assert "the tally reaches from 216.00 to 272.00 m" in reason(short.stands[1].number)
    assert "the tally reaches" in reason(short.tally)
    last = stands_of(rows(), config(*EIGHTY)).stands[1]
    assert reason(last.number) == "the tally has no stand 79; its last one is 78"
    assert isinstance(last.off, Unknown)
    assert reason(tally_of(well())).startswith("no tally in the well file")


def test_nothing_recorded_has_no_stands() -> None:
    assert stand_log(FakeRecording(), well()) == StandLog()
    assert stands_of({}, well()) == StandLog()
    assert "no stand was drilled or changed" in stands_text(StandLog(), well())
    assert as_json(StandLog(), well(), "x")["stands"] == []


def test_the_json_holds_every_stand_and_the_page_fits_a_terminal() -> None:
    well_file = config(*EIGHTY, 28.2, 28.0)
    log = stand_log(FakeRecording(rows()), well_file)
    out = as_json(log, well_file, "x.kdrec")
    json.dumps(out, allow_nan=False)
    one = out["stands"][1]
    assert (one["length_m"], one["tally_m"], one["tally_number"], one["off_tally"]) == (
        28.5, 28.2, 79, True
    )  # fmt: skip
    assert one["seconds"]["slip_to_slip"] == 150.0
    assert one["unknown"]["pick_up_load_N"] == "not weighed on this stand"
    assert out["tally"]["stands_in_hole"] == 79
    assert len(out["tally"]["lines"]) == 80
    assert as_json(log, well(), "x")["tally"] is None
    for units in ("metric", "oilfield"):
        shown = well_file.model_copy(update={"display": units})
        assert all(len(line) <= 80 for line in stands_text(log, shown).splitlines())
