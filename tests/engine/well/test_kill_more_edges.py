"""Further edges of well-control numbers, one fact each; by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.units import FT, PPG, PSI
from engine.well.answer import Unknown
from engine.well.cards import changed
from engine.well.influx import Section, bleed_volume, boyle_volume, influx, migration_speed
from engine.well.kill_mud import formation_pressure, hydrostatic, kill_mud_weight, mixed_density
from engine.well.kill_schedule import (
    Station,
    deviated_schedule,
    pressure_step,
    stations_of,
    stepped_schedule,
)
from engine.well.kill_sheet import kill_sheet
from engine.well.posted import slow_rate_card
from engine.well.sheet import EXACT, FIELD
from engine.well.shoe import highest_formation_pressure, kick_tolerance_factor, no_margin
from engine.well.weight_up import sacks, trip_margin_sheet
from tests.engine.well.test_kill_edges import R1
from tests.engine.well.test_slow_rates import NOW, READ

HOLE = (Section(9000, 0.0459),)


def test_numbers_beyond_any_rig_are_refused_before_they_overflow() -> None:
    found = formation_pressure(EXACT, 1e200, 0.0, 1e200)
    assert isinstance(found, Unknown)
    assert "beyond any rig" in found.reason


def test_more_pumped_than_the_string_holds_leaves_the_new_mud() -> None:
    assert mixed_density(10, 12, 150, 100) == 12
    assert mixed_density(10, 12, 0, 100) == 10
    assert isinstance(mixed_density(10, 12, 1, 0), Unknown)


def test_a_stepped_schedule_has_its_last_stroke_once() -> None:
    rows = stepped_schedule(FIELD, 1000.0, 700.0, 300.0)
    assert not isinstance(rows, Unknown)
    assert [(r.strokes, r.pressure) for r in rows] == [
        (0, 1000), (100, 900), (200, 800), (300, 700),
    ]  # fmt: skip
    uneven = stepped_schedule(FIELD, 1000.0, 646.0, 1406.0)
    assert not isinstance(uneven, Unknown)
    assert [r.pressure for r in uneven[-3:]] == [675, 650, 646]


def test_a_small_sidpp_may_make_the_final_pressure_the_higher_one() -> None:
    """The step is then negative and still rounded so that pressure is not too low."""
    assert pressure_step(FIELD, 600.0, 655.0, 1000.0) == -6
    assert isinstance(pressure_step(FIELD, 600.0, 655.0, 0.0), Unknown)


def test_a_hole_cannot_go_down_faster_than_the_pipe_in_it() -> None:
    stations = [Station(0, 0, 0), Station(10, 100, 120)]
    found = deviated_schedule(FIELD, 400, 700, 10.5, 11.4, stations)
    assert isinstance(found, Unknown)
    assert "true depth changes more" in found.reason
    assert isinstance(deviated_schedule(FIELD, 400, 700, 10.5, 11.4, stations[:1]), Unknown)
    assert stations_of([(0, 0)], [(10, 0.1)], 0.0) == Unknown("the pump output is 0")


def test_mud_at_the_very_limit_has_no_margin() -> None:
    assert no_margin(15.5, 15.5)
    assert not no_margin(Unknown("no test"), 15.5)


def test_sacks_are_whole_and_enough() -> None:
    assert sacks(145.5, 10, 25) == 59


def test_a_float_in_the_string_is_told_with_the_sheet() -> None:
    notes = kill_sheet(FIELD, replace(R1, float_in_string=True)).notes
    assert any("float is bumped" in note for note in notes)
    assert not any("float" in note for note in kill_sheet(FIELD, R1).notes)


def test_a_slow_rate_card_stays_while_the_mud_moves_less_than_its_rule() -> None:
    card = slow_rate_card((READ,), NOW, "A. Field")
    key = "mud pump 1, 40 spm"
    assert changed(card, {key: 10.55 * PPG}) == ()
    assert len(changed(card, {key: 10.7 * PPG})) == 1


@pytest.mark.parametrize(("sicp", "kind"), [(900, "gas"), (700, "oil or mixed"), (440, "water")])
def test_the_kind_of_influx_follows_its_gradient(sicp: float, kind: str) -> None:
    """Below 0.15 psi/ft gas, above 0.4 water, from memory; by hand 0.546 - (SICP - 400)/1089."""
    found = influx(FIELD, 10.5, 400, sicp, 50, HOLE)
    assert isinstance(found.gradient, float)
    assert found.gradient == pytest.approx(0.546 - (sicp - 400) / (50 / 0.0459), rel=1e-9)
    assert found.kind == kind


def test_columns_and_gas_at_their_physical_zeros() -> None:
    assert hydrostatic(EXACT, 1200.0, 0.0) == 0
    assert migration_speed(EXACT, 0.0, 1200.0) == 0
    assert bleed_volume(EXACT, 0.0, 1200.0, 0.02) == 0
    assert boyle_volume(1e5, 0.0, 2e5) == 0
    assert kick_tolerance_factor(12, 13, 5000, 9000) == 0
    for unknown in (
        migration_speed(EXACT, -1.0, 1200.0), bleed_volume(EXACT, 1.0, 1200.0, 0.0),
        boyle_volume(0.0, 1.0, 1.0), trip_margin_sheet(12, 5, 5), hydrostatic(EXACT, 1.2, 100.0),
        kick_tolerance_factor(13, 12, 9000, 5000), kill_mud_weight(EXACT, 1200.0, 1e5, 0.9),
        highest_formation_pressure(FIELD, Unknown("x"), 9.8, 9500),
    ):  # fmt: skip
        assert isinstance(unknown, Unknown)


def test_exact_formation_pressure_is_gauge_and_in_si() -> None:
    """By hand: 1258.1774867 kg/m3 x 9.80665 x 3048 m + 2,757,902.917 Pa."""
    found = formation_pressure(EXACT, 10.5 * PPG, 400 * PSI, 10_000 * FT)
    assert found == pytest.approx(1258.1774868 * 9.80665 * 3048 + 2757902.9173, rel=1e-9)


def test_an_influx_lighter_than_nothing_is_flagged_and_not_clipped() -> None:
    found = influx(FIELD, 10.5, 400, 1400, 20, HOLE)
    assert isinstance(found.gradient, float)
    assert found.gradient < 0
    assert "an input is wrong" in found.note
