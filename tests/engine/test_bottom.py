"""On bottom, hole depth and weight on bit."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.bottom import Bottoms
from engine.ops.motion import Motion
from engine.ops.tare_state import Tares
from engine.ops.weight_on_bit import weight_on_bit
from tests.check_rows import row
from tests.hoist_rows import BLOCK, STRING, Rows, T
from tests.tables import NAN, cut, has, table_of, well


def run(rows: Rows, seed: int | None = None, **more: object) -> dict[str, Block]:
    return Motion(well()).process(rows.table(seed, **more))


def drilled(way: float = 2.0) -> Rows:
    """From 3 m off a bottom at 2400 m, tared on the way, drilled on."""
    return Rows(z=20.0, bit=2397.0).still(10).to_bottom(3.0).drill(way)


def test_drilling_makes_hole_and_shows_its_weight() -> None:
    """Published: hook load tare less hook load (Bourgoyne et al., ch. 1); here 10 t."""
    rows = drilled()
    out = run(rows)
    on = np.flatnonzero(rows.column(1) < BLOCK + STRING - 1 * T)
    began = int(np.flatnonzero(out["on_bottom"].value == 1.0)[0])
    assert 0 <= began - on[0] <= 6
    assert out["on_bottom"].value[began:].tolist() == [1.0] * (len(rows.rows) - began)
    assert out["weight_on_bit"].value[-1] == pytest.approx(10 * T)
    assert out["hole_depth"].value[-1] == pytest.approx(2402.0, abs=0.02)
    assert (np.diff(out["hole_depth"].value) >= 0).all()


def test_a_dead_line_gauge_is_corrected_for_sheave_friction_while_lowering() -> None:
    """True over gauge, lowering, 10 lines, 0.98 a sheave: 0.915 (Luke and Juvkam-Wold, 1993)."""
    rig = dict(well().rig.model_dump(), sheave_efficiency=0.98)
    config = well().model_copy(update={"rig": type(well().rig).model_construct(**rig)})
    rows = drilled()
    corrected = Motion(config).process(rows.table())["weight_on_bit"].value[-1]
    assert corrected / (10 * T) == pytest.approx(0.915, abs=5e-4)


def test_weight_is_hook_load_below_the_tare() -> None:
    """Own, H07: W0 321.799 klbf less 296.800 klbf is 24.999 klbf."""
    klbf = 4448.2216152605
    rows = Rows(z=20.0, bit=2397.0)
    rows.string = 321.799 * klbf - BLOCK
    rows.still(10).to_bottom(3.0).drill(0.5, weight=24.999 * klbf)
    out = run(rows)
    assert out["weight_on_bit"].value[-1] / klbf == pytest.approx(24.999, abs=5e-4)


@row("D02 own")
def test_hole_depth_is_the_deepest_bit_on_bottom() -> None:
    """Own, D02: hole 3020.0, bit drills to 3026.0: hole 3026.0; picking up leaves it."""
    rows = Rows(z=20.0, bit=3017.0).still(10).to_bottom(3.0).drill(6.0, rate=0.01)
    rows.still(10).pick_up(3.0)
    hole = run(rows, reported_hole_depth=3020.0)["hole_depth"].value
    assert hole[-1] == pytest.approx(3026.0, abs=1e-9)


def test_noise_does_not_dig() -> None:
    """5 mm noise and 1 cm steps for two hours on bottom without a metre made: under 2 cm."""
    rows = drilled(0.1)
    rows.still(7200)
    hole = run(rows, seed=4)["hole_depth"].value
    assert hole[-1] == pytest.approx(2400.1, abs=0.02)


def test_a_tag_shorter_than_the_hold_time_makes_no_hole() -> None:
    rows = Rows(z=20.0, bit=2397.0).still(10).to_bottom(3.0)
    rows.weight = 10 * T
    rows.move(-0.04, 0.01)
    rows.pick_up(3.0).still(20)
    out = run(rows)
    assert out["hole_depth"].value.tolist() == [2400.0] * len(rows.rows)
    assert not out["on_bottom"].value.any()


def test_a_ledge_makes_no_hole() -> None:
    rows = Rows(z=25.0, bit=2380.0).turn(True).still(15).move(-1, 0.09)
    rows.weight = 20 * T
    rows.still(120)
    out = run(rows)
    assert out["hole_depth"].value.tolist() == [2400.0] * len(rows.rows)
    assert not out["on_bottom"].value.any()


def test_picking_up_leaves_bottom() -> None:
    rows = drilled()
    n = len(rows.rows)
    rows.pick_up(3.0)
    on = run(rows)["on_bottom"].value
    assert on[n - 1] == 1.0
    assert on[n + 7 :].tolist() == [0.0] * (len(rows.rows) - n - 7)


def test_a_start_on_bottom_makes_hole_without_a_tare() -> None:
    """The watch begins in mid-stand: weight unknown, hole depth still advances."""
    rows = Rows(z=20.0).turn(True).drill(2.0)
    out = run(rows)
    assert np.isnan(out["weight_on_bit"].value).all()
    assert all(has(out["weight_on_bit"], Quality.NO_REFERENCE))
    error = out["hole_depth"].value - rows.truth()
    assert np.abs(error[60:]).max() < 0.05
    assert out["on_bottom"].value[-1] == 1.0


def test_without_pumps_sinking_is_no_drilling() -> None:
    out = run(Rows(z=20.0).drill(2.0))
    assert out["hole_depth"].value[-1] == 2400.0
    assert has(out["hole_depth"], Quality.CONFLICT)[-1] is False


@row("G11")
def test_in_slips_there_is_no_weight() -> None:
    """Own, G11: weight unknown, bit depth frozen."""
    rows = drilled().pick_up().turn(False).still(10).slips(True).still(10)
    weight = run(rows)["weight_on_bit"]
    assert np.isnan(weight.value[-5:]).all()
    assert has(weight, Quality.NOT_APPLICABLE)[-5:] == [True] * 5


def test_in_slips_even_a_load_like_the_tare_is_no_weight() -> None:
    n = 2
    one, no = np.ones(n), np.zeros(n, np.bool_)
    tares = Tares(one * 9e5, one, one, one, no, no, no)
    bottoms = Bottoms(no, one, no, no)
    table = table_of(n, hook_load=9e5, in_slips=[1.0, 0.0])
    weight = weight_on_bit(table["hook_load"], tares, bottoms, table["in_slips"])
    assert np.isnan(weight.value[0])
    assert weight.value[1] == 0.0


def test_off_bottom_the_weight_is_nothing_and_overpull_is_not_weight() -> None:
    rows = drilled().pick_up().still(20)
    near = len(rows.rows) - 1
    rows.string = STRING + 12 * T
    rows.still(10)
    weight = run(rows)["weight_on_bit"]
    assert weight.value[near] == 0.0
    assert weight.quality[near] == 0
    assert np.isnan(weight.value[-1])
    assert has(weight, Quality.NOT_APPLICABLE)[-1]


def test_a_negative_weight_on_bottom_is_kept() -> None:
    rows = drilled()
    rows.weight = -1.5 * T
    rows.still(10)
    assert run(rows)["weight_on_bit"].value[-1] == pytest.approx(-1.5 * T)


def test_a_bad_hook_load_is_no_weight() -> None:
    rows = drilled()
    load = rows.table()["hook_load"].value
    load[-3:] = NAN
    weight = run(rows, hook_load=load)["weight_on_bit"]
    assert np.isnan(weight.value[-3:]).all()
    assert has(weight, Quality.STALE)[-3:] == [True] * 3


@row("G15")
def test_a_bit_set_deeper_than_the_hole_holds_both_and_says_so() -> None:
    """Own, G15: hold both, flag, no rate for one window."""
    rows = drilled()
    n = len(rows.rows)
    rows.drill(1.0)
    motion = Motion(well())
    motion.process(cut(rows.table(), 0, n))
    motion.set_depth(2410.0, 2405.0)
    out = motion.process(cut(rows.table(), n, len(rows.rows)))
    assert out["hole_depth"].value.tolist() == [2405.0] * (len(rows.rows) - n)
    assert out["bit_depth"].value[-1] == pytest.approx(2411.0)
    assert all(has(out["hole_depth"], Quality.CONFLICT))
    assert all(has(out["bit_depth"], Quality.CONFLICT))
    assert np.isnan(out["rop"].value[:20]).all()
    motion.set_depth(2411.0, 2411.0)
    out = motion.process({k: b.slice(-40, len(b)) for k, b in rows.table().items()})
    assert not any(has(out["hole_depth"], Quality.CONFLICT))


def test_a_corrected_depth_makes_no_hole_for_ten_seconds() -> None:
    rows = drilled()
    n = len(rows.rows)
    rows.still(30)
    motion = Motion(well())
    motion.process(cut(rows.table(), 0, n))
    motion.set_depth(2450.0, 2450.0)
    out = motion.process(cut(rows.table(), n, len(rows.rows)))
    assert out["on_bottom"].value[:10].tolist() == [0.0] * 10
    assert out["hole_depth"].value.tolist() == [2450.0] * 30
