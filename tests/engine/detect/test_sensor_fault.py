"""Sensors that are not to be believed, on rows made by hand, each beside one that works."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.sensor_fault import SensorFault
from engine.ops.checks import Checks
from engine.records.journal import Entry
from tests.tables import L_S, NAN, T0, block_of, cut, splits, table_of, well, with_bits

N = 4200
RANGE = {"ranges": [{"channel": "standpipe_pressure", "high_kPa": 30000.0}]}


def rig(n: int = N, seed: int = 1, **changes: Any) -> dict[str, Block]:
    """Return a rig that drills at 30 L/s: noise of 0.3 to 1 % on every sensor, depths as sent."""
    rng = np.random.default_rng(seed)

    def about(level: float, noise: float) -> np.ndarray:
        return level + noise * rng.standard_normal(n)

    columns: dict[str, Any] = {
        "flow_in": 30 * L_S, "flow_in_measured": about(30, 0.3) * L_S,
        "flow_out": about(30, 0.5) * L_S, "standpipe_pressure": about(15e6, 5e4),
        "hook_load": about(1e6, 3e3), "pit_volume": about(60, 0.05), "pump_1_rate": 1.0,
        "rotary": 12.0, "torque": np.round(about(9e3, 3e2), -2),
        "temperature_out": np.round(about(320, 0.2), 1), "bit_depth": 2000.0,
        "hole_depth": 2000.0, "reported_bit_depth": 2001.0, "reported_hole_depth": 2001.0,
    }  # fmt: skip
    return table_of(n, **(columns | changes))


def entries(table: dict[str, Block], edges: list[int] | None = None, **changes: Any) -> list[Entry]:
    """Return what the journal gets."""
    config = well(**changes)
    rows = table | Checks(config).process(table)
    detector = SensorFault(config, config.detect.sensor_fault)
    board = Board((detector,), Balance(config, config.detect.balance))
    cuts = edges or [0, len(table["flow_in"])]
    return [e for a, b in pairwise(cuts) for e in board.process(cut(rows, a, b))[2]]


def faults(found: list[Entry]) -> list[tuple[float, str, list[tuple[str, str]]]]:
    """Return second, event and (channel, fault) of each change."""
    return [
        (e.at - T0, e.event, [(f["channel"], f["fault"]) for f in e.details["evidence"]["faults"]])
        for e in found
        if e.kind == "event"
    ]


def put(table: dict[str, Block], name: str, where: Any, to: Any) -> dict[str, Block]:
    """Return the table with other readings somewhere; NaN is a lost one."""
    block = table[name]
    value = block.value.copy()
    value[where] = to
    return table | {name: block_of(block.t, value)}


@pytest.mark.parametrize("seed", range(4))
def test_a_rig_whose_sensors_work_says_nothing(seed: int) -> None:
    assert faults(entries(rig(seed=seed))) == []


def test_a_frozen_pit_sensor_is_a_warning_and_ends_when_it_moves() -> None:
    """Longest run of equal readings: the rule of `engine.ops.checks`, 300 s with pumps on."""
    found = faults(entries(put(rig(), "pit_volume", slice(1000, 1600), 60.0)))
    assert [(what, which) for _, what, which in found] == [
        ("warning", [("pit_volume", "frozen")]),
        ("end", []),
    ]
    assert 1300 <= found[0][0] <= 1310
    assert 1600 <= found[1][0] <= 1610


def test_a_torque_that_holds_three_times_its_longest_run_is_advice() -> None:
    """Learnt in half an hour of work; the run at rest, with the rotary off, is none."""
    held = put(rig(), "torque", slice(2500, 3200), 9000.0)
    found = entries(held)
    (at, what, which), *_ = faults(found)
    assert (what, which) == ("advice", [("torque", "frozen")])
    assert 2560 < at < 3200
    fault = next(e for e in found if e.event == "advice").details["evidence"]["faults"][0]
    assert fault["for_s"] > 3 * fault["longest_before_s"]
    at_rest = held | {"rotary": block_of(held["rotary"].t, np.where(np.arange(N) < 2500, 12.0, 0))}
    assert faults(entries(at_rest)) == []
    assert faults(entries(rig(density_out=1200.0))) == []  # always one number: not judged


def test_a_single_wild_reading_is_none_and_five_are_spikes() -> None:
    """Hampel (1974): one sample far from its seven neighbours; the raw reading is kept."""
    at = [1000, 1060, 1130, 1200, 1290]
    table = put(rig(), "standpipe_pressure", at, 25e6)
    found = entries(table)
    (when, what, which), (after, end, _) = faults(found)
    assert (what, which, end) == ("advice", [("standpipe_pressure", "spikes")], "end")
    assert 1290 < when <= 1300
    assert 1890 <= after <= 1900
    fault = found[0].details["evidence"]["faults"][0]
    assert (fault["reading"], fault["count"]) == (25e6, 5)
    assert fault["instead"] == pytest.approx(15e6, rel=0.01)
    assert faults(entries(put(rig(), "standpipe_pressure", at[:4], 25e6))) == []
    pairs = [i + k for i in at for k in (0, 1)]
    assert faults(entries(put(rig(), "standpipe_pressure", pairs, 25e6))) == []  # data


def test_a_sensor_lost_five_times_in_ten_minutes_is_called() -> None:
    lost = [i + k for i in (1000, 1100, 1200, 1300, 1400) for k in range(8)]
    found = faults(entries(put(rig(), "hook_load", lost, NAN)))
    assert [(what, which) for _, what, which in found][:1] == [
        ("warning", [("hook_load", "lost often")])
    ]
    assert 1400 < found[0][0] <= 1410
    table = put(rig(), "hook_load", lost, NAN)
    down = np.isin(np.arange(N), lost)
    block = table["hook_load"]
    bits = np.where(down, np.uint16(Quality.LINK_DOWN), 0).astype(np.uint16)
    assert faults(entries(table | {"hook_load": Block(block.t, block.value, bits)})) == []


def test_a_sensor_that_sends_nothing_for_two_minutes_is_called_and_one_that_never_did_is_not() -> (
    None
):
    found = faults(entries(put(rig(), "hook_load", slice(1000, 1300), NAN)))
    assert [(what, which) for _, what, which in found] == [
        ("warning", [("hook_load", "sends nothing")]),
        ("end", []),
    ]
    assert 1120 <= found[0][0] <= 1122
    assert 1300 <= found[1][0] <= 1306
    assert faults(entries(rig(hook_load=NAN))) == []
    assert faults(entries(put(rig(), "hook_load", slice(0, 300), NAN))) == []  # came later
    assert faults(entries(put(rig(), "hook_load", slice(1000, 1100), NAN))) == []


def test_a_reading_out_of_range_is_called_and_stays_as_it_came() -> None:
    """R-03: never zeroed, never dropped; a single one is a spike."""
    table = put(rig(), "standpipe_pressure", slice(1000, 1100), 35e6)
    found = entries(table, **RANGE)
    (at, what, which), *_ = faults(found)
    assert (what, which) == ("warning", [("standpipe_pressure", "out of range")])
    assert 1001 <= at <= 1003
    assert found[0].details["evidence"]["faults"][0]["reading"] == 35e6
    assert faults(entries(put(rig(), "standpipe_pressure", 1000, 35e6), **RANGE)) == []
    end = put(rig(), "standpipe_pressure", slice(1000, 1100), 30e6)
    (at, what, which), *_ = faults(entries(end, **RANGE))
    assert (what, which) == ("warning", [("standpipe_pressure", "saturated")])
    assert 1030 <= at <= 1033
    assert faults(entries(end)) == []  # a gauge that reads further is not at its end


def test_meter_and_strokes_10_per_cent_apart_for_a_minute_disagree() -> None:
    apart = rig()["flow_in_measured"].value.copy()
    apart[1000:1100] *= 0.85
    found = faults(entries(rig(flow_in_measured=apart)))
    assert [(what, which) for _, what, which in found] == [
        ("advice", [("flow_in_measured", "disagrees")]),
        ("end", []),
    ]
    assert 1060 <= found[0][0] <= 1062
    apart[1050:1100] /= 0.85  # 50 s
    assert faults(entries(rig(flow_in_measured=apart))) == []
    near = rig()["flow_in_measured"].value * 0.93
    assert faults(entries(rig(flow_in_measured=near))) == []


def test_depths_a_single_of_pipe_apart_disagree() -> None:
    sent = np.where(np.arange(N) < 1000, 2001.0, 2011.0)
    (at, what, which), *_ = faults(entries(rig(reported_bit_depth=sent)))
    assert (what, which) == ("advice", [("reported_bit_depth", "disagrees")])
    assert 1060 <= at <= 1062


def test_a_meter_that_drifts_by_6_per_cent_is_told_and_one_of_2_is_not() -> None:
    """Lucas and Saccucci (1990): weight 0.03, limit 2.44; and the own floor of 3 %."""
    n = 12000

    def drifting(share: float) -> np.ndarray:
        rng = np.random.default_rng(3)
        ramp = 1 + share * np.clip((np.arange(n) - 3000) / 3000, 0, 1)
        return (30 + 0.3 * rng.standard_normal(n)) * ramp * L_S

    (at, what, which), *_ = faults(entries(rig(n, flow_in_measured=drifting(0.06))))
    assert (what, which) == ("advice", [("flow_in_measured", "drifts")])
    assert at > 4500
    assert faults(entries(rig(n, flow_in_measured=drifting(0.02)))) == []


def test_a_second_subject_is_told_while_the_call_stands() -> None:
    """`Verdict.edition`: severity stays, the details are told anew, one end for both."""
    table = put(rig(), "pit_volume", slice(1000, 2000), 60.0)
    table = put(table, "standpipe_pressure", slice(1500, 1600), 35e6)
    found = faults(entries(table, **RANGE))
    both = [("pit_volume", "frozen"), ("standpipe_pressure", "out of range")]
    assert [which for _, _, which in found] == [both[:1], both, both[:1], []]
    assert [what for _, what, _ in found] == ["warning", "warning", "warning", "end"]


def test_any_split_gives_the_same_calls() -> None:
    table = put(rig(), "pit_volume", slice(1000, 2000), 60.0)
    table = put(table, "standpipe_pressure", [1500, 1560, 1630, 1700, 1790], 25e6)
    table = put(table, "standpipe_pressure", slice(3000, 3100), 35e6)
    table = put(table, "temperature_out", slice(700, 1000), NAN)
    lost = [i + k for i in (2000, 2100, 2200, 2300, 2400) for k in range(8)]
    table = put(table, "hook_load", lost, NAN)
    table = put(table, "torque", slice(2500, 3200), 9000.0)
    table = put(table, "flow_in_measured", slice(3300, 3500), 20 * L_S)
    held = with_bits(table["torque"], Quality.HELD, np.arange(N) % 5 == 0)
    table = table | {"torque": held}
    whole = entries(table, **RANGE)
    assert len({tuple(f) for _, _, which in faults(whole) for f in which}) == 8
    for edges in splits(N):
        assert entries(table, edges, **RANGE) == whole
