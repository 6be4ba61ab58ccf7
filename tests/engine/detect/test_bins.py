"""Rows gathered into bins of five seconds."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from engine.block import Quality
from engine.detect.bins import BIN_S, Binner
from tests.tables import NAN, T0, cut, random_table, splits, table_of, with_bits


def test_a_bin_holds_the_rows_of_five_seconds_and_is_known_with_the_first_row_after() -> None:
    table = table_of(12, pit_volume=np.arange(12.0), bit_depth=np.arange(12.0) + 100)
    bins = Binner().process(table)
    assert T0 % BIN_S == 0
    assert bins.t.tolist() == [T0 + 5, T0 + 10]
    assert bins.row.tolist() == [5, 10]
    assert bins["pit_volume"].tolist() == [2.0, 7.0]
    assert bins["bit_depth"].tolist() == [104.0, 109.0]
    assert np.isnan(bins["gas"]).all()


def test_bad_samples_are_left_out_and_a_bin_without_a_good_one_says_why() -> None:
    table = table_of(11, pit_volume=[1.0, NAN, 3.0, 99.0, 2.0] + [NAN] * 6)
    out = [i == 3 for i in range(11)]
    table["pit_volume"] = with_bits(table["pit_volume"], Quality.OUT_OF_RANGE, out)
    bins = Binner().process(table)
    assert bins["pit_volume"][0] == 2.0
    assert np.isnan(bins["pit_volume"][1])
    assert bins.quality["pit_volume"][1] == Quality.STALE
    assert bins.known("pit_volume").tolist() == [True, False]


def test_a_gap_makes_no_bin_but_shows_in_the_times() -> None:
    table = {
        name: type(b)(np.array([T0, T0 + 1, T0 + 33, T0 + 40]), b.value, b.quality)
        for name, b in table_of(4, pit_volume=[1.0, 2.0, 3.0, 4.0]).items()
    }
    bins = Binner().process(table)
    assert bins.t.tolist() == [T0 + 5, T0 + 35]
    assert bins.row.tolist() == [2, 3]


@pytest.mark.parametrize("seed", range(3))
def test_any_split_gives_the_same_bins(seed: int) -> None:
    table = random_table(seed, 900, pit_volume=(1.0, 40.3), flow_in=(0.0, 0.045), in_slips=(0, 1))
    whole = Binner().process(table)
    for edges in splits(900):
        binner = Binner()
        parts = [(a, binner.process(cut(table, a, b))) for a, b in pairwise(edges)]
        assert np.concatenate([p.t for _, p in parts]).tobytes() == whole.t.tobytes()
        rows = np.concatenate([a + p.row for a, p in parts])
        assert rows.tolist() == whole.row.tolist()
        for name in whole.values:
            got = np.concatenate([p[name] for _, p in parts])
            assert got.tobytes() == whole[name].tobytes(), name


def test_the_mean_flow_leaves_out_what_is_far_from_the_median() -> None:
    flow = np.array([0.044, 0.045, 0.045, 0.046, 0.09, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    bins = Binner().process(table_of(flow_in=flow))
    assert bins["flow_in_mean"].tolist() == pytest.approx([0.045, 0.0], abs=1e-12)
    assert np.isnan(Binner().process(table_of(6, flow_in=NAN))["flow_in_mean"]).all()
