"""Deadband, delays and dead data of limits.

Sources: OPC 10000-9, B.1.5 (on-delay, off-delay, deadband); OPC 30030, 8.13.2 (the limit itself
still counts as normal). What dead data does is our own rule; no source.
"""

from __future__ import annotations

from itertools import pairwise
from unittest.mock import patch

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engine.alarms.limits import Limits
from engine.config import Alarm
from tests.helpers import ALARM_WORDS

NAN = float("nan")


def alarm(side: str, deadband: float = 0.0, on: float = 0.0, off: float = 0.0) -> Alarm:
    limit = {"high": 10.0} if side == "high" else {"low": 10.0}
    return Alarm.model_validate(
        {
            "id": "a", "label": "A", "channel": "rig_state", "deadband": deadband,
            "on_delay_s": on, "off_delay_s": off, "priority": 1,
            "action": "look at the gauge", **ALARM_WORDS, **limit,
        }
    )  # fmt: skip


def edges(one: Alarm, t: list[float], x: list[float]) -> list[tuple[float, bool, float]]:
    value = np.array([x])
    found = Limits([one]).process(np.array(t) + 1.7e9, value, ~np.isnan(value))
    assert all(e.alarm == 0 and e.at == t[e.row] + 1.7e9 for e in found)
    return [(t[e.row], e.abnormal, e.value) for e in found]


def seconds(n: int) -> list[float]:
    return [float(i) for i in range(n)]


def test_a_high_alarm_trips_above_its_limit_and_not_on_it() -> None:
    """OPC 30030, 8.13.2: the high limit is the upper end of what is normal."""
    assert edges(alarm("high"), seconds(3), [9.0, 10.0, 10.0]) == []
    assert edges(alarm("high"), seconds(3), [9.0, 10.0, 10.0001]) == [(2.0, True, 10.0001)]


def test_a_low_alarm_mirrors_a_high_one() -> None:
    assert edges(alarm("low"), seconds(2), [11.0, 10.0]) == []
    got = edges(alarm("low", deadband=2.0), seconds(6), [11.0, 9.9, 11.0, 12.0, 12.1, 9.0])
    assert got == [(1.0, True, 9.9), (4.0, False, 12.1), (5.0, True, 9.0)]


def test_a_value_in_the_deadband_does_not_clear() -> None:
    """OPC 10000-9, B.1.5. High 10, deadband 2: 8 still stands, only below 8 clears."""
    got = edges(alarm("high", deadband=2.0), seconds(6), [9.9, 10.5, 9.0, 8.0, 7.9, 9.9])
    assert got == [(1.0, True, 10.5), (4.0, False, 7.9)]


def test_a_value_on_the_limit_without_deadband_changes_nothing() -> None:
    got = edges(alarm("high"), seconds(5), [11.0, 10.0, 9.0, 10.0, 11.0])
    assert got == [(0.0, True, 11.0), (2.0, False, 9.0), (4.0, True, 11.0)]


def test_the_on_delay_asks_for_the_whole_time_above_the_limit() -> None:
    """OPC 10000-9, B.1.5: above the threshold for the duration of the on-delay."""
    one = alarm("high", on=3.0)
    assert edges(one, seconds(4), [11.0, 12.0, 13.0, 14.0]) == [(3.0, True, 14.0)]
    assert edges(one, seconds(6), [11.0, 12.0, 13.0, 9.0, 11.0, 11.0]) == []


def test_the_off_delay_keeps_a_chattering_alarm_standing() -> None:
    """OPC 10000-9, B.1.5. Over and under every second: one trip, no clear until it is calm."""
    chatter = [11.0, 9.0] * 10 + [9.0] * 5
    got = edges(alarm("high", off=3.0), seconds(25), chatter)
    assert got == [(0.0, True, 11.0), (22.0, False, 9.0)]
    bare = edges(alarm("high"), seconds(25), chatter)
    assert len(bare) == 20  # ten trips and ten clears without it


def test_delays_count_time_and_not_rows() -> None:
    one = alarm("high", on=3.0)
    tenth = [i / 10 for i in range(40)]
    assert edges(one, tenth, [11.0] * 40) == [(3.0, True, 11.0)]
    assert edges(one, [0.0, 2.0, 7.0], [11.0] * 3) == [(7.0, True, 11.0)]


def test_the_rounding_of_a_clock_time_does_not_put_a_trip_off_by_a_row() -> None:
    """0.4 s and 1.1 s after 1.78e9 s differ by less than 0.7 s in doubles."""
    t = np.array([0.4, 1.1]) + 1.78e9
    assert t[1] - t[0] < 0.7
    value = np.array([[11.0, 11.0]])
    found = Limits([alarm("high", on=0.7)]).process(t, value, ~np.isnan(value))
    assert [e.row for e in found] == [1]


def test_dead_data_neither_trips_nor_clears() -> None:
    assert edges(alarm("high"), seconds(4), [NAN] * 4) == []
    got = edges(alarm("high"), seconds(5), [11.0, NAN, NAN, NAN, 9.0])
    assert got == [(0.0, True, 11.0), (4.0, False, 9.0)]


def test_a_bad_quality_value_does_not_trip() -> None:
    value, bad = np.array([[11.0, 99.0]]), np.array([[False, False]])
    assert Limits([alarm("high")]).process(np.array([0.0, 1.0]), value, bad) == []


def test_the_delays_stand_still_while_nothing_can_be_seen() -> None:
    """Our own rule. 0-2 s count 2 s, 2-9 s are dark, 9-10 s count 1 s: 3 s are full at 10."""
    t = [0.0, 1.0, 2.0, 3.0, 8.0, 9.0, 10.0, 11.0]
    x = [11.0, 11.0, 11.0, NAN, NAN, 12.0, 13.0, 14.0]
    assert edges(alarm("high", on=3.0), t, x) == [(10.0, True, 13.0)]


def test_an_on_delay_never_runs_out_on_dead_data() -> None:
    assert edges(alarm("high", on=3.0), seconds(60), [11.0] + [NAN] * 59) == []
    # Back inside when the line returns: the excursion before it is forgotten.
    assert (
        edges(alarm("high", on=3.0), seconds(8), [11.0, 11.0, NAN, NAN, NAN, 9.0, 11.0, 11.0]) == []
    )


def test_a_line_that_drops_out_again_and_again_cannot_put_an_alarm_off_for_ever() -> None:
    x = [11.0, 11.0, NAN] * 20
    got = edges(alarm("high", on=10.0), seconds(60), x)
    assert len(got) == 1  # one good second in three: full at the tenth pair
    assert got[0] == (28.0, True, 11.0)


def test_no_rows_give_no_edges() -> None:
    limits = Limits([alarm("high")])
    assert limits.process(np.empty(0), np.empty((1, 0)), np.empty((1, 0), np.bool_)) == []


class Plain:
    """The rule again, one row at a time, in plain Python, only for these tests."""

    def __init__(self, one: Alarm) -> None:
        self.one, self.clock, self.last_good = one, 0.0, None
        self.zone, self.since, self.abnormal = 0, 0.0, False

    def row(self, t: float, x: float) -> bool:
        if np.isnan(x):
            self.last_good = None
            return self.abnormal
        if self.last_good is not None:
            self.clock += t - self.last_good
        self.last_good = t
        sign = 1.0 if self.one.high is not None else -1.0
        limit = 10.0 * sign
        over, under = x * sign > limit, x * sign < limit - self.one.deadband
        zone = int(over) - int(under)
        if zone != self.zone:
            self.zone, self.since = zone, self.clock
        lasted = self.clock - self.since
        if over and lasted >= self.one.on_delay_s - 1e-6:
            self.abnormal = True
        if under and lasted >= self.one.off_delay_s - 1e-6:
            self.abnormal = False
        return self.abnormal


ROWS = st.lists(
    st.tuples(
        st.sampled_from([0.0, 0.5, 1.0, 4.0]),
        st.lists(st.sampled_from([7.9, 8.0, 9.0, 10.0, 10.5, 12.0, NAN]), min_size=3, max_size=3),
    ),
    max_size=40,
)
SET = [alarm("high", 2.0, 1.5, 2.0), alarm("low", 0.5, 3.0, 0.0), alarm("high")]


@given(ROWS, st.lists(st.integers(0, 40), max_size=6), st.sampled_from([1, 2, 7, 40]))
def test_any_split_gives_the_edges_of_one_row_at_a_time(
    rows: list[tuple[float, list[float]]], cuts: list[int], at_once: int
) -> None:
    t = np.cumsum([r[0] for r in rows]) + 1.7e9
    value = np.array([r[1] for r in rows]).reshape(-1, 3).T.copy()
    plain, want = [Plain(one) for one in SET], []
    for i in range(len(rows)):
        for k, p in enumerate(plain):
            before = p.abnormal
            if p.row(float(t[i]), float(value[k, i])) != before:
                want.append((float(t[i]), k, not before, float(value[k, i])))
    limits, got = Limits(SET), []
    for a, b in pairwise([0, *sorted(min(c, len(rows)) for c in cuts), len(rows)]):
        part = value[:, a:b]
        with patch("engine.alarms.limits.AT_ONCE", at_once):
            found = limits.process(t[a:b], part, ~np.isnan(part))
        assert [t[a + e.row] for e in found] == [e.at for e in found]
        got += [(e.at, e.alarm, e.abnormal, e.value) for e in found]
    assert got == want


def test_a_delay_that_began_in_an_earlier_block_ends_in_a_later_one_without_news() -> None:
    limits, found = Limits([alarm("high", on=3.0, off=2.0)]), []
    for at, x in enumerate([9.0, 12.0, 12.0, 12.0, 12.0, 9.0, 9.0, 9.0]):
        row = np.array([[x]])
        found += limits.process(np.array([1.7e9 + at]), row, ~np.isnan(row))
    assert [(e.at - 1.7e9, e.abnormal) for e in found] == [(4.0, True), (7.0, False)]
