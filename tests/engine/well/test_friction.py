"""Friction of the live form: limits from textbooks and the `fluids` library, shape by property."""

from __future__ import annotations

from math import pi

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from engine.units import FT, GAL, IN, LB100, MINUTE, PPG, PSI
from engine.well.answer import Answer, Unknown
from engine.well.friction import (
    CALCULATIONS,
    FLOW_FLOOR,
    Shape,
    annulus_loss,
    breaking_pressure,
    critical_reynolds,
    gradient,
    pipe_loss,
    wall_stress,
)
from engine.well.friction_sheet import bingham_annulus_sheet, power_law_pipe_sheet
from engine.well.rheology import (
    FlowModel,
    Readings,
    Rheology,
    bingham,
    fit,
    herschel_bulkley,
    newtonian,
    power_law,
)

GPM = GAL / MINUTE


def number(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def mud(made: Rheology | Unknown) -> Rheology:
    assert isinstance(made, Rheology)
    return made


R1 = mud(bingham(0.020, 15 * LB100))
MUDS = st.one_of(
    st.builds(newtonian, st.floats(5e-4, 0.2)),
    st.builds(bingham, st.floats(1e-3, 0.1), st.floats(0, 30)),
    st.builds(power_law, st.floats(0.2, 1), st.floats(5e-3, 3)),
    st.builds(herschel_bulkley, st.floats(0, 15), st.floats(0.3, 1), st.floats(5e-3, 2)),
).map(mud)


@pytest.mark.parametrize(
    "plain",
    [mud(newtonian(0.01)), mud(bingham(0.01, 0.0)), mud(power_law(1.0, 0.01))],
    ids=["newtonian", "bingham without yield", "power law with n = 1"],
)
@pytest.mark.parametrize(
    ("reynolds", "tolerance"), [(200, 1e-6), (1500, 2e-3), (1e4, 0.04), (1e5, 0.02), (5e5, 0.11)]
)
def test_every_model_meets_the_newtonian_limits_of_the_fluids_library(
    plain: Rheology, reynolds: float, tolerance: float
) -> None:
    """`fluids`, smooth pipe: 64/Re; turbulent RP 13D is Blasius-like, 10 % low by Re 5e5."""
    d = 0.1
    v = reynolds * 0.01 / (1000 * d)
    darcy = fluids.friction_factor(Re=reynolds, eD=0.0)
    expected = darcy * 1000 * v**2 / 2 / d * 50
    assert number(pipe_loss(plain, 1000, v * pi / 4 * d**2, d, 50)) == pytest.approx(
        expected, rel=tolerance
    )


def test_laminar_water_in_an_annulus_meets_the_exact_concentric_solution() -> None:
    """F. M. White, Viscous Fluid Flow: (1 - a^4) - (1 - a^2)^2 / ln(1/a); slot is 0.5 % off."""
    outer, a, viscosity, q = 0.10795, 5 / 8.5, 0.1, 2e-3
    exact = 8 * viscosity * q / pi / outer**4 / ((1 - a**4) - (1 - a**2) ** 2 / np.log(1 / a))
    ours = annulus_loss(newtonian(viscosity), 1000, q, 2 * outer, 2 * outer * a, 1.0)
    assert number(ours) == pytest.approx(exact, rel=0.006)


def exact_slot(made: Rheology, speed: float, gap: float) -> float:
    """Solve the slot of a Herschel-Bulkley mud for its gradient by integration. [Pa/m]"""
    half = gap / 4

    def flow(wall: float) -> float:
        def integrand(y: float) -> float:
            stress = wall * y / half
            rate = (stress - made.yield_stress) / made.consistency
            return y * rate ** (1 / made.index)

        plug = half * made.yield_stress / wall
        return float(quad(integrand, plug, half)[0]) / half - speed

    least = made.yield_stress * (1 + 1e-9) + 1e-9
    return float(brentq(flow, least, 1e3 * (1 + made.yield_stress))) / half


@pytest.mark.parametrize(
    ("made", "high"),
    [
        (R1, 0.078),
        (fit(Readings(60, 40, None, 8, 7)), -0.013),
        (power_law(0.6, 0.8), 0.0),
        (newtonian(0.05), 0.0),
    ],
)
def test_the_laminar_annulus_stands_as_far_from_the_exact_slot_as_is_known(
    made: Rheology | FlowModel, high: float
) -> None:
    """Integration with scipy: Bingham form 7.8 % high, Herschel-Bulkley 1.3 % low, rest exact."""
    flow_model = made.annulus if isinstance(made, FlowModel) else made
    flow = (500 if flow_model is R1 else 400) * GPM
    speed = flow / (pi / 4 * (8.5**2 - 5**2) * IN**2)
    stress = wall_stress(flow_model, np.array([speed]), 3.5 * IN, Shape.ANNULUS)
    ours = 4 * float(stress[0]) / (3.5 * IN)
    assert ours / exact_slot(flow_model, speed, 3.5 * IN) - 1 == pytest.approx(high, abs=2e-3)


def test_the_live_form_agrees_with_the_published_pipe_example() -> None:
    """PETE 411 lesson 13 on API RP 13D (1995): 665 psi; the two editions are 0.5 % apart."""
    found = fit(Readings(65, 39, 20, None, 3), "power_law")
    assert isinstance(found, FlowModel)
    ours = number(pipe_loss(found.pipe, 12.5 * PPG, 280 * GPM, 3.78 * IN, 11400 * FT)) / PSI
    assert ours == pytest.approx(665, rel=5e-3)
    assert ours == pytest.approx(
        number(power_law_pipe_sheet(280, 12.5, 3.78, 11400, 65, 39)), rel=5e-3
    )


def test_the_live_form_agrees_with_the_field_form_in_laminar_flow() -> None:
    """B. Guo and G. Liu (2011), p. 40, 125.3 psi; the field constants are 0.06 % low."""
    ours = number(annulus_loss(R1, 10.5 * PPG, 500 * GPM, 8.5 * IN, 5 * IN, 4400 * FT)) / PSI
    assert ours == pytest.approx(
        number(bingham_annulus_sheet(500, 10.5, 20, 15, 8.5, 5, 4400)), rel=1e-3
    )


@given(MUDS, st.floats(900, 2300), st.floats(1e-4, 0.1), st.floats(1e-6, 1), st.booleans())
def test_friction_rises_with_flow_and_never_jumps(
    made: Rheology, density: float, flow: float, more: float, inside: bool
) -> None:
    """Property: monotonic; a millionth more flow is less than five millionths more pressure."""

    def loss(q: float) -> float:
        if inside:
            return number(pipe_loss(made, density, q, 0.1086, 1000))
        return number(annulus_loss(made, density, q, 0.2159, 0.127, 1000))

    at = loss(flow)
    assert loss(flow * (1 + more)) >= at > 0
    assert loss(flow * (1 + 1e-6)) <= at * (1 + 5e-6)


@given(MUDS)
def test_the_blend_is_laminar_below_the_transition_and_turbulent_above(made: Rheology) -> None:
    """API RP 13D (2006): 16/Re well below 3470 - 1370 n, a/Re^b well above 4270 - 1370 n."""
    n = made.turbulence_index
    speed = np.geomspace(1e-4, 60, 400)
    stress = wall_stress(made, speed, 0.1, Shape.PIPE)
    reynolds = 8 * 1200 * speed**2 / stress
    lost = gradient(made, 1200, speed, 0.1, Shape.PIPE) * 0.1
    low = reynolds < 0.5 * critical_reynolds(n)
    assert lost[low] == pytest.approx(4 * stress[low], rel=1e-3)
    high = reynolds > 3 * (critical_reynolds(n) + 800)
    factor = (np.log10(n) + 3.93) / 50 / reynolds ** ((1.75 - np.log10(n)) / 7)
    turbulent = 2 * factor * 1200 * speed**2
    assert lost[high] == pytest.approx(np.maximum(turbulent, 4 * stress)[high], rel=0.07)


@pytest.mark.parametrize("flow", [0.0, FLOW_FLOOR / 2])
def test_a_yield_stress_makes_no_friction_at_rest(flow: float) -> None:
    """G04: 0 at no flow; just above it the yield part of 94 psi is there (by hand, YP L/200c)."""
    assert pipe_loss(R1, 1258, flow, 0.1, 1000) == 0.0
    assert annulus_loss(R1, 1258, flow, 8.5 * IN, 5 * IN, 4400 * FT) == 0.0
    crawling = annulus_loss(R1, 1258, 1.01 * FLOW_FLOOR, 8.5 * IN, 5 * IN, 4400 * FT)
    assert number(crawling) / PSI == pytest.approx(94.3, rel=2e-3)


def test_the_gradient_of_rows_is_zero_at_rest_and_unknown_where_the_speed_is() -> None:
    """A row each: at rest, unknown, negative, moving."""
    rows = gradient(R1, 1258, np.array([0.0, np.nan, -1.0, 1.0]), 0.1, Shape.PIPE)
    assert rows[0] == 0
    assert np.isnan(rows[1:3]).all()
    assert rows[3] > 0


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1.0, 1e300])
def test_a_bad_number_gives_a_reason_and_never_an_infinity(bad: float) -> None:
    """Hand-made: NaN, infinite, negative and absurd flows."""
    for answer in (
        pipe_loss(R1, 1258, bad, 0.1, 1000),
        annulus_loss(R1, 1258, bad, 0.2, 0.1, 1000),
        pipe_loss(R1, -abs(bad), 0.03, 0.1, 1000),
        pipe_loss(R1, 1258, 0.03, 0.0, 1000),
        pipe_loss(Unknown("no mud report"), 1258, 0.03, 0.1, 1000),
        annulus_loss(R1, 1258, 0.03, 0.1, 0.2, 1000),
        breaking_pressure(5.0, 0.0, 1000),
    ):
        assert isinstance(answer, Unknown)


def test_gelled_mud_needs_its_own_pressure_to_start() -> None:
    """Balance of forces on a plug in a 0.1 m bore: 5 Pa x pi d L over pi d2/4 is 200 Pa/m."""
    assert breaking_pressure(5.0, 0.1, 1000) == pytest.approx(2e5)


def test_the_calculations_give_the_same_as_the_functions() -> None:
    """R1's open hole and drill pipe; a gel of 5 Pa by hand, 4 gel L / c."""
    pipe, annulus = CALCULATIONS
    given_ = {
        "flow": 500 * GPM, "density": 10.5 * PPG, "plastic_viscosity": 0.020,
        "yield_point": 15 * LB100, "length": 4400 * FT,
    }  # fmt: skip
    out = annulus.run({**given_, "hole": 8.5 * IN, "pipe": 5 * IN, "gel_strength": 5.0})
    assert number(out["loss"]) / PSI == pytest.approx(125.4, abs=0.05)
    assert out["breaking_pressure"] == pytest.approx(4 * 5 * 4400 * FT / (3.5 * IN))
    assert number(pipe.run({**given_, "bore": 4.276 * IN})["loss"]) > 0
    assert isinstance(pipe.run({**given_, "bore": 0.0})["loss"], Unknown)
