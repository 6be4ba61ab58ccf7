"""The live trip sheet on hand-made rows: what is counted, what is not, and what is not known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.trip_fill import NAMES, TripFill
from engine.states import RigState
from engine.units import BBL
from engine.well.fill_card import Fill, part_fill
from tests.connection_rows import connection, joined, later
from tests.tables import NAN, check_splits, cut, has, well
from tests.trip_rows import (
    BEFORE,
    DRY,
    STAND,
    at_slips,
    bbl,
    end_of,
    of,
    pipe_of,
    plus,
    raised,
    ramp,
    sheet,
    trip,
)

EXPECTED, ACTUAL, DIFFERENCE, OVERDUE = NAMES


def test_a_hole_that_takes_0_41_of_0_74_bbl_is_20_bbl_short_after_60_stands() -> None:
    """SC-13 (R-26)."""
    out = sheet(trip(60, lambda _: 0.41 * BBL))
    for stand in (1, 7, 60):
        row = end_of(stand)
        assert bbl(out, EXPECTED, row) == pytest.approx(0.74 * stand, abs=1e-6)
        assert bbl(out, ACTUAL, row) == pytest.approx(0.41 * stand, abs=1e-6)
        assert bbl(out, DIFFERENCE, row) == pytest.approx(0.33 * stand, abs=1e-6)
        assert not any(out[name].quality[row] for name in NAMES)
    assert bbl(out, DIFFERENCE, end_of(60)) == pytest.approx(20.0, abs=0.3)
    assert out["trip_tank_unusable"].value.max() == 0.0


def test_the_difference_passes_2_bbl_with_stand_7_and_5_with_stand_16() -> None:
    """SC-13: 2.31 and 5.28 bbl short."""
    short = sheet(trip(60, lambda _: 0.41 * BBL))[DIFFERENCE].value
    for limit, stand in ((2.0, 7), (5.0, 16)):
        assert at_slips(stand) <= int(np.flatnonzero(short > limit * BBL)[0]) < end_of(stand)
    assert raised(trip(60, lambda _: DRY), of(), "trip-fill-overdue") == {}


def test_wet_declared_at_stand_10_counts_the_bore_from_there_on() -> None:
    """SC-13: 2.40 bbl a stand, less what is recovered."""
    table = trip(12, lambda _: DRY)
    for recovered in (0.0, 0.5):
        op, at = TripFill(of()), end_of(10) + 1
        op.process(cut(table, 0, at))
        assert op.declare(1.0 - recovered, 0) == (0.0, 0)
        out = op.process(cut(table, at, len(table["bit_depth"])))
        want = 7.40 + 2 * (2.40 - 1.66 * recovered)
        assert bbl(out, EXPECTED, -1) == pytest.approx(want, abs=1e-6)
        assert bbl(out, DIFFERENCE, -1) == pytest.approx(want - 12 * 0.74, abs=1e-6)
    by_file = sheet(table, of(wet=True, recovered_share=0.5))
    assert bbl(by_file, EXPECTED, -1) == pytest.approx(12 * (2.40 - 0.83), abs=1e-6)


def test_a_fill_is_overdue_at_3_stands_by_programme_and_at_5_by_rule() -> None:
    """SC-22 and 30 CFR 250.456(c): the crew fills after nine stands."""
    table = trip(11, lambda i: 10 * DRY if i == 10 else DRY if i == 11 else 0.0)
    programme = sheet(table, of(programme_stands=3))[OVERDUE].value
    rule = sheet(table)[OVERDUE].value
    for stand in range(1, 10):
        assert programme[end_of(stand)] == pytest.approx(stand / 3)
        assert rule[end_of(stand)] == pytest.approx(stand / 5)
    for value in (programme, rule):
        assert value[end_of(10)] == value[end_of(11)] == 0.0
    due = raised(table, of(programme_stands=3), "trip-fill-overdue")["trip-fill-overdue"]
    assert at_slips(3) + 60 < due < end_of(4)
    due = raised(table, of(), "trip-fill-overdue")["trip-fill-overdue"]
    assert at_slips(5) + 60 < due < end_of(6)


def test_a_fill_of_the_programme_is_no_shortage_before_it_is_due() -> None:
    """Own rule: three stands without a fill are as planned, a fourth is not."""
    table = trip(8, lambda i: 4 * DRY if i in (4, 8) else 0.0)
    out = sheet(table, of(programme_stands=3))
    for stand in (1, 2, 3, 4, 8):
        assert bbl(out, DIFFERENCE, end_of(stand)) == pytest.approx(0.0, abs=1e-6)
    late = sheet(trip(5, lambda _: 0.0), of(programme_stands=3))
    assert bbl(late, DIFFERENCE, end_of(3)) == pytest.approx(0.0, abs=1e-6)
    assert bbl(late, DIFFERENCE, end_of(4)) == pytest.approx(4 * 0.74, abs=1e-6)


def test_a_well_that_gives_mud_is_short_although_the_fill_is_not_due() -> None:
    out = sheet(trip(2, lambda _: -0.5 * BBL), of(programme_stands=5))
    assert bbl(out, DIFFERENCE, end_of(2)) == pytest.approx(1.0, abs=1e-6)
    assert bbl(out, ACTUAL, end_of(2)) == pytest.approx(-1.0, abs=1e-6)


def test_running_in_the_tank_gains_the_steel_or_with_a_float_the_whole_pipe() -> None:
    """Expected by `engine.well.trip_sheet.expected`, way in."""
    table = trip(5, lambda _: -DRY, way=-1, bit=700.0, level=3.0)
    out = sheet(table)
    assert bbl(out, EXPECTED, -1) == pytest.approx(5 * 0.74, abs=1e-6)
    assert bbl(out, ACTUAL, -1) == pytest.approx(5 * 0.74, abs=1e-6)
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(0.0, abs=1e-6)
    assert has(out[OVERDUE], Quality.NOT_APPLICABLE)[-1]
    closed = sheet(table, of(float_holds=True))
    assert bbl(closed, EXPECTED, -1) == pytest.approx(5 * 2.40, abs=1e-6)
    assert bbl(closed, DIFFERENCE, -1) == pytest.approx(-5 * 1.66, abs=1e-6)
    gains = sheet(trip(5, lambda _: -0.9 * BBL, way=-1, bit=700.0, level=3.0))
    assert bbl(gains, DIFFERENCE, -1) == pytest.approx(5 * 0.16, abs=1e-6)


def test_where_the_trip_turns_the_totals_of_the_way_begin_anew_and_the_difference_goes_on() -> None:
    """As `engine.well.trip_sheet.trip_sheet` adds up."""
    out_of = trip(4, lambda _: 0.41 * BBL)
    level = float(out_of["trip_tank_volume"].value[-1])
    back = trip(3, lambda _: -DRY, way=-1, bit=2397.0 - 4 * STAND, level=level)
    back["in_slips"] = Block(
        back["in_slips"].t, np.where(np.arange(len(back["in_slips"])) < BEFORE, 1.0,
        back["in_slips"].value), back["in_slips"].quality,
    )  # fmt: skip
    out = sheet(joined(out_of, later(back, float(len(out_of["bit_depth"])))))
    n = len(out_of["bit_depth"])
    assert bbl(out, EXPECTED, n - 1) == pytest.approx(4 * 0.74, abs=1e-6)
    assert bbl(out, EXPECTED, -1) == pytest.approx(3 * 0.74, abs=1e-6)
    assert bbl(out, ACTUAL, -1) == pytest.approx(3 * 0.74, abs=1e-6)
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(4 * 0.33, abs=1e-6)


def test_a_connection_is_no_trip() -> None:
    table = connection(
        trip_tank_volume=5.0, pit_volume=60.0, block_speed=0.0, flow_out=0.0, standpipe_pressure=1e7
    )
    out = sheet(table)
    for name in NAMES:
        assert has(out[name], Quality.NOT_APPLICABLE) == [True] * 900
        assert np.isnan(out[name].value).all()
    assert out["trip_tank_unusable"].value.max() == 0.0


def test_drilling_on_ends_the_trip() -> None:
    table = joined(
        trip(2, lambda _: DRY),
        later(trip(1, lambda _: 0.0, rig_state=float(RigState.DRILLING_ROTARY)), 420.0),
    )
    out = sheet(table)
    assert not np.isnan(out[DIFFERENCE].value[end_of(2)])
    assert np.isnan(out[DIFFERENCE].value[-1])


def test_collars_that_must_be_filled_continuously_are_due_before_a_stand() -> None:
    """G21: 75 psi are lost in 0.53 stands of these collars (10.0 ppg, casing 0.07321 bbl/ft)."""
    config = well(
        rig=_rig(27.432),
        string=[{"name": "collars", "outer_in": 8.0, "inner_in": 0.0, "weight_kg_m": 223.1}],
        hole=[{"name": "casing", "diameter_in": 8.681}],
        mud={"density_ppg": 10.0},
        trip={},
    )
    found = part_fill(config, config.string[0], 0.0, config.mud.density)
    assert isinstance(found, Fill)
    assert isinstance(found.to_limit, float)
    assert found.allowed == 0
    assert 0.4 < found.to_limit < 0.7
    out = sheet(trip(2, lambda _: 0.0, level=30.0), config)
    stands = STAND / 27.432
    assert out[OVERDUE].value[end_of(1)] == pytest.approx(stands / found.to_limit)


def test_pipe_that_takes_all_the_room_leaves_five_stands_and_says_so() -> None:
    """G20: the drop is unknown, never negative; the limit of five stands holds all the same."""
    config = well(
        string=pipe_of(DRY), trip={},
        hole=[{"name": "tight", "diameter_m": 0.05}],
    )  # fmt: skip
    out = sheet(trip(2, lambda _: 0.0), config)
    assert out[OVERDUE].value[end_of(2)] == pytest.approx(2 / 5)
    assert has(out[OVERDUE], Quality.PARTIAL)[end_of(2)]


def test_a_corrected_depth_moves_no_pipe() -> None:
    table = trip(6, lambda _: DRY)
    at = end_of(3) + 1
    op = TripFill(of())
    op.process(cut(table, 0, at))
    bit = float(table["bit_depth"].value[at - 1])
    op.depth_set(bit + 40.0)
    rest = plus(cut(table, at, len(table["bit_depth"])), "bit_depth", np.array(40.0))
    out = op.process(rest)
    assert bbl(out, EXPECTED, -1) == pytest.approx(6 * 0.74, abs=1e-6)
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(0.0, abs=1e-6)


def test_while_pipe_moves_the_newest_reading_is_held() -> None:
    out = sheet(trip(3, lambda _: DRY))
    hoist = slice(end_of(2) + 2, at_slips(3))
    assert (out[EXPECTED].value[hoist] == out[EXPECTED].value[end_of(2)]).all()
    assert all(has(out[EXPECTED], Quality.HELD)[hoist])


def test_any_split_gives_the_same_bytes() -> None:
    """With a transfer, gaps of tank, pits and depth, a fill by pumps, and noise."""
    table = trip(8, lambda i: 0.2 * BBL * i, slips=200)
    n = len(table["bit_depth"])
    rng = np.random.default_rng(3)
    more = ramp(n, at_slips(3, 200) + 60, 1.2)
    table = plus(table, "trip_tank_volume", more + 0.01 * rng.standard_normal(n))
    table = plus(table, "pit_volume", -more + 0.03 * rng.standard_normal(n))
    for name, a, b in (
        ("trip_tank_volume", 700, 760), ("bit_depth", 900, 931), ("pit_volume", 1200, 1300),
        ("in_slips", 1400, 1500), ("trip_tank_volume", 1600, 1601),
    ):  # fmt: skip
        old = table[name]
        value, bits = old.value.copy(), old.quality.copy()
        value[a:b], bits[a:b] = NAN, int(Quality.STALE)
        table[name] = Block(old.t, value, bits)
    flow = np.zeros(n)
    flow[at_slips(7, 200) + 50 : at_slips(7, 200) + 80] = 0.01
    table = plus(table, "flow_in", flow)
    config = of(programme_stands=2, trip_tank_low_m3=0.5)
    out = check_splits(lambda: TripFill(config), table)
    for name in NAMES:
        assert np.isnan(out[name].value).any()
        assert (out[name].quality[np.isnan(out[name].value)] != 0).all()
        assert not np.isnan(out[name].value[-1])


def _rig(stand: float) -> dict[str, Any]:
    return {
        "name": "rig", "block_weight_tf": 32.0, "lines": 10, "stand_length_m": stand,
        "crown_limit_m": 38.0,
    }  # fmt: skip


def test_stands_a_little_short_count_as_whole_ones() -> None:
    """Pipe is never quite equal: three stands of 28.2 m are three, not 2.97."""
    table = trip(3, lambda _: 0.0)
    bit = table["bit_depth"]
    table["bit_depth"] = Block(bit.t, 2397.0 - 0.99 * (2397.0 - bit.value), bit.quality)
    assert sheet(table)[OVERDUE].value[end_of(3)] == pytest.approx(3 / 5)


def test_what_was_pulled_before_the_hole_was_circulated_full_is_no_part_of_the_trip() -> None:
    """Ten metres up without pumps, then circulated in place, then the trip begins there."""
    n = BEFORE + 30 + 90
    moved = np.clip((np.arange(n) - BEFORE + 1) / 30, 0.0, 1.0)
    on = np.arange(n) >= n - 50
    on[-4:] = False
    up = trip(
        1, lambda _: 0.0, bit_depth=2397.0 - 10.0 * moved, in_slips=0.0, flow_in=0.03 * on,
        standpipe_pressure=5e6 * on, rig_state=float(RigState.STATIC),
        block_speed=np.where((moved > 0) & (moved < 1), 0.3, 0.0),
    )  # fmt: skip
    out = sheet(joined(up, later(trip(2, lambda _: DRY, bit=2387.0), float(n))))
    assert bbl(out, EXPECTED, -1) == pytest.approx(2 * 0.74, abs=1e-6)
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(0.0, abs=1e-6)
