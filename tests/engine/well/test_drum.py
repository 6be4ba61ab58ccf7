"""From the drum to the block and from the block to the bit.

D02 is in ``tests/engine/test_bottom.py``, D03 to D08 in ``test_check_values_motion.py`` there.
``own`` is by hand from pi D / n.
"""

from __future__ import annotations

from math import pi

import pytest

from engine.ops.motion import Motion
from engine.well.answer import Answer, Unknown
from engine.well.drum import (
    CALCULATIONS,
    block_speed,
    layer_diameter,
    travel_per_count,
    travel_per_turn,
)
from tests.check_rows import row
from tests.hoist_rows import Rows
from tests.tables import well

NAN = float("nan")


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


@row("D01 own")
def test_the_bit_goes_down_with_the_block() -> None:
    """D01 own: bit at 3000.0, block from 28.0 to 2.0 m, out of slips: 3026.0 m."""
    rows = Rows(z=28.0, bit=3000.0).still(5).move(-26.0, 0.5)
    assert rows.z == pytest.approx(2.0)
    out = Motion(well()).process(rows.table(reported_hole_depth=3100.0))
    assert out["bit_depth"].value[-1] == pytest.approx(3026.0, abs=1e-9)


@pytest.mark.parametrize(
    ("got", "want", "rel"),
    [
        pytest.param(travel_per_count(0.9, 10, 4 * 1024), 6.90291354549e-5, 1e-9, id="D09-own"),
        pytest.param(block_speed(1.0, 10, 120 * 2 * pi / 60), 0.628318530718, 1e-9, id="D10-own"),
        pytest.param(block_speed(1.0, 10, -2 * pi), -0.314159265359, 1e-9, id="own lowering"),
        pytest.param(layer_diameter(0.9, 0.035, 1), 0.935, 1e-12, id="own first layer"),
        pytest.param(layer_diameter(0.9, 0.035, 3), 1.056243557, 1e-9, id="own third layer"),
    ],
)
def test_the_block_follows_the_drum(got: Answer, want: float, rel: float) -> None:
    assert known(got) == pytest.approx(want, rel=rel)


@pytest.mark.parametrize(
    "answer",
    [
        layer_diameter(0.9, 0.035, 0), layer_diameter(NAN, 0.035, 1), travel_per_turn(0, 10),
        travel_per_turn(1, 0), travel_per_count(1, 10, 0), travel_per_count(NAN, 10, 4),
        block_speed(1, 10, NAN),
    ],
)  # fmt: skip
def test_a_drum_that_cannot_be_gives_a_reason(answer: Answer) -> None:
    assert isinstance(answer, Unknown)


def test_calculations_of_the_drum_take_si() -> None:
    speed, count = CALCULATIONS
    out = speed.run({"drum": 1.0, "lines": 10.0, "rotation": 4 * pi})
    assert out["speed"] == pytest.approx(0.628318530718)
    assert out["travel"] == pytest.approx(0.314159265359)
    assert count.run({"drum": 0.9, "lines": 10.0, "counts": 4096.0})["travel"] == pytest.approx(
        6.9029e-5, rel=1e-4
    )
