"""Work of the drilling line: hook load times travel, whatever the noise, whatever is missing."""

from __future__ import annotations

from itertools import accumulate
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.ops.line_work import PLAY, LineWork, _play
from engine.units import G0
from engine.well.drilling_line import move_work
from engine.well.sheaves import hoisting_factor, lowering_factor
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits

T = 1e3 * G0
LOADS: dict[str, Any] = {
    "hook_load": 100 * T, "expected_hook_load": 117 * T, "in_slips": 0.0, "tare": 117 * T,
}  # fmt: skip
STAND = np.r_[np.full(30, 1.5), np.linspace(1.5, 30.0, 40), np.full(30, 30.0)]


def rig(**changes: Any) -> WellConfig:
    config = well()
    return config.model_copy(update={"rig": config.rig.model_copy(update=changes)})


def live(z: Any, config: WellConfig | None = None, **columns: Any) -> Block:
    op = LineWork(config or well())
    return op.process(table_of(**({"block_position": z} | LOADS | columns)))["line_work"]


def test_it_is_the_load_times_the_distance_either_way() -> None:
    """100 t over 28.5 m up, 32 t down again, by hand; a turn loses twice the play."""
    z = np.r_[STAND, STAND[::-1]]
    out = live(z, hook_load=np.where(np.arange(z.size) < STAND.size, 100 * T, 32 * T))
    up, down = move_work(100 * T, 28.5), move_work(32 * T, -28.5)
    assert isinstance(up, float)
    assert isinstance(down, float)
    assert out.value[-1] == pytest.approx(up + down, abs=2 * PLAY * 132 * T)
    assert out.value[-1] == pytest.approx(up + down, rel=0.002)
    assert not out.quality.any()


def test_noise_of_a_standing_block_is_no_work() -> None:
    """Twelve hours of 5 mm in steps of 1 cm: some 200 m of travel, of which 1 m may count."""
    rng = np.random.default_rng(1)
    z = np.round(20.0 + 0.005 * rng.standard_normal(43_200), 2)
    assert np.abs(np.diff(z)).sum() > 150.0
    assert live(z).value[-1] < 1.0 * 100 * T


def test_drilling_down_is_counted_to_the_last_centimetre() -> None:
    """Two metres at 10 m/h: each second the block sinks by less than its noise."""
    rng = np.random.default_rng(1)
    z = 20.0 - np.arange(720) * 10 / 3600
    out = live(np.round(z + 0.005 * rng.standard_normal(z.size), 2))
    assert out.value[-1] == pytest.approx(100 * T * 1.9972, abs=100 * T * 0.04)


def test_a_dead_line_gauge_is_corrected_by_the_way_the_block_goes() -> None:
    up, down = hoisting_factor(10, 0.98), lowering_factor(10, 0.98)
    out = live(np.r_[STAND, STAND[::-1]], rig(sheave_efficiency=0.98))
    assert out.value[-1] == pytest.approx(100 * T * 28.5 * (up + down), rel=0.002)


def test_an_unknown_hook_load_is_replaced_by_the_expected_one_and_marked() -> None:
    """Case G32."""
    out = live(STAND, hook_load=NAN)
    assert out.value[-1] == pytest.approx(117 * T * 28.5, rel=0.002)
    assert has(out, Quality.PARTIAL)[-1]


def test_an_unknown_hook_load_in_slips_is_that_of_the_block() -> None:
    out = live(STAND, hook_load=NAN, in_slips=1.0, expected_hook_load=NAN)
    assert out.value[-1] == pytest.approx(well().rig.block_weight * 28.5, rel=0.002)
    assert has(out, Quality.PARTIAL)[-1]


def test_travel_with_no_load_at_all_is_not_counted_and_marked() -> None:
    out = live(STAND, hook_load=NAN, expected_hook_load=NAN)
    assert out.value[-1] == 0.0
    assert has(out, Quality.PARTIAL)[-1]


def test_one_lost_reading_is_marked_once_and_many_for_good() -> None:
    z = np.r_[STAND, STAND[::-1], STAND, STAND[::-1], STAND]
    load = np.full(z.size, 100 * T)
    load[-50] = NAN
    one = has(live(z, hook_load=load), Quality.PARTIAL)
    assert one[-50]
    assert sum(one) == 1
    load[-60:-40] = NAN
    assert has(live(z, hook_load=load), Quality.PARTIAL)[-1]


def test_while_the_position_is_unknown_the_sum_stands() -> None:
    z = STAND.copy()
    z[50:60] = NAN
    out = live(z)
    assert out.value[49:60].tolist() == [out.value[49]] * 11
    assert has(out, Quality.HELD)[50:61] == [True] * 10 + [False]
    assert out.value[-1] == pytest.approx(100 * T * 28.5, rel=0.002)
    assert not has(out, Quality.PARTIAL)[-1]


def test_what_the_block_did_in_a_long_gap_is_the_least_and_marked() -> None:
    z = np.r_[np.full(10, 5.0), np.full(60, NAN), np.full(10, 15.0)]
    out = live(z)
    assert out.value[-1] == pytest.approx(100 * T * 10.0, rel=0.01)
    assert has(out, Quality.PARTIAL)[-1]


def test_an_encoder_reset_is_no_travel() -> None:
    z = np.r_[STAND, STAND[-1] - 12.0 + np.zeros(20)]
    assert live(z).value[-1] == pytest.approx(100 * T * 28.5, rel=0.002)


def test_before_the_first_position_it_is_unknown() -> None:
    out = live(np.r_[np.full(5, NAN), STAND])
    assert np.isnan(out.value).tolist() == [True] * 5 + [False] * STAND.size
    assert has(out, Quality.STALE)[:5] == [True] * 5
    assert out.value[5] == 0.0


def test_after_a_change_of_lines_it_is_in_doubt_until_a_tare() -> None:
    """Case G14: the sum is kept."""
    op = LineWork(rig(sheave_efficiency=0.98))
    before = op.process(table_of(block_position=STAND, **LOADS))["line_work"].value[-1]
    op.set_lines(8)
    tare = np.r_[np.full(99, NAN), 117 * T]
    more = LOADS | {"tare": tare}
    out = op.process(table_of(block_position=STAND[::-1], **more))["line_work"]
    assert has(out, Quality.OLD_REFERENCE) == [True] * 99 + [False]
    factor = lowering_factor(8, 0.98)
    assert out.value[-1] - before == pytest.approx(100 * T * 28.5 * factor, rel=0.002)


@given(st.lists(st.floats(-5, 40) | st.just(NAN), max_size=60), st.floats(-5, 40) | st.just(NAN))
def test_the_play_is_that_of_a_peg_in_a_hole(z: list[float], carry: float) -> None:
    """Against the definition, sample by sample."""

    def follow(y: float, x: float) -> float:
        if np.isnan(x):
            return y
        return x if np.isnan(y) else min(max(y, x - PLAY), x + PLAY)

    want = list(accumulate(z, follow, initial=carry))[1:]
    np.testing.assert_array_equal(_play(np.array(z, float), carry), np.array(want, float))


def test_any_split_gives_the_same_bytes() -> None:
    table = random_table(
        4, 4000, block_position=(1.0, 2.5, 20.0, 21.0), hook_load=(32 * T, 117 * T),
        expected_hook_load=(117 * T,), in_slips=(0.0, 1.0), tare=(117 * T,),
    )  # fmt: skip
    late = np.arange(4000) < 1500
    tare = table["tare"]
    table["tare"] = with_bits(
        Block(tare.t, np.where(late, NAN, tare.value), tare.quality), Quality.NO_REFERENCE, late
    )

    def make() -> LineWork:
        op = LineWork(rig(sheave_efficiency=0.98))
        op.set_lines(12)
        return op

    out = check_splits(make, table)["line_work"]
    assert (out.quality[np.isnan(out.value)] != 0).all()
    assert (np.diff(out.value[~np.isnan(out.value)]) >= 0).all()


def test_a_table_without_any_of_it_is_unknown() -> None:
    out = LineWork(well()).process(table_of(3, torque=1.0))["line_work"]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NO_DATA) == [True] * 3
