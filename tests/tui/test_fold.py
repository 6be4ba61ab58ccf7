from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.config import Alarm
from engine.interfaces import Status
from engine.records.journal import Entry, Journal
from engine.snapshot import CallView
from tests.helpers import T0, FakeRecording, alarm_of
from tests.scene import LONG, alarm, drilling_table, recording, well
from tui.fold import Fold, nearest_limits
from tui.follow import Follower

END = T0 + LONG - 1


class Wall:
    """A wall clock set by hand."""

    def __init__(self, now: float) -> None:
        self.now = now

    def __call__(self) -> float:
        return self.now


def one(value: list[float], quality: list[int]) -> dict[str, Block]:
    """Return rows of hook load alone, one a second, with the last at `END`."""
    n = len(value)
    t = END - n + 1 + np.arange(n, dtype=float)
    return {"hook_load": Block(t, np.array(value), np.array(quality, np.uint16))}


def read(fake: FakeRecording, wall: float = END + 0.4, **changes: object):
    """Return the snapshot at `wall`."""
    return Follower(fake, well(**changes), Wall(wall)).poll()


def test_only_new_rows_and_lines_are_read_again() -> None:
    whole = drilling_table(60)
    fake = recording({k: b.slice(0, 40) for k, b in whole.items()})
    follower = Follower(fake, well(), Wall(T0 + 59.4))
    first = follower.poll()
    kept = first.trends.value["hook_load"].copy()
    fake.table = whole
    fake.beat = Status(T0 + 59, T0 + 59)
    second = follower.poll()
    assert np.array_equal(second.trends.value["hook_load"], whole["hook_load"].value)
    assert np.array_equal(first.trends.value["hook_load"], kept)
    assert first.trends.t.size == 40


def test_rows_read_piece_by_piece_are_the_rows_read_at_once() -> None:
    whole = drilling_table()
    fake = recording(whole)
    follower = Follower(fake, well(), Wall(END + 0.4))
    for n in (1, 700, 1024, 1025, 1799, LONG):
        fake.table = {k: b.slice(0, n) for k, b in whole.items()}
        snapshot = follower.poll()
    assert np.array_equal(snapshot.trends.t, whole["hook_load"].t)
    for name, column in snapshot.trends.value.items():
        assert np.array_equal(column, whole[name].value, equal_nan=True)


def test_an_age_counts_from_the_newest_measured_sample_on_the_data_clock() -> None:
    """R-02: held samples are not new ones; the heartbeat carries the clock on."""
    held = int(Quality.HELD)
    fake = recording(one([1e6, 1e6, 1e6], [0, held, held]))
    assert read(fake).readings["hook_load"].age == pytest.approx(2.4)
    assert fake.beat is not None
    fake.beat = replace(fake.beat, speed=5.0)
    assert read(fake).readings["hook_load"].age == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("quality", "reason"),
    [
        (Quality.STALE, "stale"),
        (Quality.LINK_DOWN, "link down"),
        (Quality.LINK_DOWN | Quality.STALE, "link down"),
        (Quality.MISSING, "not sent"),
        (Quality.REJECTED, "rejected"),
        (Quality.NO_DATA, "no data"),
    ],
)
def test_a_value_that_is_not_there_says_why(quality: Quality, reason: str) -> None:
    """R-02."""
    reading = read(recording(one([1e6, np.nan], [0, int(quality)]))).readings["hook_load"]
    assert reading.value is None
    assert reading.reason == reason
    assert reading.age == pytest.approx(1.4)


@pytest.mark.parametrize("quality", [Quality.OUT_OF_RANGE, Quality.FROZEN])
def test_a_doubtful_value_is_shown_with_its_mark(quality: Quality) -> None:
    """R-03: never zeroed, clipped or dropped."""
    reading = read(recording(one([9.9e6], [int(quality)]))).readings["hook_load"]
    assert reading.value == 9.9e6
    assert reading.quality == quality


@pytest.mark.parametrize(("late", "alive"), [(2.4, True), (2.6, False), (-2.6, False)])
def test_no_number_is_shown_once_the_heartbeat_is_old(late: float, alive: bool) -> None:
    snapshot = read(recording(drilling_table(60)), T0 + 59 + late)
    assert snapshot.watch.alive is alive
    values = [r.value for r in snapshot.readings.values()]
    assert any(v is not None for v in values) is alive
    if not alive:
        assert {r.reason for r in snapshot.readings.values()} == {"watch stopped"}
        assert snapshot.rig_state == "unknown"
        assert snapshot.connection.in_slips is None


def test_a_watch_that_ended_in_good_order_is_told_from_one_that_stopped() -> None:
    fake = recording(drilling_table(60))
    fake.beat = Status(T0 + 59, T0 + 59, running=False)
    snapshot = read(fake, T0 + 59.4)
    assert snapshot.watch.ended
    assert {r.reason for r in snapshot.readings.values()} == {"watch ended"}


def test_rows_that_stop_coming_give_no_value_though_the_watch_beats() -> None:
    """Limit 5 s stale (three intervals of 1 s, at least 5) and 3 s to write and read."""
    fake = recording(drilling_table(60))
    for late, shown in ((7.9, True), (8.1, False)):
        fake.beat = Status(T0 + 59 + late, T0 + 59 + late)
        reading = read(fake, T0 + 59 + late).readings["hook_load"]
        assert (reading.value is not None) is shown


def test_a_recording_without_a_heartbeat_or_a_row_shows_nothing() -> None:
    snapshot = read(FakeRecording())
    assert not snapshot.watch.alive
    assert snapshot.watch.problem
    assert snapshot.alarms == ()
    assert snapshot.trends.t.size == 0


def test_an_alarm_stands_as_its_newest_line_says() -> None:
    fake = recording(
        drilling_table(60),
        [
            alarm(T0 + 10, "pit-gain", "trip", "AB", value=1.2, limit=1.0, priority=1),
            alarm(T0 + 20, "pit-gain", "ack", "BC", value=1.3, limit=1.0, priority=1),
            alarm(T0 + 30, "torque-high", "trip", "AB", value=25e3, limit=24e3, priority=3),
            alarm(T0 + 31, "pressure-low", "suppress", "AH"),
            alarm(T0 + 32, "hook-load-high", "trip", "AB"),
            alarm(T0 + 33, "hook-load-high", "clear", "BD"),
            alarm(T0 + 34, "hook-load-high", "ack", "DA"),
        ],
    )
    snapshot = read(fake, T0 + 59.4)
    assert [(a.id, a.state) for a in snapshot.alarms] == [("torque-high", "B"), ("pit-gain", "C")]
    pit = snapshot.alarms[1]
    assert (pit.since, pit.raised, pit.value) == (T0 + 20, T0 + 10, 1.2)
    assert pit.action == "Pick up, stop the pumps, check for flow; shut in if it flows"
    assert snapshot.suppressed == 1


def test_unacknowledged_alarms_come_first_then_priority_then_the_newest() -> None:
    fake = recording(
        drilling_table(60),
        [
            alarm(T0 + 1, "pit-gain", "trip", "AB", priority=1),
            alarm(T0 + 2, "pit-gain", "ack", "BC", priority=1),
            alarm(T0 + 3, "pressure-high", "trip", "AB", priority=2),
            alarm(T0 + 4, "returns-hot", "trip", "AB", priority=2),
            alarm(T0 + 5, "block-high", "trip", "AB", priority=1),
        ],
    )
    ids = [a.id for a in read(fake, T0 + 59.4).alarms]
    assert ids == ["block-high", "returns-hot", "pressure-high", "pit-gain"]


TRIP = alarm(T0 + 1, "pit-gain", "trip", "AB")
SILENCE = Entry(T0 + 2, "command", "silence", "given", {"who": "Ines"})


@pytest.mark.parametrize(
    ("entries", "sounds"),
    [
        ([TRIP], True),
        ([TRIP, SILENCE], False),
        ([TRIP, SILENCE, alarm(T0 + 3, "torque-high", "trip", "AB")], True),
        ([TRIP, alarm(T0 + 2, "pit-gain", "ack", "BC")], False),
        ([TRIP, SILENCE, alarm(T0 + 3, "pit-gain", "clear", "BE")], False),
        ([TRIP, alarm(T0 + 3, "pit-gain", "clear", "BE")], True),
        ([TRIP, alarm(T0 + 3, "pit-gain", "clear", "BD")], False),
        ([TRIP, alarm(T0 + 1, "pit-gain", "suppress", "BH")], False),
        ([TRIP, SILENCE, alarm(T0 + 3, "pit-gain", "ack", "BC"),
          alarm(T0 + 9, "pit-gain", "re_alarm", "CB")], True),
    ],
)  # fmt: skip
def test_the_horn_sounds_for_what_came_after_the_last_silence(
    entries: list[Entry], sounds: bool
) -> None:
    """ANSI/ISA-18.2 as publicly described: silence is no acknowledgement; a new alarm sounds."""
    assert read(recording(drilling_table(60), entries), T0 + 59.4).horn is sounds


def test_limits_are_the_nearest_of_the_alarms_armed_now() -> None:
    def limit(name: str, m3: float, armed: tuple[str, ...]) -> Alarm:
        return alarm_of(name).model_copy(update={"high": m3, "armed": armed})

    alarms = [
        limit("far", 3.0, ("static", "in_slips")),
        limit("near", 1.0, ("static",)),
        alarm_of("low").model_copy(update={"high": None, "low": -2.0}),
    ]
    assert nearest_limits(alarms, "pit_gain", "static") == (-2.0, 1.0)
    assert nearest_limits(alarms, "pit_gain", "in_slips") == (-2.0, 3.0)
    assert nearest_limits(alarms, "pit_gain", "unknown") == (-2.0, 1.0)
    assert nearest_limits(alarms, "torque", "static") == (None, None)


def test_the_log_has_the_words_of_the_newest_lines() -> None:
    fake = recording(
        drilling_table(60),
        [
            Entry(T0 + 1, "link", "rig", "down", {"reason": "port gone"}),
            alarm(T0 + 2, "pit-gain", "trip", "AB", label="Pit gain"),
            alarm(T0 + 3, "pressure-low", "suppress", "AH"),
            Entry(T0 + 4, "command", "note", "given", {"text": "slow pump", "who": "Ines"}),
            Entry(T0 + 5, "command", "acknowledge", "given", {"alarm": "", "who": "Ines"}),
            alarm(T0 + 5, "pit-gain", "ack", "BC", label="Pit gain", who="Ines"),
            Entry(T0 + 6, "command", "acknowledge", "no_effect", {"who": "Ines", "reason": "none"}),
        ],
    )
    log = read(fake, T0 + 59.4).log
    assert [line.text for line in log] == [
        "feed rig down: port gone",
        "P2 Pit gain: ALARM, 1.00 m³, high limit 1.00 m³",
        "note by Ines: slow pump",
        "P2 Pit gain: acknowledged by Ines",
        "acknowledge by Ines without effect: none",
    ]


def test_calls_and_blind_detectors_are_on_the_snapshot() -> None:
    """R-32: which detectors cannot see now, and why."""
    said = {"severity": "warning", "since": "x", "evidence": {"volume_m3": 0.3}}
    entries = [
        Entry(T0 + 1, "event", "influx", "warning", said),
        Entry(T0 + 2, "event", "influx", "critical", {"evidence": {"witnesses": ["gas"]}}),
        Entry(T0 + 3, "event", "loss", "advice", {}),
        Entry(T0 + 4, "event", "loss", "end", {}),
        Entry(T0 + 5, "detector", "washout", "blind", {"reason": "no flow_in"}),
        Entry(T0 + 6, "detector", "swab", "blind", {"reason": "no trip tank"}),
        Entry(T0 + 7, "detector", "swab", "sees", {"reason": "no trip tank"}),
    ]
    happened = Fold(well()).fresh_happenings()
    happened.take(Journal().write(entries))
    assert happened.blind == {"washout": "no flow_in"}
    assert happened.calls == {"influx": CallView("critical", T0 + 1, None, ("gas",))}
