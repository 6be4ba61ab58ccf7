"""Pick-up, slack-off and rotating weight of steady motion."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.ops.drag import CHANNELS, Drag
from engine.units import G0, MINUTE
from engine.well.sheaves import hoisting_factor, lowering_factor
from tests.tables import NAN, check_splits, has, random_table, table_of, well

T = 1e3 * G0
RPM = 2 * np.pi / MINUTE
Leg = tuple[int, float, float, float]
"""Seconds, block speed [m/s], rotary [rpm], hook load [t]."""
UP, DOWN, TURN, STAND = (
    (40, 0.6, 0.0, 120.0), (40, -0.6, 0.0, 112.0), (40, 0.0, 70.0, 116.0), (20, 0.0, 0.0, 116.0),
)  # fmt: skip
UPS, DOWNS, TURNS = CHANNELS


def rows(*legs: Leg, seed: int | None = None, **columns: Any) -> dict[str, Block]:
    table = np.concatenate([np.tile(leg[1:], (leg[0], 1)) for leg in legs])
    speed, rotary, load = table.T
    if seed is not None:
        rng = np.random.default_rng(seed)
        speed = speed + 0.002 * rng.standard_normal(speed.size)
        load = load + 1.0 * rng.standard_normal(load.size)
    return table_of(
        **{
            "block_speed": speed, "rotary": rotary * RPM, "hook_load": load * T,
            "in_slips": 0.0, "on_bottom": 0.0, **columns,
        }
    )  # fmt: skip


def live(*legs: Leg, config: WellConfig | None = None, **columns: Any) -> dict[str, Block]:
    return Drag(config or well()).process(rows(*legs, **columns))


def test_each_way_of_moving_has_its_weight() -> None:
    """Hand case: 120 up, 112 down, 116 turning."""
    out = live(UP, STAND, DOWN, STAND, TURN)
    assert [out[name].value[-1] / T for name in CHANNELS] == pytest.approx([120.0, 112.0, 116.0])


def test_a_weight_is_held_until_the_next() -> None:
    out = live(UP, STAND, (40, 0.5, 0.0, 123.0))[UPS]
    known = ~np.isnan(out.value)
    assert has(out, Quality.NO_REFERENCE) == (~known).tolist()
    assert out.value[45] == out.value[59] == 120 * T
    assert has(out, Quality.HELD)[45:60] == [True] * 15
    assert out.value[-1] == 123 * T
    assert out.quality[-1] == 0


def test_it_is_the_median_of_the_motion() -> None:
    """Forty seconds with 1 t of noise and single wild readings."""
    table = rows(UP, seed=2)
    load = table["hook_load"]
    wild = np.where(np.arange(40) % 13 == 12, 1.5 * load.value, load.value)
    out = Drag(well()).process(table | {"hook_load": Block(load.t, wild, load.quality)})[UPS]
    assert out.value[-1] / T == pytest.approx(120.0, abs=1.0)


@pytest.mark.parametrize(
    "leg",
    [
        (40, 0.6, 70.0, 120.0),  # back-reaming: the drag is about the axis
        (40, 0.03, 0.0, 120.0),  # creeping
        (9, 0.6, 0.0, 120.0),  # too short
        (40, 0.6, NAN, 120.0),  # nobody knows whether it turns
        (40, NAN, 0.0, 120.0),
        (40, 0.6, 0.0, NAN),
    ],
)
def test_other_motions_give_none(leg: Leg) -> None:
    out = live(leg)
    for name in CHANNELS:
        assert np.isnan(out[name].value).all()
        assert all(has(out[name], Quality.NO_REFERENCE))


@pytest.mark.parametrize("column", [{"in_slips": 1.0}, {"on_bottom": 1.0}, {"in_slips": NAN},
                                    {"on_bottom": NAN}])  # fmt: skip
def test_in_slips_and_on_bottom_there_is_none(column: dict[str, float]) -> None:
    out = live(UP, STAND, DOWN, STAND, TURN, **column)
    assert all(np.isnan(out[name].value).all() for name in CHANNELS)


def test_a_speed_that_changes_is_not_steady() -> None:
    """From 0.2 to 1 m/s in 40 s: 0.08 m/s within 4 s is more than 15 % below 0.53 m/s."""
    out = live(UP, block_speed=np.linspace(0.2, 1.0, 40))[UPS]
    assert np.isnan(out.value[:19]).all()


def test_after_the_slips_the_weight_is_that_of_another_stand() -> None:
    slips = np.r_[np.zeros(45), np.ones(10), np.zeros(5)]
    out = live(UP, STAND, in_slips=slips)[UPS]
    assert has(out, Quality.OLD_REFERENCE)[40:] == [False] * 5 + [True] * 15


def test_a_dead_line_gauge_is_corrected_and_gives_none_while_the_block_stands() -> None:
    config = well()
    config = config.model_copy(
        update={"rig": config.rig.model_copy(update={"sheave_efficiency": 0.98})}
    )
    up, down = hoisting_factor(10, 0.98), lowering_factor(10, 0.98)
    out = live(UP, DOWN, TURN, config=config)
    assert out[UPS].value[-1] == pytest.approx(120 * T * up)
    assert out[DOWNS].value[-1] == pytest.approx(112 * T * down)
    assert np.isnan(out[TURNS].value).all()
    out = live((40, -0.1, 70.0, 116.0), config=config)
    assert out[TURNS].value[-1] == pytest.approx(116 * T * down)


def test_after_a_change_of_lines_all_are_forgotten() -> None:
    """Case G14."""
    op = Drag(well())
    op.process(rows(UP, STAND, DOWN, STAND, TURN))
    op.set_lines(8)
    out = op.process(rows(STAND))
    assert all(np.isnan(out[name].value).all() for name in CHANNELS)
    assert all((out[name].quality != 0).all() for name in CHANNELS)


@pytest.mark.parametrize("step", [0.1, 1.0, 5.0])
def test_any_rate_of_rows_will_do(step: float) -> None:
    t = np.arange(0.0, 60.0, step)
    table = table_of(t.size, step, block_speed=0.6, rotary=0.0, hook_load=120 * T, in_slips=0.0,
                     on_bottom=0.0)  # fmt: skip
    assert Drag(well()).process(table)[UPS].value[-1] == 120 * T


def test_any_split_gives_the_same_bytes() -> None:
    table = random_table(
        6, 4000, block_speed=(0.6, -0.6, 0.0, 0.1), rotary=(0.0, 0.0, 70 * RPM),
        hook_load=(112 * T, 120 * T), in_slips=(0.0, 0.0, 0.0, 1.0), on_bottom=(0.0,),
    )  # fmt: skip
    out = check_splits(lambda: Drag(well()), table)
    for name in CHANNELS:
        assert (out[name].quality[np.isnan(out[name].value)] != 0).all()
        assert (out[name].quality == 0).sum() >= 10, name
