"""What well-control numbers do where an input is missing, zero or impossible."""

from __future__ import annotations

from dataclasses import fields, replace
from itertools import pairwise
from math import inf, isfinite, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import BBL, FT, PPG, PSI
from engine.well.answer import Unknown
from engine.well.influx import Section, height_of_volume, influx, volume_of_height
from engine.well.kill_mud import final_pressure, initial_pressure, kill_mud_weight, rate_exponent
from engine.well.kill_schedule import (
    Station,
    deviated_schedule,
    stations_of,
    stepped_schedule,
    straight_schedule,
)
from engine.well.kill_sheet import KillInputs, kill_sheet
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet, round_up
from engine.well.shoe import kick_tolerance, maasp, no_margin
from engine.well.weight_up import barite_per_volume, sacks
from tests.check_rows import row

UNIT = BBL / FT
R1 = KillInputs(
    mud=10.5 * PPG, tvd=10_000 * FT, sidpp=400 * PSI, sicp=520 * PSI, gain=20 * BBL,
    slow_pressure=600 * PSI, slow_rate=40 / 60, stroke_volume=0.000243 * 6.5**2 * 12 * 0.97 * BBL,
    string_volume=167.965 * BBL, open_hole_volume=217.517 * BBL, cased_volume=244.607 * BBL,
    shoe_tvd=5000 * FT, test_mud=9.8 * PPG, test_pressure=1500 * PSI,
    annulus=(Section(600 * FT, 0.0259253 * UNIT), Section(9400 * FT, 0.0459 * UNIT)),
)  # fmt: skip
"""The invented well of the field sheet, entered in SI."""
PRESSURE = st.floats(0, 1500)
MUD = st.floats(8.4, 19)
DEPTH = st.floats(500, 25_000)


@row("G22")
def test_g22_without_drillpipe_pressure_the_mud_stays_as_it_is() -> None:
    """Nothing to kill by weight: not even rounded up from 10.53."""
    for cs, mud in ((FIELD, 10.53), (METRIC, 1.2345), (EXACT, 1261.8)):
        assert kill_mud_weight(cs, mud, 0.0, 9000) == mud
    sheet = kill_sheet(FIELD, replace(R1, sidpp=0.0))
    assert any("swabbed" in note for note in sheet.notes)


@row("G23")
def test_g23_an_exact_tenth_is_not_raised_by_binary_noise() -> None:
    assert round_up(11.3 + 4e-15, 1) == round_up(11.299999999999999, 1) == 11.3
    assert round_up(11.3 + 1e-6, 1) == 11.4
    assert kill_mud_weight(FIELD, 10.5, 416, 10_000) == 11.3
    si = kill_sheet(FIELD, replace(R1, sidpp=416 * PSI))
    assert si.kill == 11.3


@row("G24")
def test_g24_casing_pressure_below_drillpipe_pressure_is_shown_above_mud_and_flagged() -> None:
    found = influx(FIELD, 10.5, 520, 400, 20, (Section(9000, 0.0459),))
    assert isinstance(found.gradient, float)
    assert found.gradient > 0.052 * 10.5
    assert "SICP is below SIDPP" in found.note
    assert any("SICP" in note for note in kill_sheet(FIELD, replace(R1, sicp=300 * PSI)).notes)


@row("G25")
def test_g25_without_a_gain_the_height_is_nothing_and_the_gradient_unknown() -> None:
    found = influx(FIELD, 10.5, 400, 520, 0, (Section(9000, 0.0459),))
    assert found.height == 0
    assert isinstance(found.gradient, Unknown)
    assert found.kind == ""


@row("G26")
def test_g26_a_kill_mud_above_the_highest_leaves_no_pressure_and_says_so() -> None:
    assert maasp(FIELD, 15.5, 15.5, 5000) == maasp(FIELD, 15.5, 16.2, 5000) == 0
    assert no_margin(15.5, 16.2)
    assert not no_margin(15.5, 11.3)
    heavy = kill_sheet(FIELD, replace(R1, sidpp=2700 * PSI))
    assert heavy.maasp == 1300
    assert heavy.maasp_killed == 0
    assert any("After the kill no margin" in note for note in heavy.notes)


@row("G27")
def test_g27_kick_tolerance_is_nothing_or_capped_by_the_open_hole() -> None:
    annulus = (Section(600, 0.0259253), Section(9400, 0.0459))
    args = (5000.0, 10_000.0, 0.1, annulus, 0.0459)
    none = kick_tolerance(FIELD, 11.0, 10.5, 12.0, *args, 5000)
    assert (none.height, none.at_shoe, none.at_bottom) == (0, 0, 0)
    assert none.note == "no tolerance"
    capped = kick_tolerance(FIELD, 18.0, 10.5, 10.5, *args, 800)
    assert capped.height == 800
    assert capped.note == "capped by the open hole"


@row("G28")
def test_g28_without_a_slow_rate_of_the_pump_on_line_icp_and_fcp_are_unknown() -> None:
    missing = Unknown("no slow rate for pump 2")
    assert initial_pressure(FIELD, missing, 400) == missing
    assert final_pressure(FIELD, missing, 11.3, 10.5) == missing
    sheet = kill_sheet(FIELD, replace(R1, slow_pressure=missing, slow_rate=missing))
    assert sheet.initial == sheet.final == sheet.step == sheet.schedule == missing
    assert sheet.kill == 11.3
    assert any("no slow rate for pump 2" in note for note in sheet.notes)


def test_the_sheet_of_the_invented_well_carries_its_rounded_values() -> None:
    """By hand from the formulas of the IADC WellSharp field sheet, rev. 3 (2018)."""
    sheet = kill_sheet(FIELD, R1)
    assert (sheet.kill, sheet.formation, sheet.initial, sheet.final) == (11.3, 5860, 1000, 646)
    assert (sheet.to_bit, sheet.bit_to_shoe, sheet.bottoms_up, sheet.step) == (1406, 1820, 3867, 25)
    assert (sheet.highest, sheet.maasp, sheet.maasp_killed) == (15.5, 1300, 1092)
    assert sheet.time_to_bit == pytest.approx(35.1, abs=0.05)
    assert sheet.influx.kind == "oil or mixed"
    assert not isinstance(sheet.schedule, Unknown)
    assert [r.strokes for r in sheet.schedule] == [
        0, 141, 281, 422, 562, 703, 844, 984, 1125, 1265, 1406,
    ]  # fmt: skip
    assert [r.pressure for r in sheet.schedule] == [
        1000, 965, 929, 894, 858, 823, 788, 752, 717, 681, 646,
    ]  # fmt: skip


def test_the_deviated_schedule_is_below_the_straight_line_at_the_kick_off() -> None:
    """By hand: MD 12,000, TVD 9,000, vertical to 3,000 ft: 981.7, 907.8, 833.9 psi."""
    points = [(0.0, 0.0), (3000.0, 3000.0), (6000.0, 5000.0), (9000.0, 7000.0), (12000.0, 9000.0)]
    stations = stations_of(points, [(12000.0, 0.0178)], 0.1195)
    assert not isinstance(stations, Unknown)
    rows = deviated_schedule(FIELD, 400, 700, 10.5, 11.4, stations)
    assert not isinstance(rows, Unknown)
    assert [r.pressure for r in rows] == [1100, 982, 908, 834, 760]
    assert [r.strokes for r in rows] == [0, 447, 894, 1341, 1787]
    uphill = [stations[0], stations[2], stations[1]]
    assert isinstance(deviated_schedule(FIELD, 400, 700, 10.5, 11.4, uphill), Unknown)
    assert isinstance(stations_of(points, [(11000.0, 0.0178)], 0.1195), Unknown)


def test_a_gain_that_fills_the_annulus_or_more_is_told_apart() -> None:
    annulus = (Section(100, 0.02), Section(200, 0.05))
    assert height_of_volume(annulus, 12) == 300
    assert isinstance(height_of_volume(annulus, 12.5), Unknown)
    assert isinstance(height_of_volume((), 1), Unknown)
    assert isinstance(volume_of_height(annulus, 301), Unknown)


@pytest.mark.parametrize(("field", "bad"), [(f, b) for f in (
    "mud", "tvd", "sidpp", "sicp", "gain", "slow_pressure", "slow_rate", "stroke_volume",
    "string_volume", "open_hole_volume", "cased_volume", "shoe_tvd", "test_mud", "test_pressure",
) for b in (nan, inf, -1.0, 0.0, 1e300)])  # fmt: skip
@pytest.mark.parametrize("cs", [EXACT, FIELD, METRIC], ids=lambda cs: cs.name)
def test_no_input_makes_the_sheet_fail_or_show_an_infinity(
    cs: ConstantSet, field: str, bad: float
) -> None:
    sheet = kill_sheet(cs, replace(R1, **{field: bad}))
    for field_of in fields(sheet):
        value = getattr(sheet, field_of.name)
        assert not isinstance(value, float) or isfinite(value)
    if not isinstance(sheet.schedule, Unknown):
        assert all(isfinite(r.strokes) and isfinite(r.pressure) for r in sheet.schedule)


def test_barite_cannot_make_mud_lighter_or_as_heavy_as_itself() -> None:
    assert isinstance(barite_per_volume(1.35, 1.25, 4.2), Unknown)
    assert isinstance(barite_per_volume(1.25, 4.2, 4.2), Unknown)
    assert sacks(barite_per_volume(1.25, 1.25, 4.2), 100, 0.025) == 0
    assert sacks(147.4, 10, 25) == 59
    assert isinstance(sacks(1.0, 10, 0), Unknown)


def test_an_exponent_is_refused_for_equal_rates_and_for_zero() -> None:
    for reading in ((900, 40, 500, 40), (900, 40, 0, 20), (900, 40, 950, 20), (nan, 40, 5, 20)):
        assert isinstance(rate_exponent(*reading), Unknown)


@given(high=PRESSURE, low=PRESSURE, strokes=st.floats(1, 20_000), parts=st.integers(1, 40))
def test_a_schedule_goes_one_way_and_ends_at_fcp(
    high: float, low: float, strokes: float, parts: int
) -> None:
    """In whole psi, as on paper: no row above the one before, none below the last."""
    first, last, count = FIELD.pressure(high), FIELD.pressure(low), FIELD.whole(strokes)
    if last > first:
        first, last = last, first
    for rows in (
        straight_schedule(FIELD, first, last, count, parts),
        stepped_schedule(FIELD, first, last, count, 100),
        stepped_schedule(EXACT, first, last, strokes, 100),
    ):
        assert not isinstance(rows, Unknown)
        assert (rows[0].strokes, rows[0].pressure, rows[-1].pressure) == (0, first, last)
        for a, b in pairwise(rows):
            assert b.strokes >= a.strokes
            assert b.pressure <= a.pressure + 1e-9


@given(sidpp=st.floats(50, 1500), slow=st.floats(100, 1200), mud=MUD, tvd=DEPTH)
def test_unrounded_sheets_differ_from_exact_by_at_most_two_parts_in_a_thousand(
    sidpp: float, slow: float, mud: float, tvd: float
) -> None:
    """0.052 is 0.10 % and 0.0981 is 0.034 % above the exact constant (NIST SP 811)."""
    wanted = {"sidpp": sidpp * PSI, "slow_pressure": slow * PSI, "mud": mud * PPG}
    known = replace(R1, tvd=tvd * FT, shoe_tvd=tvd / 2 * FT, **wanted)
    exact = kill_sheet(EXACT, known)
    for base in (FIELD, METRIC):
        sheet = kill_sheet(replace(base, rounding=None), known)
        pairs = [
            (sheet.kill, exact.kill, "density"), (sheet.formation, exact.formation, "pressure"),
            (sheet.initial, exact.initial, "pressure"), (sheet.final, exact.final, "pressure"),
            (sheet.highest, exact.highest, "density"),
        ]  # fmt: skip
        for on_sheet, exactly, quantity in pairs:
            assert isinstance(exactly, float)
            assert base.answer_si(quantity, on_sheet) == pytest.approx(exactly, rel=0.002)
        assert sheet.to_bit == pytest.approx(exact.to_bit, rel=1e-9)


@given(mud=MUD, sidpp=PRESSURE, tvd=DEPTH)
def test_rounded_kill_mud_is_never_lighter_than_needed_nor_a_tenth_too_heavy(
    mud: float, sidpp: float, tvd: float
) -> None:
    kill = kill_mud_weight(FIELD, mud, sidpp, tvd)
    needed = kill_mud_weight(replace(FIELD, rounding=None), mud, sidpp, tvd)
    assert isinstance(kill, float)
    assert isinstance(needed, float)
    assert needed - 1e-9 <= kill < needed + 0.1


@given(st.lists(st.tuples(st.floats(1, 3000), st.floats(0.01, 0.4)), min_size=1), st.floats(0, 1))
def test_height_and_volume_of_an_influx_are_each_others_reverse(
    parts: list[tuple[float, float]], share: float
) -> None:
    annulus = [Section(*part) for part in parts]
    volume = share * sum(s.length * s.capacity for s in annulus) * (1 - 1e-9)
    height = height_of_volume(annulus, volume)
    assert isinstance(height, float)
    assert volume_of_height(annulus, height) == pytest.approx(volume, rel=1e-6, abs=1e-9)


def test_a_schedule_in_a_horizontal_well_rises_again_with_friction() -> None:
    stations = [Station(0, 0, 0), Station(500, 3000, 3000), Station(2000, 9000, 3000)]
    rows = deviated_schedule(FIELD, 400, 700, 10.5, 11.4, stations)
    assert not isinstance(rows, Unknown)
    assert [r.pressure for r in rows] == [1100, 720, 760]
