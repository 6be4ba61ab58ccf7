"""Time to the crown and the floor, and the distance to stop."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import WellConfig
from engine.ops.travel_time import HORIZON, TravelTime
from engine.units import FT
from engine.well.travel import stopping_distance
from tests.tables import NAN, T0, block_of, check_splits, has, random_table, table_of, well

RIG = well().rig


def rig(**changes: Any) -> WellConfig:
    return well().model_copy(update={"rig": RIG.model_copy(update=changes)})


def live(z: Any, step: float = 1.0, config: WellConfig | None = None) -> dict[str, Block]:
    z = np.asarray(z, float)
    return TravelTime(config or well()).process(table_of(z.size, step, block_position=z))


def test_at_4_ft_s_12_ft_below_the_limit_there_are_three_seconds() -> None:
    """R-42, SC-23."""
    z = RIG.crown_limit - np.array([20.0, 16.0, 12.0]) * FT
    out = live(z)
    assert out["crown_time"].value[2] == pytest.approx(3.0)
    assert out["crown_time"].quality[2] == 0
    assert out["floor_time"].value[1:].tolist() == [HORIZON] * 2


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_at_half_a_foot_a_second_there_is_no_time_however_near(way: float) -> None:
    """R-42: no alarm at 0.5 ft/s; with the noise of a position in steps of 1 cm."""
    rng = np.random.default_rng(3)
    end = RIG.crown_limit if way > 0 else RIG.floor_limit
    z = end - way * 0.5 * FT * np.arange(600)[::-1]
    out = live(np.round(z + 0.005 * rng.standard_normal(z.size), 2))
    toward, away = ("crown_time", "floor_time")[:: int(way)]
    assert np.isnan(out[toward].value).all()
    assert all(has(out[toward], Quality.NOT_APPLICABLE)[1:])
    assert (out[away].value[1:] == HORIZON).all()


def test_sinking_it_is_the_time_to_the_floor() -> None:
    out = live(RIG.floor_limit + np.array([8.0, 6.5, 5.0, 3.5]))
    assert out["floor_time"].value[1:] == pytest.approx([6.5 / 1.5, 5 / 1.5, 3.5 / 1.5])


def test_past_the_limit_it_is_zero() -> None:
    """Case G31: at a distance below 0 no speed is allowed."""
    out = live(RIG.crown_limit + np.array([-1.0, 0.5, 2.0]))
    assert out["crown_time"].value[1:].tolist() == [0.0, 0.0]


def test_a_block_that_stands_has_the_longest_time_so_that_an_alarm_ends() -> None:
    """Even next to the crown; an alarm neither trips nor clears on what is unknown."""
    out = live([37.9] * 5)
    assert out["crown_time"].value[1:].tolist() == [HORIZON] * 4
    assert not out["crown_time"].quality[1:].any()
    assert out["stopping_distance"].value[1:].tolist() == [0.0] * 4


@pytest.mark.parametrize(("braking", "taken"), [(None, 0.5), (1.5, 1.5)])
def test_the_stopping_distance_is_reaction_and_brake(braking: float | None, taken: float) -> None:
    """At 1.5 m/s, 0.5 s, 1.5 m/s2: 1.50 m by hand; without a measured brake 0.5 m/s2."""
    out = live(10.0 + 1.5 * np.arange(4), config=rig(braking=braking))["stopping_distance"]
    assert out.value[1:] == pytest.approx([stopping_distance(1.5, 0.5, taken)] * 3)
    assert braking is None or out.value[1] == pytest.approx(1.50)


def test_a_moving_block_of_an_old_position_has_no_time() -> None:
    """Case G30: older than 0.25 s while it moves is "position unknown"."""
    t = T0 + np.array([0.0, 1.0, 1.2, 1.3, 2.0, 3.0])
    z = np.array([20.0, 21.0, 21.0, 21.0, 22.0, 23.0])
    block = block_of(t, z)
    held = np.array([False, False, True, True, False, False])
    quality = np.where(held, int(Quality.HELD), 0).astype(np.uint16)
    out = TravelTime(well()).process({"block_position": Block(t, z, quality)})
    for name in ("crown_time", "stopping_distance"):
        assert np.isnan(out[name].value).tolist() == [True, False, False, True, False, False]
        assert has(out[name], Quality.STALE)[3]
    assert out["crown_time"].value[4] == pytest.approx(RIG.crown_limit - 22.0)
    assert len(block) == 6


def test_a_block_that_stands_may_have_an_old_position() -> None:
    t = T0 + np.array([0.0, 1.0, 2.0, 3.0])
    quality = np.array([0, 0, int(Quality.HELD), int(Quality.HELD)], np.uint16)
    out = TravelTime(well()).process({"block_position": Block(t, np.full(4, 20.0), quality)})
    assert out["stopping_distance"].value[1:].tolist() == [0.0] * 3


def test_an_unknown_position_is_unknown_with_its_reason() -> None:
    out = live([20.0, 21.0, NAN, 23.0, 24.0])["crown_time"]
    assert np.isnan(out.value)[2]
    assert has(out, Quality.STALE)[2]


def test_readings_in_a_burst_make_no_speed() -> None:
    """Five seconds of hoisting that come within 2 ms after a stall of the sender."""
    t = T0 + np.array([0.0, 1.0, 6.0, 6.0005, 6.001, 6.0015, 6.002, 7.0])
    z = 10.0 + np.array([0.0, 0.8, 1.6, 2.4, 3.2, 4.0, 4.8, 5.6])
    out = TravelTime(well()).process({"block_position": block_of(t, z)})["crown_time"]
    assert np.nanmin(out.value) > 20.0  # 22.4 m at 0.8 m/s
    assert has(out, Quality.NO_REFERENCE)[3:7] == [True] * 4


def test_stamps_half_a_second_off_bring_no_block_nearer() -> None:
    """A file with stamps of half a second: 0.8 m in 0.5 s is no 1.6 m/s."""
    t = T0 + np.array([0.0, 1.0, 2.0, 2.5, 4.0, 5.0, 5.5, 7.0])
    z = 26.4 + 0.8 * np.arange(8)
    out = TravelTime(well()).process({"block_position": block_of(t, z)})["crown_time"]
    assert (out.value[3:] >= 0.75 * (RIG.crown_limit - z[3:]) / 0.8).all()


def test_a_block_that_brakes_is_seen_to_at_once() -> None:
    """From 1.5 m/s at 0.35 m/s2, as a stand is lowered; mean over 3 s would be 0.35 more."""
    t = np.arange(0.0, 4.0)
    z = 8.0 - 1.5 * t + 0.35 * t * t / 2
    v = 1.5 - 0.35 * 2.5
    out = live(z)["floor_time"]
    assert out.value[3] == pytest.approx((z[3] - RIG.floor_limit) / v)


def test_any_split_gives_the_same_bytes() -> None:
    table = random_table(9, 4000, block_position=(1.0, 5.0, 9.0, 20.0, 37.0))
    block = table["block_position"]
    z = block.value + 0.9 * np.sin(np.arange(4000) / 2.0)
    moving = {"block_position": Block(block.t, z, block.quality)}
    out = check_splits(lambda: TravelTime(well()), moving)
    for name, found in out.items():
        assert (found.quality[np.isnan(found.value)] != 0).all()
        assert np.isfinite(found.value).sum() > 50, name
