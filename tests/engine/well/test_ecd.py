"""Mud columns and ECD at their edges; the published figures are in test_hydraulics_rows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.well.answer import Answer, Unknown
from engine.well.ecd import CALCULATIONS, circulating_density, level_fall, pressure_at_top
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet
from tests.check_rows import row

NAN = float("nan")


@row("G07")
@pytest.mark.parametrize("cs", [EXACT, FIELD, METRIC], ids=lambda cs: cs.name)
@pytest.mark.parametrize("share", [0.0, 0.5, 0.999, NAN, -5.0])
def test_above_a_metre_of_depth_there_is_no_equivalent_density(
    cs: ConstantSet, share: float
) -> None:
    """G07: with and without friction, in every constant set."""
    mud, tvd = cs.of("density", 1200.0), cs.of("length", share)
    assert isinstance(circulating_density(cs, mud, 10.0, tvd), Unknown)
    assert isinstance(circulating_density(cs, mud, 0.0, tvd), Unknown)


@given(st.floats(900, 2400), st.floats(0, 2e7), st.floats(1, 9000))
def test_the_ecd_is_the_mud_weight_at_rest_and_never_below_it(
    mud: float, loss: float, tvd: float
) -> None:
    """G04, and a property: friction only adds."""
    assert circulating_density(EXACT, mud, 0.0, tvd) == mud
    moving = circulating_density(EXACT, mud, loss, tvd)
    assert not isinstance(moving, Unknown)
    assert moving >= mud


@pytest.mark.parametrize(
    "answer",
    [
        circulating_density(EXACT, 1200, Unknown("no mud report"), 3000),
        circulating_density(EXACT, 1200, -1.0, 3000),
        circulating_density(EXACT, 1200, NAN, 3000),
        circulating_density(EXACT, 1.0, 1e5, 3000),
        circulating_density(EXACT, NAN, 1e5, 3000),
        level_fall(EXACT, NAN, 0.02, 1200),
        pressure_at_top(1e7, NAN, 100),
    ],
)
def test_what_cannot_be_worked_out_has_a_reason(answer: Answer) -> None:
    """Hand-made: unknown or negative friction, a mud lighter than air, no number."""
    assert isinstance(answer, Unknown)
    assert answer.reason


def test_the_calculation_carries_the_caution_and_agrees_with_the_exact_row() -> None:
    """Exact factors (NIST SP 811): 1200 kg/m3 and 15 bar over 3000 m by hand."""
    (calculation,) = CALCULATIONS
    assert calculation.caution
    out = calculation.run({"mud_weight": 1200.0, "annular_loss": 1.5e6, "tvd": 3000.0})
    assert out["ecd"] == pytest.approx(1250.98581065, rel=1e-9)
    assert out["hydrostatic"] == pytest.approx(35303940.0)
