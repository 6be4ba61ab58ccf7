"""Strokes and volume since the start: counter, rates, and what happens when they fail."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.flow import Flow
from engine.ops.pumped import Pumped, Pumping
from engine.well.pumps import stroke_volume
from tests.tables import NAN, SPM, check_splits, has, random_table, table_of, well, with_bits

EACH = stroke_volume(well().pumps[0])
RATE = 120 * SPM
"""Two pumps at 60 strokes a minute: two strokes a second. [1/s]"""
BASE = {"type": "triplex", "stroke_in": 12.0}


def pumped(pumps: list[dict[str, object]] | None = None, **columns: object) -> Pumping:
    """Rates default to two pumps at 60 strokes a minute."""
    config = well() if pumps is None else well(pumps=pumps)
    rates = {"pump_1_rate": RATE / 2, "pump_2_rate": RATE / 2}
    blocks = {name: c for name, c in columns.items() if isinstance(c, Block)}
    table = table_of(**{k: c for k, c in (rates | columns).items() if k not in blocks}) | blocks
    return Pumped(config).process(table | Flow(config).process(table))


class Shown:
    """The operator as one that gives blocks, for the split test."""

    def __init__(self, pumps: list[dict[str, object]] | None = None) -> None:
        self.op = Pumped(well() if pumps is None else well(pumps=pumps))

    def process(self, table: dict[str, Block]) -> dict[str, Block]:
        out = self.op.process(table)
        zero = np.zeros(len(out.strokes), np.uint16)
        columns = {
            "volume": out.volume, "per_stroke": out.per_stroke,
            "flags": out.known + 2.0 * out.begun + 4.0 * out.missed,
        }  # fmt: skip
        blocks = {name: Block(out.strokes.t, value, zero) for name, value in columns.items()}
        return {"strokes": out.strokes, **blocks}

    @property
    def state(self) -> object:
        return self.op.state


def test_strokes_are_the_rates_integrated_over_time() -> None:
    """Two strokes a second for ten seconds; volume = strokes times output, by hand."""
    out = pumped(n=11)
    assert out.strokes.value == pytest.approx(2.0 * np.arange(11))
    assert out.volume[-1] == pytest.approx(20 * EACH)


def test_a_counter_goes_before_the_rates() -> None:
    """The rate is rounded to whole strokes; the counter is exact."""
    count = 5000 + np.floor(2.04 * np.arange(601))
    out = pumped(pump_strokes=count)
    assert out.strokes.value[-1] == count[-1] - count[0] == 1224
    assert out.volume[-1] == pytest.approx(1224 * EACH)
    assert not (out.strokes.quality != 0).any()


def test_a_counter_that_rolls_over_at_10000_goes_on() -> None:
    """Engineering practice: a step back is a roll-over only if few strokes explain it."""
    count = (9980 + 2.0 * np.arange(31)) % 10_000
    out = pumped(pump_strokes=count)
    assert out.strokes.value == pytest.approx(2.0 * np.arange(31))


def test_a_counter_set_back_to_zero_is_bridged_by_the_rates() -> None:
    """Case G03: that interval is not counted from the counter, and never negative."""
    count = np.r_[5000 + 2.0 * np.arange(20), 2.0 * np.arange(20)]
    out = pumped(pump_strokes=count)
    assert out.strokes.value == pytest.approx(2.0 * np.arange(40))
    assert not out.missed.any()


def test_between_two_readings_of_a_slow_counter_the_rates_carry_on() -> None:
    count = 100 + 20.0 * np.floor(np.arange(60) / 10)
    block = table_of(pump_strokes=count)["pump_strokes"]
    out = pumped(pump_strokes=with_bits(block, Quality.HELD, np.arange(60) % 10 > 0), n=60)
    assert out.strokes.value == pytest.approx(2.0 * np.arange(60))


def test_a_counter_that_is_stuck_is_not_believed_and_the_conflict_is_marked() -> None:
    """Found after 40 strokes, which is 20 s; from then on the rates are counted."""
    out = pumped(n=600, pump_strokes=777.0)
    odd = has(out.strokes, Quality.CONFLICT)
    assert odd.index(True) == pytest.approx(40 / 1.7, abs=2)
    assert all(odd[40:])
    assert out.strokes.value[-1] == pytest.approx(2.0 * 599, abs=50)


def test_a_counter_of_one_pump_of_two_is_not_believed() -> None:
    out = pumped(n=900, pump_strokes=1.0 * np.arange(900))
    assert has(out.strokes, Quality.CONFLICT)[-1]
    assert out.strokes.value[-1] == pytest.approx(2.0 * 899, abs=70)


def test_a_counter_misses_nothing_of_ninety_seconds_without_data() -> None:
    lost = (np.arange(300) >= 100) & (np.arange(300) < 190)
    rate = np.where(lost, NAN, RATE / 2)
    count = np.where(lost, NAN, 1000 + 2.0 * np.arange(300))
    out = pumped(pump_1_rate=rate, pump_2_rate=rate, pump_strokes=count)
    assert np.isnan(out.strokes.value[lost]).all()
    assert all(has(out.strokes, Quality.STALE)[100:190])
    assert out.strokes.value[190:] == pytest.approx(2.0 * np.arange(190, 300))
    assert not out.missed.any()


def test_without_a_counter_ninety_seconds_without_data_are_missed_and_said_so() -> None:
    lost = (np.arange(300) >= 100) & (np.arange(300) < 190)
    rate = np.where(lost, NAN, RATE / 2)
    out = pumped(pump_1_rate=rate, pump_2_rate=rate)
    assert np.flatnonzero(out.missed).tolist() == [190]
    assert out.strokes.value[190] == pytest.approx(2.0 * 99)
    assert np.flatnonzero(has(out.strokes, Quality.OLD_REFERENCE)).tolist() == [*range(190, 300)]


def test_a_counter_alone_counts_and_its_reset_is_missed_pumping() -> None:
    """Without rates nothing tells what was pumped between the readings around a reset."""
    count = np.r_[5000 + 2.0 * np.arange(100), 2.0 * np.arange(100)]
    out = pumped(pump_1_rate=NAN, pump_2_rate=NAN, pump_strokes=count)
    assert out.known.all()
    assert np.flatnonzero(out.missed).tolist() == [100]
    assert out.strokes.value[99] == 2.0 * 99
    assert out.volume[-1] == pytest.approx(2.0 * 198 * EACH)
    assert np.flatnonzero(has(out.strokes, Quality.OLD_REFERENCE)).tolist() == [*range(100, 200)]


def test_twenty_seconds_without_a_rate_are_the_mean_of_the_rates_around_them() -> None:
    lost = (np.arange(60) >= 20) & (np.arange(60) < 40)
    rate = np.where(lost, NAN, RATE / 2)
    out = pumped(pump_1_rate=rate, pump_2_rate=rate)
    assert out.strokes.value[40:] == pytest.approx(2.0 * np.arange(40, 60))
    assert not out.missed.any()


def test_the_noise_of_a_rate_meter_on_pumps_at_rest_counts_nothing() -> None:
    out = pumped(n=3600, pump_1_rate=1.5 * SPM, pump_2_rate=0.0)
    assert out.strokes.value.tolist() == [0.0] * 3600


def test_a_stroke_of_unequal_pumps_is_worth_the_mean_by_their_rates() -> None:
    """6.5 and 5.5 in liners: areas 42.25 to 30.25, by hand; held while the pumps stand."""
    pumps = [{"name": "1", "liner_in": 6.5, **BASE}, {"name": "2", "liner_in": 5.5, **BASE}]
    out = pumped(pumps, pump_1_rate=[1.0, 1.0, 1.0, 0.0], pump_2_rate=[1.0, 0.0, 3.0, 0.0])
    worth = [(42.25 + 30.25) / 2, 42.25, (42.25 + 3 * 30.25) / 4, (42.25 + 3 * 30.25) / 4]
    assert out.per_stroke == pytest.approx(np.array(worth) / 42.25 * EACH)


def test_a_pump_that_is_not_in_the_well_file_leaves_the_total_unknown() -> None:
    pumps = [{"name": "1", "liner_in": 6.5, **BASE}]
    third = np.where(np.arange(90) < 40, 0.0, 1.0)
    out = pumped(pumps, pump_1_rate=1.0, pump_2_rate=third, pump_strokes=1.0 * np.arange(90))
    assert out.known.tolist() == [True] * 40 + [False] * 50
    assert all(has(out.strokes, Quality.NO_REFERENCE)[40:])
    assert out.missed[41:].all()


def test_nothing_heard_of_the_pumps_is_not_zero_strokes() -> None:
    out = pumped(pump_1_rate=[NAN, NAN], pump_2_rate=[NAN, NAN])
    assert np.isnan(out.strokes.value).all()
    assert not out.begun.any()


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("pumps", [None, [{"name": "1", "liner_in": 6.5, **BASE},
                                          {"name": "2", "liner_in": 5.5, **BASE}]])  # fmt: skip
def test_any_split_gives_the_same_bits(seed: int, pumps: list[dict[str, object]] | None) -> None:
    levels = {"pump_1_rate": (0.0, 0.5, 1.0), "pump_2_rate": (0.0, 1.0), "pump_3_rate": (0.0, 1.0)}
    table = random_table(seed, 3000, **levels, pump_strokes=(0.0, 1.0, 2.0))
    counter = table["pump_strokes"]
    count = np.floor(np.cumsum(np.nan_to_num(counter.value))) % 10_000
    table["pump_strokes"] = Block(
        counter.t, np.where(np.isnan(counter.value), NAN, count), counter.quality
    )
    table |= Flow(well() if pumps is None else well(pumps=pumps)).process(table)
    out = check_splits(lambda: Shown(pumps), table)
    assert (np.diff(out["volume"].value) >= 0).all()
    assert not (np.isnan(out["strokes"].value) & (out["strokes"].quality == 0)).any()
