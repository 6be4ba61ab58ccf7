"""The standpipe's law from readings: published exponents, regression with scipy, G29."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from engine.units import GAL, MINUTE, PSI
from engine.well.answer import Answer, Unknown
from engine.well.pressure_law import CALCULATIONS, PressureLaw, fit_law

GPM = GAL / MINUTE
NAN = float("nan")


def law_of(*readings: tuple[float, float]) -> PressureLaw:
    found = fit_law([(q * GPM, p * PSI) for q, p in readings])
    assert isinstance(found, PressureLaw), found
    return found


def psi(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer / PSI


@pytest.mark.parametrize(
    ("readings", "exponent", "digits"),
    [
        pytest.param(((315, 2500), (120, 450)), 1.7768, 5e-5, id="W24 Lapeyrouse, docs.kws.tn"),
        pytest.param(((320, 2700), (130, 500)), 1.872, 5e-4, id="W27 drillingformulas.com"),
    ],
)
def test_two_readings_give_the_published_exponent(
    readings: tuple[tuple[float, float], ...], exponent: float, digits: float
) -> None:
    """Pump pressure and pump strokes, worked examples of the pages in the ids."""
    law = law_of(*readings)
    assert law.exponent == pytest.approx(exponent, abs=digits)
    assert not law.assumed
    for q, p in readings:
        assert psi(law.expected(q * GPM)) == pytest.approx(p, rel=1e-12)


def test_half_the_rate_gives_the_published_pressure() -> None:
    """Lapeyrouse, docs.kws.tn (W25): 1,800 psi at 60 spm, exponent 1.7768, 525 psi at 30."""
    law = PressureLaw(60 * GPM, 1800 * PSI, 1.7768, assumed=False)
    assert psi(law.expected(30 * GPM)) == pytest.approx(525, abs=0.5)


@pytest.mark.parametrize(
    ("rate", "pressure", "new", "expected"),
    [
        pytest.param(60, 1800, 30, 450, id="W23 Lapeyrouse, docs.kws.tn"),
        pytest.param(40, 2500, 25, 976.6, id="W26 drillingformulas.com"),
    ],
)
def test_one_rate_assumes_the_exponent_2_and_says_so(
    rate: float, pressure: float, new: float, expected: float
) -> None:
    """G29, and the published answers with exponent 2."""
    law = law_of((rate, pressure))
    assert law.assumed
    assert law.exponent == 2
    assert psi(law.expected(new * GPM)) == pytest.approx(expected, abs=0.05)


def test_two_readings_at_one_rate_still_only_assume() -> None:
    """G29: a spread of a thousandth is no second rate."""
    law = law_of((300.0, 2000.0), (300.1, 2010.0))
    assert law.assumed
    assert psi(law.expected(300.05 * GPM)) == pytest.approx(2005, abs=1)


@given(
    st.lists(
        st.tuples(st.floats(1e-3, 0.1), st.floats(1e5, 4e7)), min_size=2, max_size=8,
    )
)  # fmt: skip
def test_many_readings_are_fitted_as_scipy_does(readings: list[tuple[float, float]]) -> None:
    """`scipy.stats.linregress` on the logarithms."""
    x, y = np.log([q for q, _ in readings]), np.log([p for _, p in readings])
    law = fit_law(readings)
    if x.max() - x.min() < 1e-3:
        assert isinstance(law, PressureLaw)
        assert law.assumed
        return
    slope = linregress(x, y)
    if isinstance(law, Unknown):
        assert slope.slope <= 1e-9
        return
    assert law.exponent == pytest.approx(slope.slope, rel=1e-6, abs=1e-9)
    at = np.exp(slope.intercept + slope.slope * np.log(0.03))
    assert law.expected(0.03) == pytest.approx(at, rel=1e-6)


@pytest.mark.parametrize(
    "readings",
    [
        [], [(0.0, 1e6)], [(0.03, 0.0)], [(NAN, 1e6)], [(0.03, NAN)], [(-0.03, 1e6)],
        [(0.02, 2e6), (0.03, 1e6)], [(0.02, 2e6), (0.03, 2e6)], [(0.03, float("inf"))],
    ],
)  # fmt: skip
def test_readings_that_cannot_be_are_refused_with_a_reason(
    readings: list[tuple[float, float]],
) -> None:
    """Hand-made: none, zero, unknown, or pressure that does not rise with flow."""
    found = fit_law(readings)
    assert isinstance(found, Unknown)
    assert found.reason


def test_no_flow_is_no_pressure_and_an_unknown_flow_no_number() -> None:
    """G04 for the law."""
    law = law_of((300.0, 2000.0), (500.0, 5000.0))
    assert law.expected(0.0) == law.expected(1e-5) == 0.0  # 0.6 L/min is no flow
    for bad in (NAN, -1.0, 1e308):
        assert isinstance(law.expected(bad), Unknown)


def test_the_calculation_does_not_show_an_assumed_exponent_as_a_fitted_one() -> None:
    """G29 on the page."""
    (calculation,) = CALCULATIONS
    two = {
        "flow_1": 315 * GPM, "pressure_1": 2500 * PSI, "flow_2": 120 * GPM,
        "pressure_2": 450 * PSI, "flow": 200 * GPM,
    }  # fmt: skip
    out = calculation.run(two)
    assert out["exponent"] == pytest.approx(1.7768, abs=5e-5)
    assert psi(out["pressure"]) == pytest.approx(2500 * (200 / 315) ** 1.7768, rel=1e-4)
    one = calculation.run(two | {"flow_2": 315 * GPM, "pressure_2": 2500 * PSI})
    assert isinstance(one["exponent"], Unknown)
    assert "assumed" in one["exponent"].reason
    assert psi(one["pressure"]) == pytest.approx(2500 * (200 / 315) ** 2)
    none = calculation.run(two | {"pressure_2": 0.0})
    assert isinstance(none["pressure"], Unknown)
