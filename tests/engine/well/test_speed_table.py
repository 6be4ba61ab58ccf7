"""The look-up of block speeds against the function that works each out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.units import FT, IN, LB100, PPG, PSI
from engine.well.answer import Unknown
from engine.well.bit_hydraulics import nozzle_area
from engine.well.geometry import WellGeometry
from engine.well.hydraulics import Circuit, Fluid
from engine.well.rheology import Rheology, bingham, power_law
from engine.well.speed_table import SpeedTable
from engine.well.swab_surge import FASTEST, speed_limit
from tests.r1 import HOLE, STRING, number, section

DEEPEST = 4000.0


def mud(made: Rheology | Unknown) -> Rheology:
    assert isinstance(made, Rheology)
    return made


BINGHAM, SHEAR_THINNING = mud(bingham(0.020, 15 * LB100)), mud(power_law(0.6, 0.8))
R1 = Circuit(
    WellGeometry(STRING, HOLE, 5000 * FT),
    Fluid(10.5 * PPG, BINGHAM, BINGHAM),
    nozzle_area([14 * IN / 32] * 3),
    surface=5,
)
CIRCUITS = {
    "Bingham": R1,
    "power law": replace(R1, fluid=Fluid(10.5 * PPG, SHEAR_THINNING, SHEAR_THINNING)),
    "one hole": replace(
        R1, geometry=WellGeometry(STRING, (section("open hole", 0, None, 8.5),), 0.0)
    ),
}
TABLES = {name: SpeedTable.of(circuit, DEEPEST) for name, circuit in CIRCUITS.items()}


def one(circuit: Circuit, bit: float, margin: float) -> float:
    return number(
        speed_limit(circuit.sections(bit), circuit.fluid.annulus, circuit.fluid.density, margin)
    )


@pytest.mark.parametrize("name", CIRCUITS)
@settings(max_examples=60, deadline=None)
@given(bit=st.floats(1, DEEPEST), margin=st.floats(1, 6e6))
def test_it_is_the_limit_of_the_formula(name: str, bit: float, margin: float) -> None:
    """Within 0.2 % (1 mm/s near nothing), at any depth and margin."""
    found = float(TABLES[name].at(np.array([bit]), margin)[0])
    assert found == pytest.approx(one(CIRCUITS[name], bit, margin), rel=2e-3, abs=1e-3)


def test_the_reference_string_spends_what_was_worked_by_hand() -> None:
    """R1 at 10,000 ft: 262.4 psi (224.0 + 38.4) belong to 1.5 ft/s, the peak of 1.0 ft/s."""
    found = float(TABLES["one hole"].at(np.array([10_000 * FT]), 262.4 * PSI)[0])
    assert found / FT == pytest.approx(1.0, rel=0.02)


def test_deeper_is_slower_and_more_margin_is_faster() -> None:
    depths = np.linspace(100, DEEPEST, 200)
    for table in TABLES.values():
        found = table.at(depths, 1.5e6)
        assert (np.diff(found) <= 1e-12).all()
        assert (table.at(depths, 2e6) >= found).all()


def test_no_room_is_no_speed_and_an_empty_hole_no_limit() -> None:
    """The yield alone takes 201 psi of 9,400 ft; without pipe there is nothing to swab."""
    table = TABLES["Bingham"]
    assert table.at(np.array([10_000 * FT]), 100 * PSI).tolist() == [0.0]
    assert table.at(np.array([10_000 * FT]), -1.0).tolist() == [0.0]
    assert table.at(np.array([0.0]), 1e5).tolist() == [FASTEST]


def test_what_cannot_be_is_nan() -> None:
    nan = float("nan")
    table = TABLES["Bingham"]
    assert np.isnan(table.at(np.array([nan, -1.0, DEEPEST + 1]), 1e6)).all()
    assert table.at(np.array([100.0]), nan).tolist() == [0.0]  # no margin is known
    narrow = (section("casing", 0, 5000, 8.681), section("narrow", 5000, None, 6.0))
    tight = SpeedTable.of(replace(R1, geometry=WellGeometry(STRING, narrow, 5000 * FT)), DEEPEST)
    last = float(tight.depths[tight.depths <= 5000 * FT][-1])
    found = tight.at(np.array([4999.0 * FT, last, 5100.0 * FT]), 1e6)
    assert np.isnan(found).tolist() == [False, False, True]
