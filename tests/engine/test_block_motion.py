"""Block position without impossible jumps, and block speed."""

from __future__ import annotations

import numpy as np
import pytest

from engine.ops.block_motion import BlockSpeed, Track
from tests.tables import NAN, T0, block_of


def track(z: list[float], t: list[float] | None = None) -> tuple[list[float], list[bool]]:
    at = T0 + np.array(np.arange(len(z)) if t is None else t, np.float64)
    out, reset = Track().process(block_of(at, z))
    return out.tolist(), reset.tolist()


def test_a_single_wild_position_is_left_out() -> None:
    z, reset = track([10.0, 10.5, 25.0, 11.5, 12.0])
    assert z[:2] + z[3:] == [10.0, 10.5, 11.5, 12.0]
    assert np.isnan(z[2])
    assert not any(reset)


def test_an_encoder_reset_is_closed_up_and_reported() -> None:
    """The position falls to zero at once and stays: the block did not move."""
    z, reset = track([30.0, 30.0, 0.0, 0.0, 0.5])
    assert z[:2] + z[3:] == [30.0, 30.0, 30.0, 30.5]
    assert np.isnan(z[2])
    assert reset == [False, False, False, True, False]


def test_a_burst_after_a_stall_is_believed() -> None:
    """Five seconds of hoisting at 2 m/s that arrive at nearly one time."""
    z = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    assert track(z, [0, 5.0, 5.01, 5.02, 5.03, 5.04]) == (z, [False] * 6)


def test_a_long_gap_allows_a_long_way() -> None:
    assert track([0.0, 28.0], [0, 20.0]) == ([0.0, 28.0], [False, False])


def speed(z: list[float], step: float = 1.0) -> np.ndarray:
    t = T0 + np.arange(len(z)) * step
    out: np.ndarray = BlockSpeed().process(t, np.array(z)).value
    return out


@pytest.mark.parametrize("step", [0.1, 1.0, 10.0])
def test_speed_is_right_at_every_rate(step: float) -> None:
    z = [-0.05 * step * i for i in range(40)]
    assert speed(z, step)[1:] == pytest.approx(-0.05, abs=1e-6)  # a time is good to 0.2 us


def test_speed_is_unknown_after_a_minute_without_a_position() -> None:
    assert np.isnan(speed([1.0, 2.0], 60.0)).all()
    got = speed([1.0, NAN, 2.0, 3.0])
    assert np.isnan(got[:2]).all()
    assert got[2:] == pytest.approx([0.5, 0.6428571428571429])
