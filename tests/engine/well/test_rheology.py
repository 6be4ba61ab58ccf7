"""Dial readings to flow models. Sources beside each check; the readings are of no real mud."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.units import LB100
from engine.well.answer import Unknown
from engine.well.rheology import (
    CALCULATIONS,
    DIAL,
    FlowModel,
    Model,
    Readings,
    Rheology,
    bingham,
    bingham_sheet,
    fit,
    herschel_bulkley,
    newtonian,
    power_law,
)
from tests.check_rows import row

NAN = float("nan")


def fitted(readings: Readings, model: Model) -> FlowModel:
    found = fit(readings, model)
    assert isinstance(found, FlowModel), found
    return found


def test_the_bingham_model_of_a_mud_report_is_met() -> None:
    """B. Guo and G. Liu (2011), p. 25: PV = R600 - R300, YP = R300 - PV; 65 and 39 by hand."""
    assert bingham_sheet(65, 39) == (26, 13)
    mud = fitted(Readings(65, 39), "bingham").pipe
    assert mud.consistency == pytest.approx(0.026, rel=1e-3)  # 0.511 / 510.9 is 1.0002 mPa s
    assert mud.yield_stress == pytest.approx(13 * DIAL)


def test_a_degree_of_the_dial_is_a_little_more_than_the_field_unit() -> None:
    """API RP 13D: 5.11 dyn/cm2 a degree, 1.067 lbf/100 ft2."""
    assert pytest.approx(1.067, abs=5e-4) == DIAL / LB100


def test_the_power_law_of_the_course_example_is_met() -> None:
    """PETE 411 lesson 13 on API RP 13D (1995): n 0.737, K 2.017 eq Pa s^n x 10 in the pipe."""
    found = fitted(Readings(65, 39, 20, None, 3), "power_law")
    assert found.pipe.index == pytest.approx(0.737, abs=5e-4)
    assert 10 * found.pipe.consistency == pytest.approx(2.017, rel=5e-3)  # 3.32 is 3.3219
    assert found.annulus.index == pytest.approx(0.541, abs=1e-3)
    assert found.rejected == ()


def test_the_herschel_bulkley_model_is_met() -> None:
    """Parameters after API RP 13D (2006), by hand for 60/40/8/7: yield 6, n 0.667, k 0.531."""
    mud = fitted(Readings(60, 40, None, 8, 7), "herschel_bulkley").pipe
    assert mud.yield_stress / DIAL == pytest.approx(6)
    assert mud.index == pytest.approx(0.667, abs=5e-4)
    assert mud.consistency / DIAL == pytest.approx(0.531, rel=5e-3)  # there 3.32 and 511


@given(st.floats(1.5, 150), st.floats(0.51, 0.98))
def test_every_two_point_model_goes_through_its_points(r600: float, share: float) -> None:
    """A model from two readings gives them back: algebra."""
    readings = Readings(r600, r600 * share)
    for model in ("bingham", "power_law"):
        mud = fitted(readings, model).pipe  # type: ignore[arg-type]  # both are models
        for rpm, reading in ((600, r600), (300, r600 * share)):
            assert mud.stress(1.703 * rpm) / DIAL == pytest.approx(reading, rel=1e-9)


def test_the_turbulence_index_is_that_of_the_fast_readings_whatever_the_model() -> None:
    """API RP 13D (2006): n_p from 600 and 300 rpm; 65 and 39 give 0.737."""
    readings = Readings(65, 39, 20, 6, 5)
    for model in ("herschel_bulkley", "power_law", "bingham"):
        found = fitted(readings, model).pipe  # type: ignore[arg-type]  # all are models
        assert found.turbulence_index == pytest.approx(0.737, abs=5e-4)
    water = newtonian(0.001)
    assert isinstance(water, Rheology)
    assert water.turbulence_index == 1


@row("G06 R300 <= yield")
def test_a_yield_above_r300_falls_back_to_bingham_with_the_reason() -> None:
    """G06."""
    found = fitted(Readings(60, 40, None, 5, 25), "herschel_bulkley")
    assert found.pipe.model == "bingham"
    (reason,) = found.rejected
    assert reason.startswith("herschel bulkley rejected")
    assert "R300 must be above the yield" in reason
    assert "45" in reason


def test_a_mud_that_thickens_falls_back_to_one_viscosity_with_both_reasons() -> None:
    """G06: R600 more than twice R300 has no yield point and no index up to 1."""
    found = fitted(Readings(50, 20, 10, None, 2), "power_law")
    assert found.pipe.model == "newtonian"
    assert found.pipe.consistency == pytest.approx(0.025, rel=1e-3)  # half of R600, in mPa s
    assert [r.split(" rejected")[0] for r in found.rejected] == ["power law", "bingham"]


@row("G06 R600 <= R300")
@pytest.mark.parametrize("model", ["newtonian", "bingham", "power_law", "herschel_bulkley"])
@pytest.mark.parametrize(
    "readings",
    [
        Readings(40, 40, 20, 8, 7), Readings(30, 40, 20, 8, 7), Readings(60, 0, 20, 8, 7),
        Readings(NAN, 40, 20, 8, 7), Readings(60, NAN, 20, 8, 7), Readings(60, -1, 20, 8, 7),
    ],
)  # fmt: skip
def test_without_r600_above_r300_above_zero_there_is_no_model(
    readings: Readings, model: Model
) -> None:
    """G06: every model is rejected and each reason is kept."""
    found = fit(readings, model)
    assert isinstance(found, Unknown)
    assert "newtonian rejected" in found.reason


@pytest.mark.parametrize(
    "readings",
    [
        Readings(65, 39), Readings(65, 39, 20), Readings(65, 39, None, None, 3),
        Readings(65, 39, 20, None, 0), Readings(65, 39, 20, None, 25), Readings(65, 39, NAN, 6, 3),
    ],
)  # fmt: skip
def test_the_pipe_fit_serves_the_annulus_when_the_slow_readings_do_not(readings: Readings) -> None:
    """Hand-made cases: said, not silent."""
    found = fitted(readings, "power_law")
    assert found.annulus == found.pipe
    assert found.rejected[0].startswith("annulus: ")


@pytest.mark.parametrize(
    "readings",
    [Readings(60, 40), Readings(60, 40, 20, 8), Readings(60, 40, 20, 8, NAN),
     Readings(60, 40, 20, 9, 4)],
)  # fmt: skip
def test_herschel_bulkley_needs_slow_readings_and_a_yield_of_zero_or_more(
    readings: Readings,
) -> None:
    """G06: missing, NaN, and 2 R3 - R6 = -1."""
    assert fitted(readings, "herschel_bulkley").pipe.model == "bingham"


@pytest.mark.parametrize(
    "made",
    [
        newtonian(0.0), newtonian(NAN), bingham(0.0, 5.0), bingham(0.02, -1.0),
        bingham(NAN, 0.0), power_law(1.2, 0.5), power_law(0.05, 0.5), power_law(0.7, 0.0),
        herschel_bulkley(-1.0, 0.7, 0.5), herschel_bulkley(1.0, NAN, 0.5),
    ],
)  # fmt: skip
def test_an_impossible_parameter_is_refused_with_its_value(made: Rheology | Unknown) -> None:
    """Hand-made cases."""
    assert isinstance(made, Unknown)
    assert "got" in made.reason


def test_an_unknown_model_name_is_a_mistake_of_the_caller() -> None:
    """An error names the choices."""
    with pytest.raises(InputError, match="power_law"):
        fit(Readings(60, 40), "casson")  # type: ignore[arg-type]  # that is the mistake


def test_the_calculation_gives_what_stands_and_says_why_the_rest_does_not() -> None:
    """G06 on the page: 60/40/20/5/25 has Bingham and power law, no Herschel-Bulkley."""
    (calculation,) = CALCULATIONS
    out = calculation.run({"r600": 60, "r300": 40, "r100": 20, "r6": 5, "r3": 25})
    assert out["plastic_viscosity"] == pytest.approx(0.020, rel=1e-3)
    assert out["pipe_index"] == pytest.approx(0.585, abs=5e-4)
    assert isinstance(out["index"], Unknown)
    assert isinstance(out["annulus_index"], Unknown)
    assert set(out) == {o.name for o in calculation.outputs}
