"""Medians of spans against numpy's own."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from engine.detect.medians import FEW, medians


@pytest.mark.parametrize("most", [1, 2, 5, FEW, FEW + 1, 50])
@pytest.mark.parametrize("seed", range(3))
def test_they_are_those_of_numpy(most: int, seed: int) -> None:
    """Spans of 1 to `most` samples, a third of them lacking, equal values among them."""
    rng = np.random.default_rng(seed)
    spans = rng.integers(1, most + 1, 40)
    ends = np.cumsum(spans)
    starts = ends - spans
    values = np.round(rng.normal(size=(4, int(ends[-1]))), 1)
    values[rng.random(values.shape) < 1 / 3] = np.nan
    values[3] = np.nan  # a channel that nobody sends
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # numpy's, of spans without a sample
        wanted = [
            [np.nanmedian(row[a:b]) for a, b in zip(starts, ends, strict=True)] for row in values
        ]
    np.testing.assert_array_equal(medians(values, starts, ends), wanted)


def test_a_sample_between_two_spans_belongs_to_neither() -> None:
    found = medians(np.array([[1.0, 99.0, 3.0, 5.0]]), np.array([0, 2]), np.array([1, 4]))
    assert found.tolist() == [[1.0, 4.0]]
