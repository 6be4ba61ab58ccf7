"""Properties of capacities: positive, and the parts of a hole add up to it."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.well.answer import Answer, Unknown
from engine.well.capacities import (
    annular_capacity,
    annular_speed,
    bore_capacity,
    closed_displacement,
    open_displacement,
)

HOLES = st.floats(0.05, 1.0)
SHARES = st.floats(0.0, 0.999)


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


@given(HOLES, SHARES)
def test_annulus_and_closed_pipe_fill_the_hole(hole: float, share: float) -> None:
    around, pipe = (
        known(annular_capacity(hole, hole * share)),
        known(closed_displacement(hole * share)),
    )
    assert around > 0
    assert pipe >= 0
    assert around + pipe == pytest.approx(known(bore_capacity(hole)), rel=1e-12)


@given(HOLES, st.floats(0, 500))
def test_capacity_and_displacement_are_never_negative(hole: float, weight: float) -> None:
    bore = known(bore_capacity(hole))
    assert bore > 0
    assert bore == pytest.approx(pi * hole * hole / 4)
    assert known(open_displacement(weight)) >= 0


@given(HOLES, SHARES, st.floats(0, 0.1))
def test_speed_times_capacity_is_the_flow(hole: float, share: float, flow: float) -> None:
    speed = known(annular_speed(flow, hole, hole * share))
    assert speed >= 0
    around = known(annular_capacity(hole, hole * share))
    assert speed * around == pytest.approx(flow, rel=1e-9, abs=1e-15)


@given(HOLES, st.floats(0, 1))
def test_a_pipe_as_thick_as_the_hole_or_thicker_leaves_no_annulus(hole: float, more: float) -> None:
    assert isinstance(annular_capacity(hole, hole * (1 + more)), Unknown)
