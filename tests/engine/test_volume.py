"""Pit gain since a zero."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Quality
from engine.ops.volume import Volume
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits


def test_the_first_good_volume_is_the_zero_and_losses_are_negative() -> None:
    out = Volume(well()).process(table_of(pit_volume=[NAN, 40.0, 41.5, NAN, 39.0]))["pit_gain"]
    assert out.value[[1, 2, 4]].tolist() == [0.0, 1.5, -1.0]
    assert has(out, Quality.STALE) == [True, False, False, True, False]
    assert np.isnan(out.value[[0, 3]]).all()


def test_a_bad_volume_is_neither_zero_nor_gain() -> None:
    table = table_of(pit_volume=[-5.0, 40.0, 41.0])
    table["pit_volume"] = with_bits(table["pit_volume"], Quality.OUT_OF_RANGE, [True, False, False])
    out = Volume(well()).process(table)["pit_gain"]
    assert np.isnan(out.value[0])
    assert out.value[1:].tolist() == [0.0, 1.0]


def test_there_is_no_gain_before_a_volume() -> None:
    op = Volume(well())
    out = op.process(table_of(2, hook_load=1.0))["pit_gain"]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NO_DATA) == [True, True]
    assert op.zero() == (None, None)


def test_zeroing_takes_the_newest_good_volume_and_returns_both_zeros() -> None:
    """R-11: a zero reset is never silent, so the journal gets the old and the new base."""
    op = Volume(well())
    op.process(table_of(pit_volume=[40.0, 43.0, NAN]))
    assert op.zero() == (40.0, 43.0)
    assert op.process(table_of(pit_volume=[44.0]))["pit_gain"].value.tolist() == [1.0]
    assert op.zero() == (43.0, 44.0)


def test_a_volume_older_than_a_minute_does_not_become_the_zero() -> None:
    op = Volume(well())
    op.process(table_of(pit_volume=[40.0, 43.0] + [NAN] * 60))
    assert op.zero() == (40.0, 43.0)
    op.process(table_of(pit_volume=[40.0, 47.0] + [NAN] * 61))
    assert op.zero() == (43.0, None)
    assert op.state.zero == 43.0


@pytest.mark.parametrize("seed", range(3))
def test_any_split_gives_the_same_gain(seed: int) -> None:
    table = random_table(seed, 1500, pit_volume=(40.0, 41.0, 37.0))
    check_splits(lambda: Volume(well()), table)
