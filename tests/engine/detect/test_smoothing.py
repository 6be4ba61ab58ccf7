"""The mean that is carried from bin to bin, worked out by hand."""

from __future__ import annotations

from math import inf, isnan, nan

import pytest

from engine.detect.smoothing import smoothed


def test_each_bin_weighs_a_quarter() -> None:
    """4; 4 + (8 - 4) / 4 = 5; 5 + (1 - 5) / 4 = 4."""
    assert smoothed([4.0, 8.0, 1.0], [True] * 3, 0.25, nan) == [4.0, 5.0, 4.0]


@pytest.mark.parametrize("lacking", [nan, inf, -inf])
def test_what_is_no_number_leaves_it_as_it_was(lacking: float) -> None:
    assert smoothed([lacking, 8.0], [True] * 2, 0.25, 4.0) == [4.0, 5.0]


def test_pumps_that_stand_forget_it() -> None:
    before, standing, after = smoothed([4.0, 4.0, 9.0], [True, False, True], 0.25, 4.0)
    assert (before, after) == (4.0, 9.0)
    assert isnan(standing)
