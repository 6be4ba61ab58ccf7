"""Times of connections; expected values by hand, no published source."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest

from engine.well.answer import Unknown
from engine.well.connection_times import (
    CALCULATIONS,
    ORDER,
    Connection,
    connection_times,
    drilled_rate,
    in_order,
    over_target,
    stand_time,
)

SEEN = Connection(0.0, 30.0, 75.0, 225.0, 260.0, 330.0)
TIMES = connection_times(SEEN)


@pytest.mark.parametrize(
    ("seconds", "minutes"),
    [
        pytest.param(TIMES.slip_to_slip, 2.5, id="K01 slip to slip"),
        pytest.param(TIMES.weight_to_weight, 5.5, id="K02 weight to weight"),
        pytest.param(TIMES.pumps_off, 230 / 60, id="pumps off"),
        pytest.param(TIMES.pre_slip, 1.25, id="pre-slip"),
        pytest.param(TIMES.post_slip, 1.75, id="post-slip"),
    ],
)
def test_the_parts_of_a_connection_are_the_times_between_its_marks(
    seconds: float, minutes: float
) -> None:
    assert seconds / 60 == pytest.approx(minutes, abs=1e-9)


def test_k03_forty_connections_a_minute_and_a_half_over_target_cost_an_hour() -> None:
    found = over_target([SEEN] * 40, 4.0 * 60)
    assert not isinstance(found, Unknown)
    assert found.time / 3600 == pytest.approx(1, abs=1e-9)
    assert (found.counted, found.apart, found.unknown) == (40, 0, 0)


def test_fast_connections_pay_nothing_back_and_checked_ones_are_set_apart() -> None:
    fast = replace(SEEN, weight_on=226.0)
    checked = replace(SEEN, weight_on=5000.0, apart=True)
    unseen = replace(SEEN, weight_on=None)
    found = over_target([SEEN, fast, checked, unseen], 300)
    assert not isinstance(found, Unknown)
    assert (found.time, found.counted, found.apart, found.unknown) == (30, 2, 1, 1)


def test_k04_forty_stands_an_hour_are_ninety_seconds_each() -> None:
    assert stand_time(40, 3600) == pytest.approx(90, abs=1e-9)
    assert isinstance(stand_time(0, 3600), Unknown)


def test_k05_a_stand_for_each_minute_of_connection() -> None:
    rate = drilled_rate(28.3, 5.5 * 60)
    assert isinstance(rate, float)
    assert rate * 60 == pytest.approx(5.14545454545, rel=1e-9)
    assert isinstance(drilled_rate(28.3, 0.0), Unknown)
    assert isinstance(drilled_rate(28.3, Unknown("no")), Unknown)


@pytest.mark.parametrize("mark", ORDER)
def test_a_mark_not_seen_makes_only_its_parts_unknown(mark: str) -> None:
    for lost in (None, nan):
        times = connection_times(replace(SEEN, **{mark: lost}))  # type: ignore[arg-type]
        unknown = [getattr(times, n) for n in times.__dataclass_fields__]
        reasons = {u.reason for u in unknown if isinstance(u, Unknown)}
        assert reasons == {f"{mark.replace('_', ' ')} not seen"}
        assert any(isinstance(u, float) for u in unknown)


def test_marks_out_of_order_are_not_made_into_a_negative_time() -> None:
    assert in_order(SEEN)
    mixed = replace(SEEN, slips_out=60.0)
    assert not in_order(mixed)
    assert connection_times(mixed).slip_to_slip == Unknown("slips out is before slips set")
    assert isinstance(over_target([SEEN], -1.0), Unknown)


def test_the_calculations_by_name_give_the_same() -> None:
    by_name = {c.name: c for c in CALCULATIONS}
    over = by_name["time-over-target"].run({"connections": 40, "connection": 330, "target": 240})
    assert over == {"over": 3600}
    assert by_name["stand-time"].run({"stands": 40}) == {"each": 90}
