"""The circulating system taken from a well file, here the example well (invented)."""

from __future__ import annotations

import numpy as np
import pytest

from engine.units import IN, LB100
from engine.well.answer import Unknown
from engine.well.bit_hydraulics import nozzle_area
from engine.well.friction import annulus_loss
from engine.well.geometry import WellGeometry
from engine.well.hydraulics import Circuit, Circulation, Fluid, circulate
from engine.well.hydraulics_table import HydraulicsTable
from engine.well.rheology import Rheology, bingham
from tests.tables import well


def test_the_system_of_a_well_file_is_its_string_in_its_hole() -> None:
    """Hand-made: 1180 m of casing, 9 + 190 m of bottom assembly, pipe to the floor at 2400 m."""
    config = well()
    mud = bingham(0.008, 6 * LB100)
    assert isinstance(mud, Rheology)
    circuit = Circuit(
        WellGeometry.of(config),
        Fluid(config.mud.density, mud, mud),
        nozzle_area([16 * IN / 32] * 3),
        surface=4,
    )
    out = circulate(circuit, 0.045, 2400.0)
    assert isinstance(out, Circulation)
    lengths = {(s.hole_name, s.pipe_name): s.length for s, _, _ in out.parts}
    assert lengths == pytest.approx(
        {
            ("casing 9 5/8", "drill pipe"): 1180,
            ("open hole 8 1/2", "drill pipe"): 1021,
            ("open hole 8 1/2", "drill collars"): 190,
            ("open hole 8 1/2", "bit and motor"): 9,
        }
    )
    cased = annulus_loss(mud, 1050.0, 0.045, 8.681 * IN, 5 * IN, 1180)
    assert not isinstance(cased, Unknown)
    assert out.above_shoe == pytest.approx(cased)
    assert out.ecd_shoe == pytest.approx(1050 + cased / (9.80665 * 1180))
    rows = HydraulicsTable.of(circuit, deepest=3000.0).at(np.array([0.045]), np.array([2400.0]))
    assert rows.standpipe[0] == pytest.approx(out.standpipe, rel=1e-3)
