"""Times of connections from samples, and what a tour of them adds up to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.units import HOUR, MINUTE
from engine.well.answer import Answer, Unknown
from engine.well.connection_stats import (
    Timed,
    Tour,
    length_per_time,
    over_target,
    per_tour,
    stand_time,
    statistics,
)
from engine.well.connection_times import Connection, Record, connections, steady
from tests.check_rows import row

NAN = float("nan")


def record(*spans: tuple[str, float, float], end: float = 900.0, step: float = 1.0) -> Record:
    """Return samples from -300 s; a state is on in each of its spans."""
    t = np.arange(-300.0, end, step)
    on = {name: np.zeros(t.size, np.bool_) for name in ("slips", "pumps", "weight", "bottom")}
    for name, start, stop in spans:
        on[name] |= (t >= start) & (t < stop)
    return Record(t, on["slips"], on["pumps"], on["weight"], on["bottom"])


USUAL = record(
    ("weight", -300, 0), ("bottom", -300, 5), ("pumps", -300, 30), ("slips", 75, 225),
    ("pumps", 260, 900), ("bottom", 320, 900), ("weight", 330, 900),
)  # fmt: skip


def one(rec: Record) -> Connection:
    found = connections(rec)
    assert len(found) == 1
    return found[0]


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def minutes(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer / MINUTE


@row("K01, K02 by hand")
def test_a_connection_is_timed_from_start_to_start() -> None:
    """K01, K02 by hand: weight off 0, pumps off 30, slips 75 to 225, pumps on 260, weight 330 s."""
    c = one(USUAL)
    assert minutes(c.slip_to_slip) == pytest.approx(2.5, abs=1e-9)
    assert minutes(c.weight_to_weight) == pytest.approx(5.5, abs=1e-9)
    assert minutes(c.pumps_off_to_on) == pytest.approx(3.83, abs=0.005)
    assert minutes(c.pre_slip) == pytest.approx(1.25, abs=1e-9)
    assert minutes(c.post_slip) == pytest.approx(1.75, abs=1e-9)
    assert minutes(c.bottom_to_bottom) == pytest.approx(315 / 60, abs=1e-9)


def test_the_parts_of_the_time_line_add_up() -> None:
    line = one(USUAL).time_line()
    assert [(a, b) for a, b, _ in line] == [
        ("weight_off", "left_bottom"), ("left_bottom", "pumps_off"), ("pumps_off", "slips_set"),
        ("slips_set", "slips_out"), ("slips_out", "pumps_on"), ("pumps_on", "on_bottom"),
        ("on_bottom", "weight_on"),
    ]  # fmt: skip
    assert [s for _, _, s in line] == [5, 25, 45, 150, 35, 60, 10]


@pytest.mark.parametrize("step", [0.5, 1.0, 5.0])
def test_the_rate_of_samples_does_not_matter(step: float) -> None:
    spans = [("weight", -300, 0), ("slips", 75, 225), ("weight", 330, 900)]
    c = one(record(*spans, step=step))
    assert (c.slip_to_slip, c.weight_to_weight) == (150.0, 330.0)


def test_a_flicker_is_no_moment_and_a_real_change_keeps_its_first_sample() -> None:
    """Weight must be off for 10 s: tagging bottom for 4 s before drilling off again is not on."""
    rec = record(
        ("weight", -300, -40), ("weight", -37, 0), ("slips", 75, 140), ("slips", 142, 225),
        ("weight", 300, 304), ("weight", 330, 900),
    )  # fmt: skip
    c = one(rec)
    assert (c.slip_to_slip, c.weight_to_weight) == (150.0, 330.0)


def test_pumps_that_go_off_before_the_weight_still_count() -> None:
    rec = record(
        ("weight", -300, 0), ("pumps", -300, -10), ("slips", 75, 225), ("pumps", 260, 900),
        ("weight", 330, 900),
    )  # fmt: skip
    assert one(rec).pumps_off_to_on == 270.0


def test_a_survey_with_pumps_ends_pumps_off() -> None:
    rec = record(
        ("weight", -300, 0), ("pumps", -300, 30), ("slips", 75, 225), ("pumps", 240, 280),
        ("pumps", 400, 900), ("weight", 500, 900),
    )  # fmt: skip
    assert one(rec).pumps_off_to_on == 210.0


def test_a_trip_has_slips_and_no_weight() -> None:
    rec = record(("slips", 0, 60), ("slips", 150, 200), ("slips", 300, 380))
    found = connections(rec)
    assert [c.slip_to_slip for c in found] == [60.0, 50.0, 80.0]
    assert all("not in the record" in reason(c.weight_to_weight) for c in found)
    assert next(reason(c.pumps_off_to_on) for c in found) == "pumps off is not in the record"


def test_weight_of_another_connection_is_not_taken() -> None:
    """After a trip in, weight comes only after the last of the slips."""
    rec = record(
        ("weight", -300, -200), ("slips", 0, 60), ("slips", 150, 200), ("weight", 260, 900)
    )
    first, last = connections(rec)
    assert isinstance(first.at["weight_off"], float)
    assert isinstance(first.at["weight_on"], Unknown)
    assert isinstance(last.at["weight_off"], Unknown)
    assert last.at["weight_on"] == 260.0


def test_a_record_that_begins_or_ends_in_slips_says_so() -> None:
    begins = one(record(("slips", -300, 60), ("weight", 100, 900)))
    assert reason(begins.slip_to_slip) == "slips set is not in the record"
    assert begins.post_slip == 40.0
    ends = one(record(("weight", -300, 0), ("slips", 60, 900)))
    assert reason(ends.slip_to_slip) == "slips out is not in the record"
    assert ends.pre_slip == 60.0


def test_nothing_is_timed_across_a_gap() -> None:
    """Unknown is not zero: a gap between a moment and the slips makes the moment unknown."""
    keep = ~((USUAL.t > 230) & (USUAL.t < 290))
    holed = Record(*(a[keep] for a in (USUAL.t, USUAL.slips, USUAL.pumps, USUAL.weight,
                                       USUAL.bottom)))  # fmt: skip
    c = one(holed)
    assert c.slip_to_slip == 150.0
    assert reason(c.weight_to_weight) == "the record has a gap"
    assert [(a, b) for a, b, _ in c.time_line()][-2:] == [
        ("slips_set", "slips_out"), ("on_bottom", "weight_on"),
    ]  # fmt: skip
    blind = one(replace(USUAL, known=~((USUAL.t > 100) & (USUAL.t < 110))))
    assert reason(blind.slip_to_slip) == "the record has a gap"
    assert (blind.pre_slip, blind.post_slip) == (75.0, 105.0)
    far = one(replace(USUAL, known=USUAL.t < 500))
    assert far.weight_to_weight == 330.0


def test_a_change_right_at_a_gap_is_not_dated() -> None:
    """Slips may have been set anywhere in the minute nobody saw."""
    keep = ~((USUAL.t > 20) & (USUAL.t < 75))
    arrays = (USUAL.t, USUAL.slips, USUAL.pumps, USUAL.weight, USUAL.bottom)
    c = one(Record(*(a[keep] for a in arrays)))
    assert reason(c.slip_to_slip) == "the record has a gap"
    assert c.post_slip == 105.0


def test_no_samples_have_no_connections() -> None:
    empty = np.empty(0)
    none = np.empty(0, np.bool_)
    assert connections(Record(empty, none, none, none, none)) == ()
    assert steady(empty, none, 3.0).size == 0
    alone = np.ones(1, np.bool_)
    found = connections(Record(np.zeros(1), alone, alone, alone, alone))
    assert [reason(c.slip_to_slip) for c in found] == ["slips set is not in the record"]


def test_arrays_that_do_not_belong_together_are_refused() -> None:
    with pytest.raises(InputError, match="1200 times, states of"):
        connections(replace(USUAL, slips=USUAL.slips[:-1]))
    with pytest.raises(InputError, match="times must increase"):
        connections(replace(USUAL, t=USUAL.t[::-1]))


@given(st.lists(st.booleans(), max_size=80), st.floats(0.0, 9.0))
def test_a_steady_state_never_changes_for_less_than_its_hold(
    states: list[bool], hold: float
) -> None:
    t = np.arange(len(states), dtype=float)
    out = steady(t, np.array(states, np.bool_), hold)
    turns = np.flatnonzero(out[1:] != out[:-1]) + 1
    assert all(np.diff(turns) >= hold)
    assert all(states[i] == out[i] for i in turns.tolist())


@row("K03 by hand")
def test_forty_connections_a_minute_and_a_half_too_long_are_an_hour() -> None:
    """K03 by hand: 40 x (5.5 - 4.0) min = 1.0 h."""
    found = statistics([Timed(0.0, 5.5 * MINUTE)] * 40, 4 * MINUTE)
    assert found.over_target == pytest.approx(HOUR, abs=1e-9)
    assert (found.timed, found.mean, found.median) == (40, 330.0, 330.0)


def test_a_fast_connection_makes_up_for_no_slow_one() -> None:
    assert over_target([100.0, 300.0], 240.0) == 60.0
    assert reason(over_target([100.0], Unknown("no target set"))) == "no target set"
    assert reason(over_target([100.0], 0.0)).startswith("target is 0")


def test_what_is_left_out_is_counted() -> None:
    times = [
        Timed(0, 100.0), Timed(1, 300.0), Timed(2, 900.0, "flow check"),
        Timed(3, Unknown("the record has a gap")), Timed(4, NAN), Timed(5, 260.0),
    ]  # fmt: skip
    found = statistics(times, Unknown("no target set"))
    assert (found.timed, found.unknown, found.excluded) == (3, 2, 1)
    assert (found.mean, found.median, found.shortest, found.longest) == (220, 260, 100, 300)
    assert reason(found.over_target) == "no target set"
    assert reason(statistics([], 100.0).mean) == "no connection was timed"


def test_each_tour_has_its_own_connections() -> None:
    times = [Timed(float(at), 60.0 + at) for at in (0, 11, 12, 23, 24)]
    day, night = Tour("day", 0.0, 12.0), Tour("night", 12.0, 24.0)
    found = per_tour(times, [night, day], 65.0)
    assert [(s.timed, s.over_target) for s in found] == [(2, 7.0 + 18.0), (2, 6.0)]
    with pytest.raises(InputError, match="'day' and 'late' overlap"):
        per_tour(times, [day, Tour("late", 11.0, 13.0)], 65.0)
    with pytest.raises(InputError, match="ends at 0, starts 5"):
        per_tour(times, [Tour("back", 5.0, 0.0)], 65.0)


def test_no_stands_have_no_mean_time() -> None:
    assert reason(stand_time(0, HOUR)).startswith("stands is 0")
    assert reason(length_per_time(28.0, 0.0)).startswith("time is 0")
