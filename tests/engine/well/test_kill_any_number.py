"""No function of well control raises or gives an infinity or NaN, whatever numbers come in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.well import influx, kill_mud, kill_schedule, shoe, slow_rates, weight_up
from engine.well.influx import Section
from engine.well.kill_schedule import Station
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet
from tests.engine.well.test_slow_rates import READ

LIKELY = st.floats(0, 1e15) | st.sampled_from([0.0, 1.0, 10.5, 5000.0, 1e-300, 1e15, 1e-6])
ANY = st.floats() | st.sampled_from([-1.0, 1e300]) | LIKELY
IN_SETS: list[tuple[Callable[..., object], int]] = [
    (kill_mud.hydrostatic, 2), (kill_mud.equivalent_density, 2),
    (kill_mud.formation_pressure, 3), (kill_mud.kill_mud_weight, 3),
    (kill_mud.initial_pressure, 2), (kill_mud.final_pressure, 3), (kill_mud.strokes, 2),
    (kill_schedule.pressure_step, 4),
    (lambda cs, a, b, c: kill_schedule.straight_schedule(cs, a, b, c, 3), 3),
    (kill_schedule.stepped_schedule, 4),
    (lambda cs, *v: kill_schedule.deviated_schedule(
        cs, *v[:4], [Station(0, 0, 0), Station(*v[4:7]), Station(*v[7:10])]), 10),
    (shoe.leak_off_density, 3), (shoe.maasp, 3), (shoe.highest_formation_pressure, 3),
    (lambda cs, *v: shoe.kick_tolerance(
        cs, *v[:6], (Section(v[6], v[7]), Section(100, 0.02)), *v[8:11]), 11),
    (lambda cs, *v: influx.influx(cs, *v[:4], (Section(*v[4:6]), Section(100, 0.02))), 6),
    (influx.influx_gradient, 4), (influx.boyle_gauge, 3), (influx.migration_speed, 2),
    (influx.bleed_volume, 3), (influx.column_loss, 3), (weight_up.density_with_margin, 3),
]  # fmt: skip
IN_ANY_UNIT: list[tuple[Callable[..., object], int]] = [
    (kill_mud.mixed_density, 4), (kill_mud.pressure_at_rate, 4),
    (kill_mud.pressure_at_density, 3), (kill_mud.rate_exponent, 4),
    (lambda *v: kill_schedule.drillpipe_pressure(*v[:4], Station(*v[4:7]), Station(*v[7:10])), 10),
    (lambda *v: kill_schedule.stations_of([(v[0], v[1])], [(v[2], v[3])], v[4]), 5),
    (shoe.kick_tolerance_factor, 4), (shoe.kick_tolerance_density, 4),
    (influx.boyle_volume, 3), (influx.gas_casing_pressure_sheet, 4),
    (lambda a, b, c: influx.height_of_volume([Section(a, b)], c), 3),
    (lambda a, b, c: influx.volume_of_height([Section(a, b)], c), 3),
    (weight_up.barite_per_volume, 3), (weight_up.barite_per_barrel_sheet, 2),
    (weight_up.volume_increase, 4), (weight_up.sacks, 3), (weight_up.trip_margin_sheet, 3),
    (lambda now: slow_rates.age(READ, now), 1),
]  # fmt: skip


def of(count: int) -> st.SearchStrategy[list[float]]:
    """Numbers: all likely, so that formulas are reached, or some of them any at all."""
    return st.lists(LIKELY, min_size=count, max_size=count) | st.lists(
        ANY, min_size=count, max_size=count
    )


def is_sound(found: object) -> bool:
    """Tell whether there is no infinity or NaN in an answer or any of its parts."""
    if isinstance(found, float):
        return isfinite(found)
    if isinstance(found, tuple):
        return all(map(is_sound, found))
    if is_dataclass(found):
        return all(is_sound(getattr(found, f.name)) for f in fields(found))
    return True


@pytest.mark.parametrize(("function", "count"), IN_SETS)
@pytest.mark.parametrize("cs", [EXACT, FIELD, METRIC], ids=lambda cs: cs.name)
@given(data=st.data())
def test_a_function_of_a_constant_set_takes_any_numbers(
    cs: ConstantSet, function: Callable[..., object], count: int, data: st.DataObject
) -> None:
    numbers = data.draw(of(count))
    assert is_sound(function(cs, *numbers))


@pytest.mark.parametrize(("function", "count"), IN_ANY_UNIT)
@given(data=st.data())
def test_a_function_of_ratios_takes_any_numbers(
    function: Callable[..., object], count: int, data: st.DataObject
) -> None:
    numbers = data.draw(of(count))
    assert is_sound(function(*numbers))
