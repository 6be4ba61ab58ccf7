"""String weight, drag, reeving and the soft string: edges, limits, properties."""

from __future__ import annotations

from math import exp, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import G0, IN, LBF, PSI
from engine.well.answer import Unknown
from engine.well.reeving import (
    crown_load,
    design_factor,
    fast_line_factor,
    hoist_power,
    hoist_speed,
    line_tension,
    reeving_efficiency,
)
from engine.well.sheaves import hoisting_factor
from engine.well.soft_string import Element, HookWeights, contact, hook_weights
from engine.well.weight_drag import (
    Part,
    air_weights,
    buoyancy_factor,
    buoyed_weights,
    down_drag,
    immersed_weight,
    overpull,
    overpull_margin,
    rotating_gap,
    stretch,
    tensile_strength,
    total,
    up_drag,
    usable_bit_weight,
    weight_on_bit,
)
from tests.check_rows import row

NAN, INF = float("nan"), float("inf")
PIPE = [Part(1000.0, 30.0), Part(200.0, 75.0)]


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def test_an_empty_string_weighs_nothing() -> None:
    assert total(buoyed_weights([], 1200.0)) == 0.0
    assert hook_weights([], 0.3) == HookWeights(0.0, 0.0, 0.0, 0.0)
    assert stretch(0.0, 1000.0, 3e-3) == 0.0
    assert stretch(-1e4, 1000.0, 3e-3) == pytest.approx(-1e7 / (3e-3 * 2.07e11))


@pytest.mark.parametrize("mud", [NAN, INF, -1.0, 7850.0, 9000.0])
def test_a_mud_that_cannot_be_gives_no_weight(mud: float) -> None:
    for answer in (buoyancy_factor(mud), buoyed_weights(PIPE, mud), usable_bit_weight(PIPE, mud)):
        assert "mud density" in reason(answer) or "as heavy as steel" in reason(answer)


def test_a_part_that_cannot_be_is_named() -> None:
    assert reason(air_weights([PIPE[0], Part(NAN, 30.0)])) == "part 2: length is unknown"
    assert "part 1" in reason(air_weights([Part(1e200, 1e200)]))


@given(st.floats(0.0, 7000.0), st.floats(0.0, 500.0), st.floats(0.0, 0.5))
def test_one_mud_inside_and_outside_is_the_buoyancy_factor(mud: float, w: float, d: float) -> None:
    """Archimedes: fluid inside and the same outside leave w (1 - mud / steel)."""
    factor, weight = buoyancy_factor(mud), immersed_weight(w, d, mud, mud)
    assert isinstance(factor, float)
    assert weight == pytest.approx(w * G0 * factor, rel=1e-9, abs=1e-6)


def test_pipe_full_of_air_may_float() -> None:
    """By hand: 10 kg/m, bore 0.2 m, water outside: 10 - 1000 (pi/4 0.04 + 10/7850)."""
    expected = G0 * (10 - 1000 * (pi / 4 * 0.04 + 10 / 7850))
    assert immersed_weight(10.0, 0.2, 0.0, 1000.0) == pytest.approx(expected)
    assert expected < 0


@row("G12")
def test_without_a_tare_the_weight_on_bit_is_unknown() -> None:
    """G12, G11: never a guess from the hook load alone, and nothing in slips."""
    assert reason(weight_on_bit(Unknown("no tare yet"), 1e6)) == "no tare yet"
    assert reason(weight_on_bit(NAN, 1e6)) == "off-bottom weight is unknown"
    assert reason(weight_on_bit(1e6, Unknown("in slips"))) == "in slips"


@row("G13")
def test_a_pull_off_bottom_is_overpull_and_no_weight_on_bit() -> None:
    """G13: hook load above the tare is overpull; the number for the bit is not clipped."""
    assert overpull(1000e3, 1080e3) == 80e3
    assert weight_on_bit(1000e3, 1080e3) == -80e3


def test_drag_goes_with_the_readings() -> None:
    """300 up, 240 down, 265 rotating: 35, 25, 5 above (by hand)."""
    assert (up_drag(300, 265), down_drag(265, 240), rotating_gap(300, 240, 265)) == (35, 25, 5)
    assert reason(rotating_gap(NAN, 240, 265)) == "pick-up weight is unknown"
    assert reason(down_drag(Unknown("not taken"), 240)) == "not taken"


def test_the_margin_of_overpull_is_what_the_body_has_left() -> None:
    """By hand: 105,000 psi on 5 x 4.276 in is 553.8 klbf (API grade X, from memory 553.8)."""
    strength = tensile_strength(105_000 * PSI, 5 * IN, 4.276 * IN)
    assert isinstance(strength, float)
    assert strength / LBF == pytest.approx(553_833, rel=1e-4)
    margin = overpull_margin(strength, 300_000 * LBF)
    assert isinstance(margin, float)
    assert margin / LBF == pytest.approx(0.9 * 553_833 - 300_000, abs=60)
    assert reason(tensile_strength(1e8, 0.1, 0.1)) == "the bore is as wide as the pipe"
    assert reason(overpull_margin(strength, 0.0, 1.2)).startswith("share of strength")
    assert reason(overpull_margin(Unknown("worn"), 0.0)) == "worn"


@given(st.integers(1, 16), st.floats(0.9, 0.9999))
def test_the_reeving_efficiency_is_the_dead_line_factor_seen_from_the_fast_line(
    lines: int, e: float
) -> None:
    """The fast line pulls K^n of what the dead line does; Luke and Juvkam-Wold (1993)."""
    efficiency = reeving_efficiency(lines, 1 / e)
    assert isinstance(efficiency, float)
    assert efficiency == pytest.approx(hoisting_factor(lines, e) * e**lines, rel=1e-9)
    assert 0 < efficiency <= 1


@pytest.mark.parametrize("lines", [0, -2, 8.5, 17, NAN])
def test_lines_that_cannot_be_strung_give_no_load(lines: float) -> None:
    for answer in (
        line_tension(1e6, lines),
        reeving_efficiency(lines),
        fast_line_factor(lines, 0.8),
        crown_load(1e6, lines, 0.8),
    ):
        assert "lines" in reason(answer)


def test_an_empty_hook_has_no_speed_and_no_design_factor() -> None:
    assert reason(hoist_speed(1e6, 0.0, 0.8)) == "nothing hangs on the hook"
    assert reason(design_factor(8e5, 0.0)) == "nothing hangs on the line"
    assert hoist_speed(0.0, 1e6, 0.8) == 0.0
    assert hoist_power(1e6, 0.0, 0.8) == 0.0
    assert "efficiency" in reason(hoist_power(1e6, 1.0, 0.0))
    assert "0 to 1" in reason(fast_line_factor(8, 1.1))
    assert reason(reeving_efficiency(8, 0.9)).endswith("at least 1")


def test_a_vertical_string_has_no_drag() -> None:
    found = hook_weights([Element(1e5, 0.0) for _ in range(10)], 0.4)
    assert found == HookWeights(1e6, 1e6, 1e6, 0.0)


def test_a_straight_inclined_hole_is_an_inclined_plane() -> None:
    """By hand: 30 degrees from the vertical, W cos +/- mu W sin, torque mu W sin r."""
    found = hook_weights([Element(1e5, pi / 6, radius=0.08)] * 4, 0.25)
    assert isinstance(found, HookWeights)
    along, rub = 4e5 * 3**0.5 / 2, 0.25 * 4e5 / 2
    assert found.pick_up == pytest.approx(along + rub)
    assert found.slack_off == pytest.approx(along - rub)
    assert found.rotating == pytest.approx(along)
    assert found.torque == pytest.approx(rub * 0.08)


def test_a_weightless_string_round_a_bend_is_a_belt_on_a_drum() -> None:
    """Euler and Eytelwein: a bend of angle b multiplies the pull by exp(mu b)."""
    parts = 4000
    bend = [Element(0.0, 1.0, turn=-1.2 / parts) for _ in range(parts)]
    found = hook_weights(bend, 0.3, 1e5)
    assert isinstance(found, HookWeights)
    assert found.pick_up == pytest.approx(1e5 * exp(0.3 * 1.2), rel=1e-4)
    assert found.slack_off == pytest.approx(1e5 * exp(-0.3 * 1.2), rel=1e-4)


@given(
    st.lists(
        st.tuples(
            st.floats(0.0, 1e5), st.floats(0.0, pi), st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)
        ),
        max_size=12,
    ),
    st.floats(0.0, 0.6),
)
def test_up_is_never_lighter_than_rotating_nor_down_heavier(
    rows: list[tuple[float, float, float, float]], friction: float
) -> None:
    found = hook_weights([Element(*row, radius=0.1) for row in rows], friction)
    assert isinstance(found, HookWeights)
    assert found.slack_off <= found.rotating <= found.pick_up
    assert found.torque >= 0


def test_a_building_hole_takes_weight_off_the_wall() -> None:
    """Tension lifts the string off the low side where the hole builds (turn below 0)."""
    straight = contact(1e5, Element(1e4, 0.8), 0.3)
    building = contact(1e5, Element(1e4, 0.8, turn=-0.02), 0.3)
    assert not isinstance(straight, Unknown)
    assert not isinstance(building, Unknown)
    assert building.side_force < straight.side_force


def test_a_turn_to_the_side_presses_more_the_more_the_hole_inclines() -> None:
    """By hand, 30 degrees: side of the turn 1e5 x 0.04 / 2, of the weight 3000 / 2: 2500 N."""
    found = contact(1e5, Element(3000.0, pi / 6, azimuth_turn=0.04), 0.2)
    assert not isinstance(found, Unknown)
    assert found.side_force == pytest.approx(2500.0)
    assert found.drag == pytest.approx(500.0)


@pytest.mark.parametrize(
    ("element", "friction", "words"),
    [
        (Element(1e4, -0.1), 0.3, "element 1: inclination is -0.1; it must not be negative"),
        (Element(1e4, 4.0), 0.3, "element 1: inclination is 4 rad"),
        (Element(NAN, 0.5), 0.3, "element 1: weight is unknown"),
        (Element(1e4, 0.5), NAN, "friction is unknown"),
        (Element(1e308, 0.5), 1e10, "element 1: weight is 1e+308"),
    ],
)
def test_an_element_that_cannot_be_is_named(element: Element, friction: float, words: str) -> None:
    assert words in reason(hook_weights([element], friction))
