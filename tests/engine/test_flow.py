"""Flow-in, flow-out minus flow-in, and strokes from a counter."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.flow import Flow
from engine.ops.strokes import Strokes
from engine.units import PSI
from engine.well.pumps import stroke_volume
from tests.check_rows import row
from tests.tables import (
    L_S,
    NAN,
    SPM,
    check_splits,
    has,
    random_table,
    table_of,
    well,
    with_bits,
)

PER_STROKE = stroke_volume(well().pumps[0])


def flow(pumps: list[dict[str, object]] | None = None, **columns: object) -> dict[str, Block]:
    config = well() if pumps is None else well(pumps=pumps)
    return Flow(config).process(table_of(**columns))


@row("G01")
def test_pumps_at_rest_with_live_counters_give_exactly_zero_and_good() -> None:
    """Case G01: rate 0 on all pumps is flow 0, not unknown."""
    out = flow(pump_1_rate=[0.0, 0.0], pump_2_rate=[0.0, 0.0])["flow_in"]
    assert out.value.tolist() == [0.0, 0.0]
    assert out.quality.tolist() == [0, 0]


@row("G02")
def test_stale_counters_give_no_flow_and_say_stale() -> None:
    """Case G02."""
    out = flow(pump_1_rate=[SPM, NAN], pump_2_rate=[SPM, NAN])["flow_in"]
    assert np.isnan(out.value[1])
    assert has(out, Quality.STALE) == [False, True]


def test_one_unknown_pump_of_two_makes_the_sum_unknown() -> None:
    out = flow(pump_1_rate=[60 * SPM, 60 * SPM], pump_2_rate=[0.0, NAN])["flow_in"]
    assert out.value[0] == pytest.approx(PER_STROKE)
    assert np.isnan(out.value[1])


def test_a_pump_never_heard_of_makes_the_sum_unknown() -> None:
    assert np.isnan(flow(pump_1_rate=[SPM])["flow_in"].value[0])


def test_a_rate_out_of_range_is_not_computed_with() -> None:
    table = table_of(pump_1_rate=[SPM], pump_2_rate=[400 * SPM])
    table["pump_2_rate"] = with_bits(table["pump_2_rate"], Quality.OUT_OF_RANGE)
    out = Flow(well()).process(table)["flow_in"]
    assert np.isnan(out.value[0])
    assert has(out, Quality.OUT_OF_RANGE) == [True]


def test_a_pump_that_is_not_lined_up_does_not_count_even_when_unknown() -> None:
    base = {"type": "triplex", "liner_in": 6.5, "stroke_in": 12.0}
    pumps = [{"name": "1", **base}, {"name": "2", **base, "lined_up": False}]
    out = flow(pumps, pump_1_rate=[1.0, 1.0], pump_2_rate=[1.0, NAN])["flow_in"]
    assert out.value.tolist() == pytest.approx([PER_STROKE, PER_STROKE])


def test_a_pump_that_strokes_but_is_not_in_the_well_file_makes_flow_unknown() -> None:
    """Its stroke volume is unknown, and unknown is not zero."""
    out = flow(pump_1_rate=[1.0, 1.0], pump_2_rate=[0.0, 0.0], pump_3_rate=[0.0, 1.0])["flow_in"]
    assert out.value[0] == pytest.approx(PER_STROKE)
    assert np.isnan(out.value[1])
    assert has(out, Quality.NO_REFERENCE) == [False, True]


def test_the_meter_serves_until_a_pump_is_heard_and_never_after() -> None:
    """One source at a time: after the first pump rate a lost pump is unknown, not metered."""
    out = flow(
        flow_in_measured=[L_S, 2 * L_S, 3 * L_S, 4 * L_S],
        pump_1_rate=[NAN, NAN, 0.0, NAN],
        pump_2_rate=[NAN, NAN, 0.0, NAN],
    )["flow_in"]
    assert out.value[:3].tolist() == [L_S, 2 * L_S, 0.0]
    assert np.isnan(out.value[3])


def test_a_result_is_held_only_if_all_that_went_in_was_held() -> None:
    table = table_of(pump_1_rate=[0.0, 0.0], pump_2_rate=[0.0, 0.0])
    table["pump_1_rate"] = with_bits(table["pump_1_rate"], Quality.HELD)
    table["pump_2_rate"] = with_bits(table["pump_2_rate"], Quality.HELD, [True, False])
    assert has(Flow(well()).process(table)["flow_in"], Quality.HELD) == [True, False]


def test_strokes_without_pressure_are_in_doubt_after_ten_seconds() -> None:
    """Common practice, no source: strokes but below 50 psi for 10 s; the value is kept."""
    pressure = np.full(30, 20 * PSI)
    pressure[20:] = 60 * PSI
    out = flow(pump_1_rate=np.full(30, 1.0), pump_2_rate=np.zeros(30), standpipe_pressure=pressure)[
        "flow_in"
    ]
    assert has(out, Quality.CONFLICT) == [False] * 10 + [True] * 10 + [False] * 10
    assert not np.isnan(out.value).any()


def test_no_pressure_reading_is_no_doubt() -> None:
    out = flow(
        pump_1_rate=np.ones(30), pump_2_rate=np.zeros(30), standpipe_pressure=np.full(30, NAN)
    )["flow_in"]
    assert not any(has(out, Quality.CONFLICT))


@row("P14 own")
def test_the_difference_is_out_minus_in() -> None:
    """P14: 525 out and 500 in is 5 per cent of 500 more."""
    out = flow(flow_in_measured=[500 * L_S], flow_out=[525 * L_S])["flow_difference"]
    assert out.value[0] / (500 * L_S) == pytest.approx(0.05, abs=1e-12)
    assert out.quality[0] == 0


def test_the_difference_carries_the_reasons_of_both_sides() -> None:
    table = table_of(pump_1_rate=[1.0, NAN], pump_2_rate=[0.0, 0.0], flow_out=[0.02, 0.02])
    table["flow_out"] = with_bits(table["flow_out"], Quality.FROZEN, [True, False])
    out = Flow(well()).process(table)["flow_difference"]
    assert np.isnan(out.value).all()
    assert out.quality.tolist() == [int(Quality.FROZEN), int(Quality.STALE)]


def test_a_share_of_a_full_flow_line_is_never_turned_into_a_flow() -> None:
    """A paddle without a calibration has no litres a minute."""
    out = flow(pump_1_rate=[1.0], pump_2_rate=[0.0], flow_out_share=[0.6])["flow_difference"]
    assert np.isnan(out.value[0])
    assert out.quality[0] == int(Quality.NO_REFERENCE)


def test_any_split_gives_the_same_flow() -> None:
    doubts = 0
    for seed in range(4):
        table = random_table(
            seed, 1500,
            pump_1_rate=(0.0, 0.5, 1.0), pump_2_rate=(0.0, 1.2), pump_3_rate=(0.0, 0.0, 0.3),
            flow_in_measured=(0.0, 0.03), flow_out=(0.0, 0.03, 0.04), flow_out_share=(0.0, 0.5),
            standpipe_pressure=(0.0, 1e6, 1e7),
        )  # fmt: skip
        out = check_splits(lambda: Flow(well()), table)
        assert 50 < np.isnan(out["flow_difference"].value).sum() < 1450
        doubts += sum(has(out["flow_in"], Quality.CONFLICT))
    assert doubts > 0


def strokes(count: list[float], step: float = 1.0) -> Block:
    return Strokes().process(table_of(step=step, pump_strokes=count)["pump_strokes"])


def test_a_counter_gives_the_strokes_since_the_reading_before() -> None:
    out = strokes([100.0, 101.0, NAN, 104.0, 104.0])
    assert out.value[[1, 3, 4]].tolist() == [1.0, 3.0, 0.0]
    assert has(out, Quality.NO_REFERENCE) == [True, False, False, False, False]
    assert has(out, Quality.STALE) == [False, False, True, False, False]


@row("G03")
def test_a_roll_over_is_counted_and_a_reset_is_skipped() -> None:
    """Case G03: a step back is no negative flow. 9998 to 1 is 3 strokes; 5000 to 0 a reset."""
    assert strokes([9998.0, 1.0]).value[1] == 3.0
    reset = strokes([5000.0, 0.0, 2.0])
    assert np.isnan(reset.value[1])
    assert has(reset, Quality.NO_REFERENCE) == [True, True, False]
    assert reset.value[2] == 2.0


def test_a_step_back_after_a_long_gap_and_an_impossible_step_are_skipped() -> None:
    assert np.isnan(strokes([9990.0, 60.0], step=60.0).value[1])
    assert np.isnan(strokes([100.0, 90_000.0]).value[1])


def test_a_held_count_is_no_reading() -> None:
    table = table_of(pump_strokes=[9998.0, 9998.0, 9998.0, 4.0])
    held = with_bits(table["pump_strokes"], Quality.HELD, [False, True, True, False])
    assert Strokes().process(held).value[1:].tolist() == [0.0, 0.0, 6.0]


def test_any_split_gives_the_same_strokes() -> None:
    table = random_table(3, 1500, pump_strokes=(9_990.0, 3.0, 9_998.0, 10_004.0, 4.0))

    class Op:
        def __init__(self) -> None:
            self.op = Strokes()

        @property
        def state(self) -> object:
            return self.op.state

        def process(self, table: dict[str, Block]) -> dict[str, Block]:
            return {"strokes": self.op.process(table["pump_strokes"])}

    out = check_splits(Op, table)["strokes"]
    assert np.nanmin(out.value) == 0.0
    assert np.nanmax(out.value) > 0.0
