"""Pipe in motion: published constants, integration with scipy, the limit as an inverse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from engine.units import FT, IN, LB100, PPG, PSI
from engine.well.answer import Answer, Unknown
from engine.well.geometry import Section
from engine.well.rheology import Rheology, bingham, newtonian
from engine.well.swab_surge import (
    CALCULATIONS,
    FASTEST,
    PEAK,
    clinging_laminar,
    clinging_newtonian,
    clinging_turbulent,
    effective_speed,
    pressure_change,
    speed_limit,
)

NAN = float("nan")


def number(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def around(length: float, hole: float, outer: float, inner: float) -> Section:
    return Section(0.0, length * FT, hole * IN, outer * IN, inner * IN, 30.0, "hole", "pipe")


R1_MUD = bingham(0.020, 15 * LB100)
MUD = 10.5 * PPG
R1 = (around(9400, 8.5, 5, 4.276), around(600, 8.5, 6.75, 2.8125))


@given(st.floats(0.05, 0.995))
def test_the_newtonian_constant_is_what_integration_gives(ratio: float) -> None:
    """Couette flow by hand: v(r) = ln r / ln a from the hole (1) to the pipe (a), scipy."""
    from math import log

    share, _ = quad(lambda r: 2 * r * log(r) / log(ratio), ratio, 1)
    assert clinging_newtonian(ratio) == pytest.approx(share / (1 - ratio**2), abs=1e-6)


def test_the_newtonian_constant_stays_finite_in_a_slot() -> None:
    """Limit by hand: half, since the mud's speed falls linearly across a slot."""
    assert clinging_newtonian(0.9995) == pytest.approx(0.5, abs=3e-4)
    assert clinging_newtonian(0.9989) == pytest.approx(0.5, abs=3e-4)


def test_the_fit_of_the_chart_meets_the_exact_constant_near_usual_pipe() -> None:
    """B. Guo and G. Liu (2011), p. 50: at 5 in 8.5 in 0.412 against 0.413."""
    assert number(clinging_laminar(5 / 8.5)) == pytest.approx(0.412, abs=5e-4)
    assert number(clinging_newtonian(5 / 8.5)) == pytest.approx(0.413, abs=5e-4)
    assert number(clinging_turbulent(5 / 8.5)) == pytest.approx(0.469, abs=5e-4)


def test_the_reference_string_swabs_as_worked_by_hand() -> None:
    """R1 at 1.5 ft/s, field forms: 224.0 psi over the pipe and 38.4 over the collars."""
    pipe = number(pressure_change(R1[:1], R1_MUD, MUD, 1.5 * FT)) / PSI
    collars = number(pressure_change(R1[1:], R1_MUD, MUD, 1.5 * FT)) / PSI
    assert pipe == pytest.approx(224.0, rel=2e-3)
    assert collars == pytest.approx(38.4, rel=2e-3)
    assert number(pressure_change(R1, R1_MUD, MUD, 1.5 * FT)) / PSI == pytest.approx(pipe + collars)


def test_pulling_and_running_at_one_speed_move_the_pressure_by_the_same() -> None:
    """First order: the sign of the speed only says swab or surge."""
    assert pressure_change(R1, R1_MUD, MUD, -0.5) == pressure_change(R1, R1_MUD, MUD, 0.5)


def test_an_open_end_lets_mud_through_and_moves_less() -> None:
    """By hand: (d2 - di2) / (D2 - d2 + di2) is 0.103 for 5 x 4.276 in 8.5 in, not 0.529."""
    open_end = number(effective_speed(1.0, 8.5 * IN, 5 * IN, 4.276 * IN, 0.0))
    assert open_end == pytest.approx(6.715824 / 65.534176, rel=1e-6)
    assert number(effective_speed(1.0, 8.5 * IN, 5 * IN, 0.0, 0.0)) == pytest.approx(25 / 47.25)
    shut, through = (pressure_change(R1, R1_MUD, MUD, 1.0, closed=c) for c in (True, False))
    assert number(through) < number(shut)


@given(st.floats(1e-3, 3), st.floats(1e-6, 2), st.booleans())
def test_a_faster_string_moves_the_pressure_more(speed: float, more: float, closed: bool) -> None:
    """Property: monotonic in speed."""
    slow = number(pressure_change(R1, R1_MUD, MUD, speed, closed=closed))
    fast = number(pressure_change(R1, R1_MUD, MUD, speed * (1 + more), closed=closed))
    assert fast >= slow > 0


def test_a_standing_string_moves_nothing() -> None:
    """G04 for pipe: 0 at rest, though 201 psi of yield stands against the first motion."""
    assert pressure_change(R1, R1_MUD, MUD, 0.0) == 0.0
    assert pressure_change(R1, R1_MUD, MUD, 1e-4) == 0.0  # 0.4 m/h is standing
    first = number(pressure_change(R1[:1], R1_MUD, MUD, 0.001)) / PSI
    assert first == pytest.approx(201.4, rel=2e-3)  # YP L / (200 c), by hand


@given(st.floats(2.5e6, 8e6), st.floats(1, 2.5), st.booleans())
def test_the_limit_spends_the_margin_and_not_more(margin: float, peak: float, closed: bool) -> None:
    """Property: at the limit times the peak the change is the margin, from below."""
    limit = number(speed_limit(R1, R1_MUD, MUD, margin, closed=closed, peak=peak))
    if limit == FASTEST:
        top = number(pressure_change(R1, R1_MUD, MUD, limit * peak, closed=closed))
        assert top <= margin
        return
    spent = number(pressure_change(R1, R1_MUD, MUD, limit * peak, closed=closed))
    assert spent <= margin
    assert spent == pytest.approx(margin, rel=1e-3)


def test_a_margin_that_the_yield_alone_uses_up_allows_no_speed() -> None:
    """By hand: no room is speed 0, not a small or negative one."""
    assert speed_limit(R1, R1_MUD, MUD, 100 * PSI) == 0.0
    assert speed_limit(R1, R1_MUD, MUD, 0.0) == 0.0
    assert speed_limit(R1, R1_MUD, MUD, -1e6) == 0.0
    assert number(speed_limit(R1, newtonian(0.001), 1000.0, 1e8)) == FASTEST


@pytest.mark.parametrize(
    "answer",
    [
        pressure_change(Unknown("no hole"), R1_MUD, MUD, 1.0),
        pressure_change(R1, Unknown("no mud report"), MUD, 1.0),
        pressure_change(R1, R1_MUD, MUD, NAN),
        pressure_change(R1, R1_MUD, 0.0, 1.0),
        pressure_change([around(10, 5, 6, 2)], R1_MUD, MUD, 1.0),
        speed_limit(Unknown("no hole"), R1_MUD, MUD, 1e6),
        speed_limit(R1, Unknown("no mud report"), MUD, -1e6),
        speed_limit(R1, R1_MUD, MUD, NAN),
        speed_limit(R1, R1_MUD, MUD, 1e6, peak=0.5),
        effective_speed(1.0, 0.2, 0.2),
        effective_speed(1.0, 0.2, 0.1, 0.15),
        effective_speed(NAN, 0.2, 0.1),
        clinging_newtonian(1.0),
        clinging_laminar(0.0),
        clinging_turbulent(NAN),
    ],
)
def test_what_cannot_be_worked_out_has_a_reason(answer: Answer) -> None:
    """Hand-made cases."""
    assert isinstance(answer, Unknown)
    assert answer.reason


def test_an_empty_hole_does_not_swab() -> None:
    """No pipe, no friction: the part of the hole below the bit stands still."""
    below = Section(0.0, 1000.0, 0.2, 0.0, 0.0, 0.0, "hole", "")
    assert pressure_change([below], R1_MUD, MUD, 1.0) == 0.0
    assert pressure_change([], R1_MUD, MUD, 1.0) == 0.0


def test_the_calculations_carry_the_caution_and_agree_with_the_functions() -> None:
    """R1's pipe: 224 psi at 1.5 ft/s is 0.46 ppg at 9,400 ft by 12/231."""
    swab, limit = CALCULATIONS
    assert swab.caution
    assert limit.caution
    string = {
        "mud_weight": MUD, "plastic_viscosity": 0.020, "yield_point": 15 * LB100,
        "hole": 8.5 * IN, "pipe": 5 * IN, "length": 9400 * FT,
    }  # fmt: skip
    out = swab.run(string | {"speed": 1.5 * FT, "tvd": 9400 * FT})
    assert number(out["change"]) / PSI == pytest.approx(224.0, rel=2e-3)
    off = 224.0 / (12 / 231 * 9400)
    assert (MUD - number(out["swab_density"])) / PPG == pytest.approx(off, rel=3e-3)
    assert (number(out["surge_density"]) - MUD) / PPG == pytest.approx(off, rel=3e-3)
    shallow = swab.run(string | {"speed": 1.5 * FT, "tvd": 0.5})
    assert isinstance(shallow["swab_density"], Unknown)
    assert number(shallow["change"]) > 0
    fast = number(limit.run(string | {"margin": 224.0 * PSI})["speed"])
    assert fast * PEAK / FT == pytest.approx(1.5, rel=0.02)
    assert isinstance(R1_MUD, Rheology)
