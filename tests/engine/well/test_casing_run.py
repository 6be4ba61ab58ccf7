"""Casing being run into a well of one section: geometry, surge and circulation."""

from __future__ import annotations

import numpy as np
import pytest

from engine.units import BBL, FT, IN
from engine.well.answer import Unknown
from engine.well.friction import annulus_loss
from engine.well.geometry import WellGeometry
from engine.well.hydraulics import Circuit, Fluid, circulate
from engine.well.rheology import bingham
from engine.well.swab_surge import pressure_change
from tests.engine.well.test_geometry import area, part, sections, volumes
from tests.tables import well

CASING = part("casing 9 5/8", 9.625, 8.681, None, 47.0)
ONE_HOLE = WellGeometry.of(
    well(hole=[{"name": "open hole 12 1/4", "diameter_in": 12.25}]), (CASING,)
)


def test_casing_runs_into_a_well_of_one_section() -> None:
    """By hand: 3,000 of 4,000 ft of 12.25 in hole, 47 lb/ft over 489.5 lb/ft3 (7850 kg/m3)."""
    assert ONE_HOLE.shoe == 0.0
    (inside, below) = sections(ONE_HOLE, 3000 * FT, 4000 * FT)
    assert (inside.pipe_name, inside.hole_name) == ("casing 9 5/8", "open hole 12 1/4")
    assert below.pipe_name == ""
    v = volumes(ONE_HOLE, 3000 * FT, 4000 * FT)
    assert v.annulus / BBL == pytest.approx(3000 * area(12.25, 9.625), rel=1e-12)
    assert v.string / BBL == pytest.approx(3000 * area(8.681), rel=1e-12)
    assert v.below_bit / BBL == pytest.approx(1000 * area(12.25), rel=1e-12)
    assert v.closed_end / BBL == pytest.approx(3000 * area(9.625), rel=1e-12)
    assert v.open_end == pytest.approx(3000 * 47 * 0.45359237 / 7850, rel=1e-12)
    assert v.to_shoe == v.from_shoe == Unknown("no casing in the well file")
    assert ONE_HOLE.annulus_at([3000 * FT, -1.0]).tolist() == pytest.approx(
        [v.annulus, float("nan")], rel=1e-9, nan_ok=True
    )


def test_casing_too_wide_for_the_only_section_is_told() -> None:
    wide = WellGeometry.of(well(hole=[{"name": "open hole 8 1/2", "diameter_in": 8.5}]), (CASING,))
    found = wide.sections(100.0, 200.0)
    assert isinstance(found, Unknown)
    assert found.reason.startswith("casing 9 5/8 (244.5 mm) does not go into open hole 8 1/2")
    assert isinstance(wide.volumes(100.0, 200.0), Unknown)
    assert bool(np.isnan(wide.annulus_at(100.0)))


def test_a_single_section_that_ends_holds_no_deeper_casing() -> None:
    """A hole of one cased section, to be run to its end and no further."""
    closed = WellGeometry.of(
        well(hole=[{"name": "20 in", "diameter_in": 19.0, "bottom_m": 400.0}]), (CASING,)
    )
    assert volumes(closed, 400.0, 400.0).below_bit == pytest.approx(0.0, abs=1e-9)
    deeper = closed.sections(401.0, 401.0)
    assert isinstance(deeper, Unknown)
    assert "described only to 400.00 m" in deeper.reason
    assert np.isnan(closed.annulus_at([400.0, 401.0])).tolist() == [False, True]


@pytest.mark.parametrize("closed", [True, False])
def test_casing_in_one_section_surges_and_circulates(closed: bool) -> None:
    """The swab of one ring of one length, and a loss of the same ring."""
    mud = bingham(0.020, 7.0)
    assert not isinstance(mud, Unknown)
    circuit = Circuit(ONE_HOLE, Fluid(1200.0, mud, mud), Unknown("casing has no bit"), 0.0)
    found = circuit.sections(900.0)
    change = pressure_change(found, mud, 1200.0, 0.5, closed=closed)
    (ring,) = sections(ONE_HOLE, 900.0, 900.0)
    assert change == pressure_change([ring], mud, 1200.0, 0.5, closed=closed)
    assert isinstance(change, float)
    assert change > 0
    at = circulate(circuit, 0.03, 900.0)
    assert not isinstance(at, Unknown)
    assert at.annulus == annulus_loss(mud, 1200.0, 0.03, 12.25 * IN, 9.625 * IN, 900.0)
    assert isinstance(at.ecd_bit, float)
    assert isinstance(at.standpipe, Unknown)
