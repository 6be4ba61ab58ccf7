"""The log of connections on rows made by hand, figures known to the second.

Times of the parts: common practice, no source; the worked connection is that of
tests/engine/well/test_connections.py.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.records.connection_log import Logged, connection_log, connections_of
from engine.records.journal import Entry, Journal
from engine.states import RigState
from engine.well.answer import Unknown
from tests.connection_rows import FLOW, STAND, START, connection, joined, later
from tests.helpers import FakeRecording
from tests.tables import NAN, T0, cut, well, with_bits

CONFIG = well()
ZERO = T0 + START


def one(table: dict[str, Block]) -> Logged:
    found = connections_of(table, CONFIG)
    assert len(found) == 1
    return found[0]


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def test_the_figures_of_a_connection_are_known_to_the_second() -> None:
    """2.50, 5.50, 3.83, 1.25 and 1.75 min: weight off 0 s, pumps off 30, slips 75 to 225, ..."""
    found = one(connection())
    t = found.times
    assert t.slip_to_slip == 150.0
    assert t.weight_to_weight == 330.0
    assert t.pumps_off_to_on == 230.0
    assert t.bottom_to_bottom == 330.0
    assert (t.pre_slip, t.post_slip) == (75.0, 105.0)
    assert found.at == ZERO + 75
    assert found.kind == "drilling"
    assert found.travel == pytest.approx(STAND)
    assert found.excluded == ""


def test_the_time_line_says_what_happened_when() -> None:
    line = one(connection()).times.time_line()
    assert [(a, b, s) for a, b, s in line if s] == [
        ("weight_off", "pumps_off", 30.0), ("pumps_off", "slips_set", 45.0),
        ("slips_set", "slips_out", 150.0), ("slips_out", "pumps_on", 35.0),
        ("pumps_on", "on_bottom", 70.0),
    ]  # fmt: skip
    assert one(connection()).spent == {
        "in_slips": 150.0, "reaming_up": 30.0, "static": 80.0, "circulating": 70.0
    }  # fmt: skip


def test_slips_that_are_shown_late_are_dated_to_when_they_were_set() -> None:
    rows = connection()
    s = np.arange(900) - START
    slips = ((s >= 78) & (s < 227)).astype(float)
    since = ZERO + np.where(s < 78, -START, np.where(s < 227, 75, 225))
    found = one(connection(in_slips=slips, slips_since=since))
    assert found.times.slip_to_slip == one(rows).times.slip_to_slip == 150.0
    assert found.at == ZERO + 75


def test_only_what_needs_a_channel_is_unknown_without_it() -> None:
    """Unknown is not zero, and says why."""
    nothing = np.full(900, NAN)
    found = one(connection(weight_on_bit=nothing))
    assert found.times.slip_to_slip == 150.0
    assert found.times.pumps_off_to_on == 230.0
    assert reason(found.times.weight_to_weight) == "weight on bit was not known"
    assert reason(one(connection(flow_in=nothing)).times.pumps_off_to_on) == "flow in was not known"
    without = connection()
    del without["on_bottom"]
    assert reason(one(without).times.bottom_to_bottom) == "on bottom was not known"
    assert one(without).times.weight_to_weight == 330.0


def test_a_gap_makes_the_figures_across_it_unknown_and_no_others() -> None:
    """A minute without rows while the stand is picked up."""
    rows = connection()
    holed = joined(cut(rows, 0, START + 120), cut(rows, START + 180, 900))
    found = one(holed)
    assert reason(found.times.slip_to_slip) == "the record has a gap"
    assert reason(found.times.weight_to_weight) == "the record has a gap"
    assert found.times.pre_slip == 75.0
    assert found.times.post_slip == 105.0
    assert all({a, b} != {"slips_set", "slips_out"} for a, b, _ in found.times.time_line())


def test_a_channel_lost_for_ten_seconds_loses_no_figure_and_for_a_minute_does() -> None:
    s = np.arange(900) - START
    flow = np.where((s < 30) | (s >= 260), FLOW, 0.0)
    brief = one(connection(flow_in=np.where((s > 100) & (s < 110), NAN, flow)))
    long = one(connection(flow_in=np.where((s > 100) & (s < 160), NAN, flow)))
    assert brief.times.pumps_off_to_on == 230.0
    assert isinstance(long.times.pumps_off_to_on, Unknown)
    assert long.times.slip_to_slip == 150.0


def test_pumps_are_off_below_a_tenth_and_on_above_nine_tenths_of_the_stands_own_flow() -> None:
    """Wound down to 0.09 of it at 20 s; staged up; the next stand drills with 0.8 of it."""
    s = np.arange(900) - START
    flow = np.select(
        [s < 20, s < 40, s < 240, s < 270], [FLOW, 0.09 * FLOW, 0.0, 0.2 * FLOW],
        0.8 * FLOW,
    )  # fmt: skip
    found = one(connection(flow_in=flow))
    assert found.times.at["pumps_off"] == ZERO + 20
    assert found.times.at["pumps_on"] == ZERO + 270


def test_drag_while_the_string_moves_is_no_weight() -> None:
    """The channel is NaN and NOT_APPLICABLE there; held, the weight would come off late."""
    rows = connection()
    s = np.arange(900) - START
    load = rows["weight_on_bit"]
    moved = (s >= 0) & (s < 20)
    value = np.where(moved, NAN, load.value)
    rows["weight_on_bit"] = with_bits(
        Block(load.t, value, load.quality), Quality.NOT_APPLICABLE, moved
    )
    assert one(rows).times.at["weight_off"] == ZERO


def test_a_recording_that_begins_or_ends_in_slips_says_so() -> None:
    begins = one(cut(connection(), START + 100, 900))
    assert begins.at is None
    assert reason(begins.times.slip_to_slip) == "slips set is not in the record"
    assert reason(begins.travel) == "slips set is not in the record"
    assert begins.times.post_slip == 105.0
    ends = one(cut(connection(), 0, START + 200))
    assert reason(ends.times.slip_to_slip) == "slips out is not in the record"
    assert ends.times.pre_slip == 75.0


@pytest.mark.parametrize(
    ("state", "why"), [(RigState.CIRCULATING, "circulated for 7 min"),
                       (RigState.STATIC, "stood still for 7 min")]
)  # fmt: skip
def test_circulating_or_standing_long_sets_a_connection_apart(state: RigState, why: str) -> None:
    """Or the target would punish a flow check. common practice, no source"""
    rows = connection()
    wait = later(joined(*[later(cut(rows, 500, 501), k) for k in range(350)]), 1.0)
    wait["rig_state"] = replace(wait["rig_state"], value=np.full(350, float(state)))
    found = one(joined(cut(rows, 0, 501), wait, later(cut(rows, 501, 900), 350.0)))
    assert found.times.weight_to_weight == 680.0
    assert found.excluded == why


def test_an_alarm_within_it_sets_a_connection_apart() -> None:
    def with_alarm(at: float, priority: int = 1) -> Logged:
        recording = FakeRecording(connection())
        entry = Entry(ZERO + at, "alarm", "pit-gain", "trip", {
            "label": "Pit gain", "before": "A", "after": "B", "priority": priority,
        })  # fmt: skip
        recording.lines = Journal().write([entry])
        return connection_log(recording, CONFIG)[0]

    assert with_alarm(100).excluded == "alarm: Pit gain"
    assert with_alarm(-10).excluded == with_alarm(400).excluded == ""
    assert with_alarm(100, priority=3).excluded == ""


def test_the_first_connection_after_a_trip_is_set_apart() -> None:
    rows = connection()
    s = np.arange(900) - START
    trip = connection(
        rig_state=np.where((s >= 75) & (s < 225), RigState.IN_SLIPS, RigState.TRIPPING_IN),
        bit_depth=2300.0,
    )
    found = connections_of(joined(trip, later(rows, 900.0)), CONFIG)
    assert [one.kind for one in found] == ["tripping", "drilling"]
    assert [one.excluded for one in found] == ["", "first after a trip"]


def test_nothing_recorded_has_no_connections() -> None:
    assert connection_log(FakeRecording(), CONFIG) == ()
    assert connections_of({}, CONFIG) == ()
    assert connections_of(cut(connection(), 0, 0), CONFIG) == ()
    assert connections_of(cut(connection(), 0, 1), CONFIG) == ()
