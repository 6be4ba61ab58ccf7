"""The live block speed within the margins of the well file: way, depth, what is unknown."""

from __future__ import annotations

from time import perf_counter
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.errors import ConfigError
from engine.ops.advised_speed import AdvisedSpeed
from engine.pipeline import Pipeline
from engine.well.answer import Unknown
from engine.well.swab_surge import FASTEST, speed_limit
from engine.well.well_file import circuit_of
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits

MARGINS = {"swab_margin_kPa": 800.0, "surge_margin_kPa": 1200.0}


def of(**profile: float) -> WellConfig:
    return well(profile=profile)


def run(config: WellConfig | None = None, **columns: Any) -> Block:
    table = table_of(**({"in_slips": 0.0} | columns))
    return AdvisedSpeed(config or of(**MARGINS)).process(table)["advised_block_speed"]


def limit(bit: float, margin: float) -> float:
    circuit = circuit_of(well())
    assert not isinstance(circuit, Unknown)
    fluid = circuit.fluid
    found = speed_limit(circuit.sections(bit), fluid.annulus, fluid.density, margin)
    assert not isinstance(found, Unknown)
    return found


def test_pulling_keeps_the_swab_margin_and_running_in_the_surge_margin() -> None:
    """Against `engine.well.swab_surge.speed_limit` at the next full 10 m."""
    out = run(bit_depth=[2395.0, 2395.0, 1201.0], block_speed=[0.5, -0.5, 0.5])
    want = [limit(2400.0, 8e5), limit(2400.0, 1.2e6), limit(1210.0, 8e5)]
    assert out.value == pytest.approx(want, rel=2e-3)
    assert 0.0 < want[0] < want[1] < FASTEST
    assert not out.quality.any()


def test_the_advice_stands_still_over_ten_metres_and_errs_to_the_safe_side() -> None:
    depth = np.linspace(2390.1, 2400.0, 100)
    out = run(bit_depth=depth, block_speed=0.5)
    assert len(set(out.value.tolist())) == 1
    assert out.value[0] <= limit(2390.1, 8e5)


def test_the_way_is_that_of_the_last_motion_of_the_string() -> None:
    """Still, drilling at 0.02 m/s, or in slips with the block going the other way."""
    out = run(
        bit_depth=2000.0, block_speed=[0.5, 0.0, -0.02, -1.0, NAN, -1.0],
        in_slips=[0.0, 0.0, 0.0, 1.0, 0.0, 0.0],
    )  # fmt: skip
    up, down = out.value[0], out.value[5]
    assert out.value.tolist() == [up] * 5 + [down]
    assert up < down


def test_before_the_string_has_moved_there_is_no_way() -> None:
    out = run(bit_depth=2000.0, block_speed=[0.0, 0.0, 0.5])
    assert np.isnan(out.value).tolist() == [True, True, False]
    assert has(out, Quality.NOT_APPLICABLE) == [True, True, False]


@pytest.mark.parametrize(
    ("profile", "speed"), [({"swab_margin_kPa": 800}, -0.5), ({"surge_margin_kPa": 800}, 0.5)]
)
def test_a_margin_that_is_not_given_is_never_assumed(
    profile: dict[str, float], speed: float
) -> None:
    out = run(of(**profile), bit_depth=2000.0, block_speed=[speed, -speed])
    assert np.isnan(out.value).tolist() == [True, False]
    assert has(out, Quality.NO_REFERENCE) == [True, False]


@pytest.mark.parametrize(
    ("config", "word"),
    [
        (of(), "swab_margin"),
        (well(mud={"density_sg": 1.05}, profile=MARGINS), "[mud]"),
        (well(hole=[], profile=MARGINS), "[[hole]]"),
    ],
)
def test_what_the_well_file_lacks_is_said(config: WellConfig, word: str) -> None:
    op = AdvisedSpeed(config)
    assert word in op.unknown["advised_block_speed"]
    out = op.process(table_of(bit_depth=2000.0, block_speed=[0.0, 0.5], in_slips=0.0))
    block = out["advised_block_speed"]
    assert np.isnan(block.value).all()
    assert block.quality.tolist() == [int(Quality.NO_REFERENCE)] * 2


def test_no_room_at_all_advises_no_speed() -> None:
    """A margin of 0 or one that the yield uses up: 0, never a small or negative one."""
    for kpa in (0.0, 10.0):
        out = run(of(swab_margin_kPa=kpa), bit_depth=[2400.0], block_speed=[0.5])
        assert out.value.tolist() == [0.0]
        assert not out.quality.any()


def test_a_bad_bit_depth_gives_no_advice_and_keeps_its_reason() -> None:
    table = table_of(bit_depth=[2000.0, NAN, 2000.0], block_speed=0.5, in_slips=0.0)
    table["bit_depth"] = with_bits(table["bit_depth"], Quality.FROZEN, [True, False, False])
    out = AdvisedSpeed(of(**MARGINS)).process(table)["advised_block_speed"]
    assert np.isnan(out.value).tolist() == [True, True, False]
    assert out.quality.tolist() == [int(Quality.FROZEN), int(Quality.STALE), 0]


def test_a_depth_above_the_floor_or_below_the_hole_is_no_depth() -> None:
    closed = well(profile=MARGINS, hole=[{"name": "h", "bottom_m": 1005.0, "diameter_in": 8.5}])
    out = run(closed, bit_depth=[-30.0, 1004.0, 1006.0], block_speed=0.5)
    assert np.isnan(out.value).tolist() == [True, False, True]
    assert has(out, Quality.NO_REFERENCE) == [True, False, True]


def test_a_negative_margin_is_refused() -> None:
    with pytest.raises(ConfigError, match=r"profile\.swab_margin_kPa.*greater than or equal to 0"):
        of(swab_margin_kPa=-1.0)


def test_any_split_gives_the_same_advice() -> None:
    known = 0
    for seed in range(4):
        table = random_table(
            seed, 1500, bit_depth=(2400.0, 2391.0, 1187.0, 60.0, -5.0),
            block_speed=(0.0, 0.0, 0.0, 0.02, 0.6, -0.6), in_slips=(0.0, 0.0, 1.0),
        )  # fmt: skip
        out = check_splits(lambda: AdvisedSpeed(of(**MARGINS)), table)["advised_block_speed"]
        assert not (np.isnan(out.value) & (out.quality == 0)).any()
        known += int(out.good.sum())
    assert known > 500


def test_the_pipeline_gives_it_while_tripping() -> None:
    """Two metres a stand up, out of a hole given by the feed; example margins."""
    n = 60
    up = np.linspace(0, 20, n)
    raw = table_of(
        n, block_position=5 + up, hook_load=1.2e6, reported_bit_depth=1500 - up,
        reported_hole_depth=1600.0,
    )  # fmt: skip
    out = Pipeline(well()).process(raw)["advised_block_speed"]
    assert out.value[-1] == pytest.approx(limit(1490.0, 8e5), rel=2e-3)


def test_twelve_hours_cost_little() -> None:
    """A trip out of 3000 m and back: within 30 ms a tour (here three times that, for others)."""
    n = 43_200
    depth = 1500 + 1490 * np.cos(np.arange(n) / n * 12 * np.pi)
    speed = np.where(np.arange(n) % 40 < 20, 0.0, np.sign(np.gradient(depth)) * -0.5)
    table = table_of(n, bit_depth=depth, block_speed=speed, in_slips=0.0)
    op = AdvisedSpeed(of(**MARGINS))
    op.process(table)
    took = []
    for _ in range(5):
        begin = perf_counter()
        op.process(table)
        took.append(perf_counter() - begin)
    assert min(took) < 0.09
