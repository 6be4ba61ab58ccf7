"""Bounds and quantiles against published numbers and a reference library."""

from __future__ import annotations

from math import exp

import pytest
from scipy import stats

from engine.score.bounds import poisson_upper, precision, quantile, share_lower


@pytest.mark.parametrize(("seen", "upper"), [(0, 3.00), (1, 4.74), (4, 9.15)])
def test_few_false_calls_bound_the_rate_as_garwood_has_it(seen: int, upper: float) -> None:
    """F. Garwood, Biometrika 28, 1936: one-sided 95 %; 3.0 is the rule of three."""
    assert poisson_upper(seen) == pytest.approx(upper, abs=0.005)


@pytest.mark.parametrize("seen", [0, 1, 2, 5, 17, 60, 400])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_the_poisson_bound_is_the_chi_square_quantile(seen: int, confidence: float) -> None:
    """Half the chi-square quantile with 2 n + 2 degrees of freedom, by scipy."""
    expected = stats.chi2.ppf(confidence, 2 * seen + 2) / 2
    assert poisson_upper(seen, confidence) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("n", "lower"), [(20, 0.86), (59, 0.95), (100, 0.97)])
def test_all_of_some_trials_bound_the_recall(n: int, lower: float) -> None:
    """Clopper and Pearson, Biometrika 26, 1934; by hand: the n-th root of 0.05."""
    assert share_lower(n, n) == pytest.approx(0.05 ** (1 / n), abs=1e-12)
    assert lower < share_lower(n, n) < lower + 0.011


@pytest.mark.parametrize(("hits", "n"), [(1, 1), (1, 9), (19, 20), (57, 60), (300, 400), (3, 400)])
def test_the_share_is_the_beta_quantile(hits: int, n: int) -> None:
    assert share_lower(hits, n) == pytest.approx(stats.beta.ppf(0.05, hits, n - hits + 1), rel=1e-8)


def test_nothing_called_or_tried_bounds_nothing() -> None:
    assert share_lower(0, 12) == share_lower(0, 0) == 0.0
    with pytest.raises(ValueError, match="3 of 2"):
        share_lower(3, 2)
    with pytest.raises(ValueError, match="-1"):
        poisson_upper(-1)


def test_a_quantile_is_one_of_the_values() -> None:
    """By hand: of 1 to 20, ten are not above 10 and 19 not above 19; 0.95 x 21 = 19.95."""
    values = [float(v) for v in range(20, 0, -1)]
    assert (quantile(values, 0.5), quantile(values, 0.95)) == (10.0, 19.0)
    assert quantile([*values, 21.0], 0.95) == 20.0
    assert quantile([7.0], 0.05) == quantile([7.0], 0.95) == 7.0
    assert quantile([], 0.5) is None


def test_a_rare_event_makes_few_calls_right() -> None:
    """One kick in 50 days is 0.01 in 12 h; 0.01 / 0.11 = 9 % and 0.01 / 0.03 = 33 % are right."""
    assert precision(1.0, 0.10, 0.01) == pytest.approx(1 / 11)
    assert precision(1.0, 0.02, 0.01) == pytest.approx(1 / 3)
    assert precision(0.5, 0.005, 0.01) == pytest.approx(0.5)
    assert precision(0.0, 0.0, 0.01) is None
    assert exp(-poisson_upper(0)) == pytest.approx(0.05)
