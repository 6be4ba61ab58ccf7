"""Sequential statistics against published tables of average run lengths."""

from __future__ import annotations

import numpy as np
import pytest

from engine.detect.cusum import (
    correlated_limit,
    cusum,
    ewma,
    ewma_limit,
    limit_for,
    run_length,
    run_length_ewma,
    run_length_two_sided,
    siegmund,
    spread,
    two_sided,
)

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5)


def test_a_sum_by_hand() -> None:
    z = np.array([1.0, 0.2, -2.0, 3.0, 1.0])
    assert cusum(z, 0.5).tolist() == pytest.approx([0.5, 0.2, 0.0, 2.5, 3.0])
    assert cusum(z, 0.5, 2.0).tolist() == pytest.approx([2.5, 2.2, 0.0, 2.5, 3.0])
    up, down = two_sided(z, 0.5)
    assert up.tolist() == cusum(z, 0.5).tolist()
    assert down.tolist() == pytest.approx([0.0, 0.0, 1.5, 0.0, 0.0])


def test_a_weighted_mean_by_hand() -> None:
    assert ewma(np.array([1.0, 0.0, -1.0]), 0.5).tolist() == pytest.approx([0.5, 0.25, -0.375])
    assert ewma_limit(0.5, 3.0) == pytest.approx(3 * (1 / 3) ** 0.5)


def test_brook_and_evans() -> None:
    """D. Brook and D. A. Evans, Biometrika 59, 1972, 539-549: k = 0.5, h = 3."""
    assert run_length(0.5, 3.0) == pytest.approx(117.59, rel=2e-4)
    assert run_length(0.5, 3.0, 1.5) == pytest.approx(3.75, abs=0.005)


def test_lucas_and_crosier_two_sided() -> None:
    """J. M. Lucas and R. B. Crosier, Technometrics 24, 1982, 199-205: k = 0.5, h = 4."""
    shifts = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
    plain = (168, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34, 2.19)
    head_start = (149, 62.7, 20.1, 8.97, 5.29, 2.86, 2.01, 1.32)
    for shift, want, fast in zip(shifts, plain, head_start, strict=True):
        assert run_length_two_sided(0.5, 4.0, shift) == pytest.approx(want, rel=3e-3)
        assert run_length_two_sided(0.5, 4.0, shift, 2.0) == pytest.approx(fast, rel=5e-3)


def test_vance() -> None:
    """L. C. Vance, Journal of Quality Technology 18, 1986, 189-193: k = 0, h = 10."""
    shifts = (-0.25, -0.125, 0.0, 0.125, 0.25, 0.5, 0.75, 1.0)
    lengths = (2071.51, 400.28, 124.66, 59.30, 36.71, 20.37, 14.06, 10.75)
    for shift, want in zip(shifts, lengths, strict=True):
        assert run_length(0.0, 10.0, shift) == pytest.approx(want, rel=4e-4)


def test_waldmann() -> None:
    """K.-H. Waldmann, Technometrics 28, 1986, 61-67: k = 0.25, h = 8, a shift of 2.5."""
    assert run_length(0.25, 8.0, 2.5) == pytest.approx(4.15008362, abs=2e-7)


def test_crowder() -> None:
    """S. V. Crowder, Technometrics 29, 1987, 401-407: weight 0.25, width 3, a shift of 1."""
    assert run_length_ewma(0.25, 3.0, 1.0) == pytest.approx(11.154267016, abs=1e-8)


def test_lucas_and_saccucci() -> None:
    """J. M. Lucas and M. S. Saccucci, Technometrics 32, 1990, 1-12."""
    for shift, want in zip(
        (0, 0.25, 0.5, 1, 2, 3), (500, 255, 88.8, 17.5, 3.63, 1.93), strict=True
    ):
        assert run_length_ewma(0.5, 3.071, shift) == pytest.approx(want, rel=3e-3)
    for shift, want in zip((0, 0.25, 0.5, 1), (500, 76.7, 29.3, 12.6), strict=True):
        assert run_length_ewma(0.03, 2.437, shift) == pytest.approx(want, rel=3e-3)


@pytest.mark.parametrize("h", [3.0, 4.0, 5.0, 6.0, 8.0])
def test_siegmund_is_within_one_per_cent(h: float) -> None:
    """D. Siegmund, Sequential Analysis, Springer, 1985, against the exact solution."""
    assert siegmund(0.5, h) == pytest.approx(run_length(0.5, h), rel=0.01)
    assert siegmund(0.5, h, 0.5) == pytest.approx((h + 1.166) ** 2)


@pytest.mark.parametrize("length", [720.0, 14400.0, 72000.0])
def test_a_limit_gives_the_run_length_it_was_asked_for(length: float) -> None:
    h = limit_for(length, 0.5)
    assert siegmund(0.5, h) == pytest.approx(length, rel=1e-9)
    assert run_length(0.5, h) == pytest.approx(length, rel=0.015)


def test_a_run_length_that_no_limit_has_is_refused() -> None:
    with pytest.raises(ValueError, match="run length 1"):
        limit_for(1.0, 0.5)
    with pytest.raises(ValueError, match="k = 0"):
        limit_for(1000.0, 0.0)


def alarms(correlation: float, h: float, n: int) -> int:
    rng = np.random.default_rng(5)
    z, keep = rng.standard_normal(n), (1 - correlation**2) ** 0.5
    count, x, sum_ = 0, 0.0, 0.0
    for fresh in z.tolist():
        x = correlation * x + keep * fresh
        sum_ = max(0.0, sum_ + x - 0.5)
        if sum_ > h:
            count, sum_ = count + 1, 0.0
    return count


@pytest.mark.parametrize("correlation", [0.1, 0.25, 0.5])
def test_serial_correlation_raises_the_limit_to_the_safe_side(correlation: float) -> None:
    """Own simulation; that correlation shortens runs: W. Boehm and P. Hackl, 1996."""
    n, length = 400_000, 2000.0
    plain = alarms(correlation, limit_for(length, 0.5), n)
    raised = alarms(correlation, correlated_limit(length, 0.5, correlation), n)
    assert plain > 1.6 * n / length
    assert 0.2 * n / length < raised < 1.15 * n / length
    assert spread(correlation) > 1
    assert spread(-0.3) == 1.0
