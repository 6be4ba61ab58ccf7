"""Expected hook load, overpull and the margin to the limit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.ops.hoisting import Hoisting
from engine.units import FT, G0, LBF, PPG
from engine.well.sheaves import hoisting_factor, lowering_factor
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits

T = 1e3 * G0
KLBF = 1e3 * LBF
FREE: dict[str, Any] = {
    "hook_load": 120 * T, "bit_depth": 2400.0, "block_position": 0.0, "block_speed": 0.0,
    "in_slips": 0.0, "on_bottom": 0.0, "tare": 117 * T,
}  # fmt: skip


def rig(**changes: Any) -> WellConfig:
    config = well()
    return config.model_copy(update={"rig": config.rig.model_copy(update=changes)})


def live(config: WellConfig | None = None, n: int = 3, **columns: Any) -> dict[str, Block]:
    return Hoisting(config or well()).process(table_of(n, **(FREE | columns)))


def test_the_worked_string_of_three_sections_reads_321_klbf_on_the_indicator() -> None:
    """Hand calculation by the buoyancy factor of Bourgoyne et al. (1986), ch. 4.

    8,500 ft of 21.9, 900 ft of 49.3 and 600 ft of 150 lb/ft are 320,520 lbf in air. With steel
    of 65.5 ppg, 12 ppg leaves 261,799 lbf, and with a block of 60 klbf the gauge reads 321.8;
    our 7850 kg/m3 is 65.51 ppg, 12 lbf more.
    """
    parts = [("pipe", 21.9, None), ("heavy", 49.3, 900.0), ("collars", 150.0, 600.0)]
    string = [
        {"name": name, "outer_in": 5.0, "inner_in": 2.5, "weight_lb_ft": weight}
        | ({"length_ft": length} if length else {})
        for name, weight, length in reversed(parts)
    ]
    config = well(string=string, mud={"density_ppg": 12.0}, standpipe=READING)
    config = config.model_copy(
        update={"rig": config.rig.model_copy(update={"block_weight": 60 * KLBF})}
    )
    assert config.mud.density == pytest.approx(12 * PPG)
    out = live(config, bit_depth=10_000 * FT)["expected_hook_load"]
    assert out.value / KLBF == pytest.approx(321.8, abs=0.05)
    assert out.quality.tolist() == [0, 0, 0]


READING = {"pressure_MPa": 11.5, "flow_l_s": 45.0, "bit_depth_m": 2400.0}


def test_pipe_above_the_floor_hangs_in_air() -> None:
    """20 m of 31.9 kg/m, not buoyed."""
    low, high = live(), live(block_position=20.0)
    more = high["expected_hook_load"].value - low["expected_hook_load"].value
    assert more == pytest.approx(20 * 31.9 * G0)


def test_out_of_the_hole_the_block_is_all() -> None:
    out = live(bit_depth=0.0)
    assert out["expected_hook_load"].value.tolist() == [well().rig.block_weight] * 3


def test_a_load_above_the_tare_off_bottom_is_overpull() -> None:
    """Case G13: overpull is hook load less tare."""
    out = live(hook_load=[120 * T, 147 * T, 110 * T])["overpull"]
    assert out.value / T == pytest.approx([3.0, 30.0, -7.0])
    assert out.quality.tolist() == [0, 0, 0]


def test_without_a_tare_overpull_counts_from_the_expected_load_and_says_so() -> None:
    out = live(tare=NAN)
    assert out["overpull"].value == pytest.approx(120 * T - out["expected_hook_load"].value)
    assert has(out["overpull"], Quality.OLD_REFERENCE) == [True] * 3


@pytest.mark.parametrize("name", ["expected_hook_load", "overpull", "overpull_margin"])
def test_in_slips_nothing_applies(name: str) -> None:
    """Case G11: the hook carries the block alone."""
    out = live(rig(hook_load_limit=150 * T), in_slips=1.0, hook_load=32 * T)[name]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NOT_APPLICABLE) == [True] * 3


def test_on_bottom_there_is_no_overpull() -> None:
    out = live(on_bottom=1.0)["overpull"]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NOT_APPLICABLE) == [True] * 3


@pytest.mark.parametrize("column", ["in_slips", "on_bottom"])
def test_while_nobody_knows_where_the_string_hangs_overpull_is_unknown(column: str) -> None:
    out = live(**{column: NAN})["overpull"]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NO_REFERENCE) == [True] * 3


def test_a_bad_hook_load_gives_no_overpull() -> None:
    table = table_of(3, **FREE)
    table["hook_load"] = with_bits(table["hook_load"], Quality.FROZEN, [False, True, False])
    out = Hoisting(rig(hook_load_limit=150 * T)).process(table)
    for name in ("overpull", "overpull_margin"):
        assert np.isnan(out[name].value).tolist() == [False, True, False]
        assert has(out[name], Quality.FROZEN) == [False, True, False]


def test_the_margin_is_what_is_left_to_the_limit() -> None:
    out = live(rig(hook_load_limit=150 * T), hook_load=[120 * T, 149 * T, 160 * T])
    assert out["overpull_margin"].value / T == pytest.approx([30.0, 1.0, -10.0])


def test_without_a_limit_the_margin_is_unknown_and_the_reason_can_be_read() -> None:
    op = Hoisting(rig(hook_load_limit=None))
    out = op.process(table_of(3, **FREE))["overpull_margin"]
    assert np.isnan(out.value).all()
    assert has(out, Quality.NO_REFERENCE) == [True] * 3
    assert "hook_load_limit" in op.unknown["overpull_margin"]


def test_a_dead_line_gauge_is_corrected_by_the_way_the_block_moves() -> None:
    """A free string reads low on the way up, high on the way down, and is none the heavier.

    True over gauge load, 10 lines, 0.98 a sheave: 1.0970 and 0.9146 (Luke, Juvkam-Wold 1993).
    """
    up, down = hoisting_factor(10, 0.98), lowering_factor(10, 0.98)
    assert (up, down) == (pytest.approx(1.0970, abs=5e-5), pytest.approx(0.9146, abs=5e-5))
    gauge = np.array([117 / up, 117.0, 117 / down]) * T
    out = live(
        rig(sheave_efficiency=0.98), block_speed=[0.5, 0.0, -0.5], hook_load=gauge,
        tare=117 * T / down,
    )["overpull"]  # fmt: skip
    assert out.value == pytest.approx([0.0, 0.0, 0.0], abs=1.0)
    assert has(out, Quality.PARTIAL) == [False, True, False]


def test_after_a_change_of_lines_all_is_in_doubt_until_a_tare() -> None:
    """Case G14."""
    op = Hoisting(rig(hook_load_limit=150 * T))
    op.set_lines(8)
    out = op.process(table_of(4, **(FREE | {"tare": [NAN, NAN, 117 * T, NAN]})))
    for name in ("expected_hook_load", "overpull_margin"):
        assert has(out[name], Quality.OLD_REFERENCE) == [True, True, False, False]
    assert op.state.lines == 8
    assert not op.state.restrung


def test_an_unknown_block_height_leaves_the_pipe_above_the_floor_out_and_says_so() -> None:
    out = live(block_position=[10.0, NAN, 10.0])["expected_hook_load"]
    assert has(out, Quality.PARTIAL) == [False, True, False]
    assert out.value[1] == pytest.approx(live()["expected_hook_load"].value[0])


@pytest.mark.parametrize("efficiency", [1.0, 0.98])
@pytest.mark.parametrize("restrung", [False, True])
def test_any_split_gives_the_same_bytes(efficiency: float, restrung: bool) -> None:
    table = random_table(
        3, 4000, hook_load=(32 * T, 117 * T, 150 * T), bit_depth=(0.0, 2400.0),
        block_position=(1.0, 20.0), block_speed=(-0.5, 0.0, 0.5), in_slips=(0.0, 1.0),
        on_bottom=(0.0, 0.0, 1.0), tare=(117 * T,),
    )  # fmt: skip
    tare = table["tare"]
    late = np.arange(len(tare)) < 1500
    table["tare"] = Block(tare.t, np.where(late, NAN, tare.value), tare.quality)
    table["tare"] = with_bits(table["tare"], Quality.NO_REFERENCE, late)

    def make() -> Hoisting:
        op = Hoisting(rig(sheave_efficiency=efficiency, hook_load_limit=150 * T))
        if restrung:
            op.set_lines(8)
        return op

    for block in check_splits(make, table).values():
        assert (block.quality[np.isnan(block.value)] != 0).all()
        assert np.isfinite(block.value).sum() > 100


def test_a_table_without_any_of_it_is_unknown() -> None:
    out = Hoisting(well()).process(table_of(3, torque=1.0))
    for block in out.values():
        assert np.isnan(block.value).all()
        assert (block.quality != 0).all()
