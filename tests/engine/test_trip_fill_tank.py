"""What the trip sheet is measured with: trip tank, pits, pumps, and what happens without them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.trip_fill import NAMES
from engine.units import BBL
from tests.tables import NAN, has
from tests.trip_rows import BEFORE, DRY, at_slips, bbl, end_of, of, plus, raised, ramp, sheet, trip

EXPECTED, ACTUAL, DIFFERENCE, OVERDUE = NAMES


@pytest.mark.parametrize("start", [60, 200, 430], ids=["in slips", "late", "as pipe moves"])
def test_mud_from_the_pits_into_the_trip_tank_is_no_fill(start: int) -> None:
    """Engineering practice: add the transfer. 4 m3 at 12 L/s, seen by the pits as well."""
    table = trip(6, lambda _: DRY, slips=450)
    more = ramp(len(table["bit_depth"]), at_slips(3, 450) + start, 4.0)
    out = sheet(plus(plus(table, "trip_tank_volume", more), "pit_volume", -more))
    known = out[DIFFERENCE].good
    assert known[at_slips(1, 450) + 40 :].all()
    assert np.nanmax(np.abs(out[DIFFERENCE].value)) / BBL < 0.05
    assert bbl(out, ACTUAL, -1) == pytest.approx(6 * 0.74, abs=1e-6)


@pytest.mark.parametrize("pits", [0.0, NAN], ids=["pits stand still", "pits not known"])
def test_a_trip_tank_that_rises_alone_is_the_well(pits: float) -> None:
    """An influx into the trip tank may be as fast as a pump; only the pits can tell."""
    table = trip(4, lambda _: DRY, slips=450, pit_volume=60.0 + pits)
    out = sheet(plus(table, "trip_tank_volume", ramp(len(table["bit_depth"]), 1200, 1.5)))
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(1.5 / BBL, abs=1e-6)


def test_without_the_tank_the_fill_is_unknown_with_the_reason_and_then_bridged() -> None:
    """Unknown in, unknown out; R-28."""
    table = trip(8, lambda _: 0.41 * BBL)
    level = table["trip_tank_volume"]
    away = slice(at_slips(3) + 20, at_slips(5) + 20)
    value, bits = level.value.copy(), level.quality.copy()
    value[away], bits[away] = NAN, int(Quality.STALE)
    out = sheet(table | {"trip_tank_volume": Block(level.t, value, bits)})
    for name in (ACTUAL, DIFFERENCE, OVERDUE):
        assert np.isnan(out[name].value[away]).all()
        assert all(has(out[name], Quality.STALE)[away])
    assert bbl(out, EXPECTED, end_of(4)) == pytest.approx(4 * 0.74, abs=1e-6)
    assert (out["trip_tank_unusable"].value[away] == 1.0).all()
    assert out["trip_tank_unusable"].value[: away.start].max() == 0.0
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(8 * 0.33, abs=1e-6)


def test_a_trip_without_a_trip_tank_is_an_alarm() -> None:
    """R-28: remove the channel."""
    table = trip(3, lambda _: 0.0)
    del table["trip_tank_volume"]
    config = of()
    out = sheet(table, config)
    assert np.isnan(out[DIFFERENCE].value).all()
    assert has(out[DIFFERENCE], Quality.NO_DATA)[-1]
    assert bbl(out, EXPECTED, -1) == pytest.approx(3 * 0.74, abs=1e-6)
    at = raised(table, config, "trip-without-trip-tank")["trip-without-trip-tank"]
    assert BEFORE < at < at_slips(1) + 70


@pytest.mark.parametrize("level", [0.3, 9.0], ids=["empty", "full"])
def test_a_tank_outside_its_range_is_of_no_use(level: float) -> None:
    config = of(trip_tank_low_m3=0.5, trip_tank_high_m3=8.0)
    out = sheet(trip(2, lambda _: 0.0, level=level), config)
    assert out["trip_tank_unusable"].value[-1] == 1.0
    assert has(out[ACTUAL], Quality.OUT_OF_RANGE)[-1]
    assert np.isnan(out[ACTUAL].value[-1])


def test_a_fill_by_the_pumps_is_counted_by_their_strokes_until_mud_returns() -> None:
    """`engine.well.trip_sheet.by_strokes`: 10 L/s for 36 s are 0.36 m3, then returns."""
    n = len(trip(4, lambda _: 0.0)["bit_depth"])
    flow, returns = np.zeros(n), np.zeros(n)
    start = at_slips(3) + 20
    flow[start : start + 50], returns[start + 36 : start + 60] = 0.010, 0.010
    out = sheet(trip(4, lambda _: 0.0, trip_tank_volume=NAN, flow_in=flow, flow_out=returns))
    assert np.isnan(out[ACTUAL].value[end_of(2)])
    assert out[ACTUAL].value[end_of(3)] == pytest.approx(0.355, abs=0.006)
    want = 3 * DRY - float(out[ACTUAL].value[end_of(3)])
    assert out[DIFFERENCE].value[end_of(3)] == pytest.approx(want, abs=1e-9)
    assert out[OVERDUE].value[end_of(3)] == 0.0
    assert out[OVERDUE].value[end_of(4)] == pytest.approx(1 / 5)


def test_stands_filled_by_circulating_are_left_out_of_the_difference() -> None:
    """Nobody measured what they took: a gap is no zero, and the rest is ``PARTIAL``."""
    table = trip(6, lambda i: 0.0 if i == 4 else 0.41 * BBL)
    n = len(table["bit_depth"])
    on = np.zeros(n, np.bool_)
    on[end_of(3) + 2 : at_slips(4) - 2] = True
    pumping: dict[str, Any] = {"flow_in": 0.03 * on, "standpipe_pressure": 5e6 * on}
    out = sheet(trip(6, lambda i: 0.0 if i == 4 else 0.41 * BBL, **pumping))
    assert bbl(out, EXPECTED, -1) == pytest.approx(6 * 0.74, abs=1e-6)
    assert bbl(out, DIFFERENCE, -1) == pytest.approx(5 * 0.33, abs=1e-6)
    assert has(out[DIFFERENCE], Quality.PARTIAL)[-1]
    assert not has(out[DIFFERENCE], Quality.PARTIAL)[end_of(3)]
