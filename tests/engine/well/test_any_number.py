"""No function of volumes, pumps, lag and trips raises or gives an infinity or NaN, whatever comes.

Unknown is an answer; an exception, an infinity or a NaN is not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, is_dataclass
from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.well import (
    active_volume,
    capacities,
    cuttings,
    drum,
    fill_card,
    lag_times,
    pumps,
    tally,
    trip,
    trip_sheet,
    volumes_sheet,
)
from engine.well.answer import Unknown
from engine.well.calculation import Calculation
from engine.well.sheet import EXACT, FIELD, METRIC

TAKES: list[tuple[Callable[..., object], int]] = [
    (capacities.bore_capacity, 1), (capacities.annular_capacity, 2),
    (capacities.closed_displacement, 1), (capacities.open_displacement, 2),
    (capacities.mean_speed, 2), (capacities.annular_speed, 3), (capacities.rectangular_pit, 2),
    (pumps.triplex_output, 3), (pumps.duplex_output, 4), (pumps.efficiency_from_tank, 3),
    (pumps.strokes_for, 2), (pumps.time_for, 2), (pumps.flow_from_counter, 3),
    (lambda a, b, c, d: pumps.flow_of([(a, b), (c, d)]), 4),
    (lag_times.lagged_depth_steady, 5), (lag_times.hole_from_lag, 3),
    (lambda a, b, c, d: lag_times.lagged_depth([(a, b, c)], d), 4),
    (cuttings.slip_newtonian, 5), (cuttings.slip_power_law, 5),
    (lambda a, b, c: cuttings.lag_of_cuttings([("x", a, b)], c), 3),
    (trip.displaced, 3), (trip.level_ratio, 2), (trip.level_fall, 3), (trip.level_fall_out, 3),
    (lambda a, b: trip.pressure_drop(FIELD, a, b), 2),
    (lambda a, b, c, d: trip.length_to_lose(METRIC, a, b, c, d), 4),
    (trip.slug_gain, 3), (trip.dry_length, 2),
    (lambda a, b, c, d: fill_card.fill(EXACT, a, b, c, d), 4),
    (lambda a, b, c: trip_sheet.by_trip_tank(a, b, "out", c), 3),
    (trip_sheet.by_strokes, 2), (trip_sheet.expected_part, 4),
    (active_volume.stand_change, 5), (active_volume.new_hole, 2), (active_volume.pit_rate, 3),
    (tally.bit_from_tally, 2), (drum.layer_diameter, 3), (drum.travel_per_turn, 2),
    (drum.travel_per_count, 3), (drum.block_speed, 3),
    (volumes_sheet.triplex_sheet, 3), (volumes_sheet.duplex_sheet, 4),
    (volumes_sheet.bore_capacity_sheet, 1), (volumes_sheet.annular_capacity_sheet, 2),
    (volumes_sheet.open_displacement_sheet, 1), (volumes_sheet.annular_speed_sheet, 3),
    (volumes_sheet.annular_speed_barrels_sheet, 3), (volumes_sheet.rectangular_pit_sheet, 2),
    (volumes_sheet.hole_from_lag_sheet, 3),
]  # fmt: skip
MODULES = (
    active_volume, capacities, cuttings, drum, fill_card, lag_times, pumps, tally, trip, trip_sheet
)  # fmt: skip
CALCULATIONS = [c for m in MODULES for c in m.CALCULATIONS]
EXTREMES = st.sampled_from([0.0, -0.0, 5e-324, 1e-300, 1e-9, 1.0, -1.0, 1e9, 1e300, 1.7e308])
ANY = st.floats(0, 1) | st.floats() | EXTREMES


def check(answer: object) -> None:
    if is_dataclass(answer) and not isinstance(answer, Unknown | type):
        for part in astuple(answer):
            check(Unknown(part[0]) if isinstance(part, tuple) else part)
    elif isinstance(answer, Unknown):
        assert answer.reason
    elif not isinstance(answer, str):
        assert isinstance(answer, float | int)
        assert isfinite(answer)


@pytest.mark.parametrize(("function", "count"), TAKES)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_numbers_give_a_number_or_a_reason(
    function: Callable[..., object], count: int, data: st.DataObject
) -> None:
    check(function(*[data.draw(ANY) for _ in range(count)]))


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_numbers_give_every_calculation_all_its_outputs(
    calculation: Calculation, data: st.DataObject
) -> None:
    """Impossible input is refused by name; all else gives each output, a number or a reason."""
    given_ = {i.name: data.draw(ANY) for i in calculation.inputs}
    try:
        out = calculation.run(given_)
    except InputError:
        return
    assert list(out) == [o.name for o in calculation.outputs]
    for answer in out.values():
        check(answer)


def test_every_calculation_has_a_name_of_its_own_and_a_source() -> None:
    names = [c.name for c in CALCULATIONS]
    assert len(set(names)) == len(names)
    assert all(c.source and c.text and c.inputs and c.outputs for c in CALCULATIONS)
