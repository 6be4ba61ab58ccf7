"""The block on its way to the crown or the floor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import G0
from engine.well.answer import Unknown
from engine.well.travel import (
    ASSUMED_BRAKING,
    Approach,
    Stops,
    allowed_speed,
    approach,
    braking_factor,
    braking_or_assumed,
    highest_at_full_speed,
    move_time,
    stopping_distance,
)
from tests.check_rows import row

NAN = float("nan")
STOPS = Stops(crown=34.0, floor=0.0, reaction=0.5, deceleration=1.5)
SMALL = st.floats(0.01, 50)


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def heading(position: float, speed: float, age: float = 0.1) -> Approach:
    found = approach(position, speed, age, STOPS)
    assert isinstance(found, Approach), found
    return found


@given(SMALL, st.floats(0, 3), st.floats(0.1, 9))
def test_the_allowed_speed_just_stops_in_the_distance(s: float, tr: float, a: float) -> None:
    """Own: the one is the other turned round."""
    v = allowed_speed(s, tr, a)
    assert isinstance(v, float)
    assert stopping_distance(v, tr, a) == pytest.approx(s, rel=1e-9)
    assert stopping_distance(-v, tr, a) == stopping_distance(v, tr, a)


@given(SMALL, st.floats(0.05, 3), st.floats(0.1, 5), st.floats(0.1, 5))
def test_a_move_covers_its_distance(s: float, v: float, a1: float, a2: float) -> None:
    """Numerical integral of the speed over the time found, in 20,000 steps."""
    total = move_time(s, v, a1, a2)
    assert isinstance(total, float)
    t = np.linspace(0, total, 20_001)
    speed = np.minimum(np.minimum(a1 * t, v), a2 * (total - t))
    assert np.trapezoid(speed, t) == pytest.approx(s, rel=1e-4)


@row("G31")
def test_past_the_stop_no_speed_is_allowed() -> None:
    """G31: distance to the crown below 0: allowed speed 0."""
    assert allowed_speed(-0.01, 0.5, 1.5) == 0.0
    assert allowed_speed(0.0, 0.5, 1.5) == 0.0
    found = heading(33.0, 0.5)
    assert (found.stop, found.distance, found.allowed, found.seconds) == ("crown", -1.0, 0.0, 0.0)
    assert found.too_fast


@row("G30")
def test_a_stale_position_of_a_moving_block_is_no_position() -> None:
    """G30: older than 0.25 s while moving."""
    assert reason(approach(20.0, 1.0, 0.26, STOPS)) == "position unknown"
    assert reason(approach(20.0, 1.0, -1.0, STOPS)) == "position unknown"
    assert isinstance(approach(20.0, 1.0, 0.25, STOPS), Approach)
    assert reason(approach(20.0, 0.0, 60.0, STOPS)) == "the block stands"
    for lost in ((NAN, 1.0, 0.1), (20.0, NAN, 0.1), (20.0, 1.0, NAN)):
        assert reason(approach(*lost, STOPS)) == "position unknown"


def test_the_time_to_the_crown_is_told_going_up() -> None:
    """By hand: 34 - 2 - 30 = 2 m at 1 m/s; stops in 0.5 + 1/3 m; allowed 1.8117 m/s."""
    found = heading(30.0, 1.0)
    assert (found.stop, found.distance, found.seconds) == ("crown", 2.0, 2.0)
    assert found.stopping == pytest.approx(0.5 + 1 / 3)
    assert found.allowed == pytest.approx(-0.75 + (0.75**2 + 6) ** 0.5)
    assert not found.too_fast
    assert heading(30.0, 1.9).too_fast


def test_the_time_to_the_floor_is_told_going_down() -> None:
    """By hand: 4 - 0 - 1 = 3 m at 2 m/s."""
    found = heading(4.0, -2.0)
    assert (found.stop, found.distance, found.seconds) == ("floor", 3.0, 1.5)
    assert not found.too_fast
    assert heading(4.0, -2.4).too_fast


def test_the_height_for_full_speed_leaves_room_to_stop() -> None:
    """One and the same limit, seen from the height and from the speed."""
    height = highest_at_full_speed(34.0, 2.0, 1.5, 0.5, 1.5)
    assert isinstance(height, float)
    assert not heading(height - 1e-6, 1.5).too_fast
    assert heading(height + 1e-6, 1.5).too_fast


def test_a_brake_that_was_not_measured_is_taken_to_be_slow() -> None:
    assert braking_or_assumed(Unknown("never tried")) == (ASSUMED_BRAKING, True)
    assert braking_or_assumed(0.0) == (ASSUMED_BRAKING, True)
    assert braking_or_assumed(NAN) == (ASSUMED_BRAKING, True)
    assert braking_or_assumed(1.8) == (1.8, False)


def test_hoisting_the_line_goes_slack_at_one_g() -> None:
    assert braking_factor(1.5, hoisting=True) == pytest.approx(1 - 1.5 / G0)
    assert reason(braking_factor(G0, hoisting=True)) == "the line goes slack"
    assert braking_factor(0.0) == 1.0
    hard = replace(STOPS, deceleration=10.0)
    assert "slack" in reason(approach(20.0, 1.0, 0.1, hard))
    assert isinstance(approach(20.0, -1.0, 0.1, hard), Approach)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (stopping_distance(1.5, 0.5, 0.0), "deceleration is 0"),
        (stopping_distance(NAN, 0.5, 1.0), "speed is unknown"),
        (stopping_distance(1.5, -0.5, 1.0), "reaction is -0.5"),
        (allowed_speed(NAN, 0.5, 1.0), "distance is unknown"),
        (allowed_speed(1.0, 0.5, -1.0), "deceleration is -1"),
        (highest_at_full_speed(NAN, 1.0, 1.0, 0.5, 1.0), "crown is unknown"),
        (move_time(10.0, 0.0, 1.0, 1.0), "speed is 0"),
        (move_time(10.0, 1.0, 0.0, 1.0), "acceleration is 0"),
        (braking_factor(NAN), "deceleration is unknown"),
        (approach(20.0, 1.0, 0.1, replace(STOPS, crown=NAN)), "crown is unknown"),
        (approach(20.0, 1.0, 0.1, replace(STOPS, reaction=-1.0)), "reaction is -1"),
    ],
)
def test_a_limit_from_a_number_that_cannot_be_is_unknown(answer: object, words: str) -> None:
    assert words in reason(answer)


def test_no_move_takes_no_time() -> None:
    assert move_time(0.0, 1.0, 1.0, 1.0) == 0.0
    assert stopping_distance(0.0, 5.0, 1.0) == 0.0
