"""The share of the mud's progress that cuttings keep, against the lag of cuttings leg by leg."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Quality
from engine.ops.lag import Lag
from engine.units import FT, GAL, HOUR, IN, MINUTE
from engine.well.answer import Unknown
from engine.well.cuttings import annular_legs, lag_of_cuttings
from engine.well.geometry import WellGeometry
from engine.well.transport import kept_share
from tests.check_rows import row
from tests.tables import has, table_of, well

WELL = WellGeometry.of(well())
R1 = WellGeometry.of(
    well(
        string=[
            {"name": "collars", "outer_in": 6.75, "inner_in": 2.8125, "weight_lb_ft": 101.0,
             "length_ft": 600.0},
            {"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_lb_ft": 19.5},
        ],
        hole=[
            {"name": "casing", "bottom_ft": 5000.0, "diameter_in": 8.681},
            {"name": "open hole", "top_ft": 5000.0, "diameter_in": 8.5},
        ],
    )
)  # fmt: skip
"""600 ft of collars in 8.5 in, 4400 ft of pipe in 8.5 in, 5000 ft in 8.681 in casing."""


def share(flow: float, slip: float, bit: float = 2400.0) -> float:
    return float(kept_share(WELL, np.array([bit]), np.array([flow]), slip)[0])


@pytest.mark.parametrize("bit", [5.0, 150.0, 900.0, 1180.0, 2400.0])
@pytest.mark.parametrize("slip", [0.0, 0.1, 0.5])
def test_mud_lag_over_share_is_the_lag_of_cuttings(bit: float, slip: float) -> None:
    """Sum of L / (v - vs), Guo and Liu, Applied Drilling Circulation Systems, 2011, ch. 2."""
    sections = WELL.sections(bit, 2400.0)
    assert not isinstance(sections, Unknown)
    slow = lag_of_cuttings(annular_legs(sections, 0.045), slip)
    mud = float(WELL.annulus_at(bit)) / 0.045
    assert mud / share(0.045, slip, bit) == pytest.approx(slow, rel=1e-9)


def test_eleven_percent_more_strokes_for_cuttings_that_fall_at_half_a_foot_a_second() -> None:
    """By hand: 600/(9.2141-vs) + 4400/(5.2043-vs) + 5000/(4.8829-vs) ft and ft/s, 602.3 gpm.

    The hand used 24.5 gpm/in2, which is 0.06 % more than exact.
    """
    bit, flow = np.array([10_000 * FT]), np.array([602.3 * GAL / MINUTE])
    got = float(R1.annulus_at(bit)[0]) / flow[0] / kept_share(R1, bit, flow, 0.5166 * FT)[0]
    assert got / MINUTE == pytest.approx(35.8791, rel=1e-3)


@row("G17")
def test_mud_no_faster_than_cuttings_fall_does_not_transport_them() -> None:
    """Case G17: 0, and never a negative lag or an infinite one."""
    assert share(0.045, 3.0) == 0.0
    assert share(0.002, 0.1) == 0.0
    assert np.isnan(share(0.0, 0.1))
    assert np.isnan(share(0.045, 0.1, float("nan")))


@row("G17 live")
def test_cuttings_that_are_not_transported_leave_the_lagged_depth_unknown() -> None:
    """Case G17. They go on from where they were when the flow is back."""
    config = well(
        string=[{"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_kg_m": 20.0}],
        hole=[{"name": "hole", "diameter_in": 8.5}],
        profile={"cuttings_slip_m_s": 0.2},
    )
    flow = np.where((np.arange(3000) >= 2000) & (np.arange(3000) < 2300), 0.004, 0.0239)
    hole = 500 + 10 / HOUR * np.arange(3000)
    block = Lag(config).process(table_of(flow_in=flow, bit_depth=hole, hole_depth=hole))[
        "lagged_depth"
    ]
    assert np.isnan(block.value[2000:2300]).all()
    assert all(has(block, Quality.NOT_APPLICABLE)[2000:2300])
    assert block.value[2301] == pytest.approx(block.value[1999], abs=0.021)
    area = np.pi / 4 * (8.5**2 - 5.0**2) * IN**2
    mud = 0.0239 / area
    first = int(np.flatnonzero(~np.isnan(block.value))[0])
    assert first == pytest.approx(500 / (mud - 0.2), abs=1)
