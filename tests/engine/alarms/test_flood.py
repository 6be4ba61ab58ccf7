"""First-out, sounding again, floods and escalation (R-14, R-15, R-17).

Sources: OPC 10000-9, 5.8.2 (first in group, re-alarm); HSE Chemicals Sheet 6 (ten in ten minutes);
30 s and 60 s, and that fewer than five end a flood: common practice, no source.
"""

from __future__ import annotations

import pytest

from engine.alarms.flood import Flood
from engine.alarms.manager import AlarmManager
from engine.commands import Acknowledge, Shelve, Silence
from engine.config import Alarm
from tests.helpers import T0, alarm_of, alarm_table, issue, told

NAN = float("nan")


def many(n: int, **more: object) -> list[Alarm]:
    """Return n alarms of which number i trips above i m3."""
    return [alarm_of(f"a{i}", high_m3=i + 0.5, **({"priority": 2} | more)) for i in range(n)]


def test_an_unacknowledged_alarm_of_priority_1_is_told_louder_at_30_and_60_seconds() -> None:
    manager = AlarmManager([alarm_of("gain"), alarm_of("other", priority=2)])
    entries = manager.process(alarm_table([2.0] * 200))
    assert told(entries) == [
        "0 gain trip AB", "0 other trip AB", "30 gain escalate BB", "60 gain escalate BB",
    ]  # fmt: skip
    assert [e.details.get("level") for e in entries[2:]] == [1, 2]
    assert entries[2].details["reason"] == "not acknowledged for 30 s"
    assert manager.escalation == 2
    manager.command(issue(Acknowledge("gain"), T0 + 200))
    assert manager.escalation == 0


def test_an_acknowledged_alarm_is_not_told_louder_and_starts_anew_when_it_sounds_again() -> None:
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([2.0] * 20))
    manager.command(issue(Acknowledge("gain"), T0 + 19.5))
    got = told(manager.process(alarm_table([2.0] * 20 + [0.0] + [2.0] * 40, start=T0 + 20)))
    assert got == ["40 gain clear CA", "41 gain trip AB", "71 gain escalate BB"]


def test_an_alarm_that_was_told_louder_and_acknowledged_begins_anew() -> None:
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([2.0] * 70))
    manager.command(issue(Acknowledge("gain"), T0 + 69.5))
    entries = manager.process(alarm_table([0.0] + [2.0] * 70, start=T0 + 70))
    assert told(entries)[2:] == ["101 gain escalate BB", "131 gain escalate BB"]
    assert [e.details["level"] for e in entries[2:]] == [1, 2]


def test_silence_is_no_answer() -> None:
    """R-10, R-14: the horn that was silenced sounds anew at 30 s."""
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([2.0] * 10))
    manager.command(issue(Silence(), T0 + 9.5))
    manager.process(alarm_table([2.0] * 15, start=T0 + 10))
    assert not manager.horn
    manager.process(alarm_table([2.0] * 10, start=T0 + 25))
    assert manager.horn


def test_a_chattering_alarm_cannot_put_its_escalation_off() -> None:
    """The time counts from when it was first told, until somebody acknowledges it."""
    manager = AlarmManager([alarm_of("gain")])
    got = told(manager.process(alarm_table([2.0, 0.0] * 20)))
    assert "30 gain escalate BB" in got
    assert len([line for line in got if "escalate" in line]) == 1


def test_a_gap_over_both_times_gives_both_levels_at_the_row_after_it() -> None:
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([2.0]))
    got = told(manager.process(alarm_table([2.0, 2.0], start=T0 + 500)))
    assert got == ["500 gain escalate BB"] * 2


def test_an_acknowledged_alarm_sounds_again_when_it_is_a_step_worse() -> None:
    """Acknowledged at 1.5 m3, step 1 m3: 2.5 and not 2.4; then from 2.6 the next at 3.6."""
    manager = AlarmManager([alarm_of("gain", priority=2, re_alarm_step_m3=1.0)])
    manager.process(alarm_table([1.5]))
    manager.command(issue(Acknowledge("gain"), T0 + 0.5))
    entries = manager.process(alarm_table([2.4, NAN, 2.6], start=T0 + 1))
    assert told(entries) == ["3 gain re_alarm CB"]
    assert entries[0].details["reason"] == "acknowledged, and worse by another step since"
    manager.command(issue(Acknowledge("gain"), T0 + 3.5))
    assert told(manager.process(alarm_table([3.5, 3.7], start=T0 + 4))) == ["5 gain re_alarm CB"]


def test_a_low_alarm_is_worse_downwards() -> None:
    low = alarm_of("loss", priority=2, low_m3=-1.0, re_alarm_step_m3=1.0, high_m3=None)
    manager = AlarmManager([low])
    manager.process(alarm_table([-1.5]))
    manager.command(issue(Acknowledge("loss"), T0 + 0.5))
    got = told(manager.process(alarm_table([-2.4, -1.1, -2.5], start=T0 + 1)))
    assert got == ["3 loss re_alarm CB"]


def test_a_call_that_gets_graver_sounds_again() -> None:
    manager = AlarmManager([alarm_of("influx", "call_influx", well_control=True)])
    manager.process(alarm_table([0.0]) | {"call_influx": alarm_table([1.0])["pit_gain"]})
    assert manager.states == {"influx": "A"}
    (trip,) = manager.process(
        alarm_table([0.0], start=T0 + 1)
        | {"call_influx": alarm_table([2.0], start=T0 + 1)["pit_gain"]}
    )
    assert (trip.details["severity"], trip.details["unit"]) == ("warning", "none")
    manager.command(issue(Acknowledge("influx"), T0 + 1.5))
    call = alarm_table([2.0, 3.0], start=T0 + 2)
    (again,) = manager.process(call | {"call_influx": call["pit_gain"]})
    assert (again.event, again.details["severity"]) == ("re_alarm", "critical")


def test_a_call_that_nothing_makes_is_unknown_and_never_an_alarm() -> None:
    manager = AlarmManager([alarm_of("influx", "call_influx")])
    assert manager.process(alarm_table([9.0] * 5)) == []


def test_the_first_of_a_group_is_marked_until_all_of_it_are_gone() -> None:
    """R-17. a0 trips at 0 s, a1 at 1 s; a0 clears first and keeps the mark."""
    manager = AlarmManager(many(2, group="pits"))
    entries = manager.process(alarm_table([1.0, 2.0]))
    assert [(e.id, e.details["first_out"]) for e in entries] == [("a0", True), ("a1", False)]
    manager.command(issue(Acknowledge(), T0 + 1.5))
    assert [one.first_out for one in manager.state.standing] == [True, False]
    manager.process(alarm_table([0.0], start=T0 + 2))
    assert [one.first_out for one in manager.state.standing] == [False, False]


def test_the_mark_stays_with_the_first_while_another_still_stands() -> None:
    alarms = [alarm_of("first", high_m3=2.0, group="g"), alarm_of("second", group="g")]
    manager = AlarmManager([alarms[1], alarms[0]])
    manager.process(alarm_table([1.5, 2.5]))
    manager.command(issue(Acknowledge(), T0 + 1.5))
    (clear,) = manager.process(alarm_table([1.5], start=T0 + 2))
    assert (clear.id, clear.details["first_out"]) == ("first", False)
    assert [one.first_out for one in manager.state.standing] == [True, False]


def test_one_that_is_shelved_stands_no_more() -> None:
    alarms = [alarm_of("first", priority=2), alarm_of("second", high_m3=1.6, priority=2)]
    manager = AlarmManager(alarms)
    manager.process(alarm_table([1.5]))
    manager.command(issue(Shelve("first", 300, "transfer"), T0 + 0.5))
    assert not manager.state.standing[0].first_out
    (trip,) = manager.process(alarm_table([1.7], start=T0 + 1))
    assert (trip.id, trip.details["first_out"]) == ("second", True)


def test_groups_have_each_their_first() -> None:
    manager = AlarmManager([*many(1, group="a"), alarm_of("twist", "torque", group="b")])
    entries = manager.process(alarm_table([1.0, 1.0], torque=[0.0, 5e3]))
    assert [e.details["first_out"] for e in entries if e.event == "trip"] == [True, True]


def test_the_eleventh_alarm_in_ten_minutes_begins_a_flood_and_keeps_the_horn_as_it_is() -> None:
    """HSE Chemicals Sheet 6: no more than ten. R-15: the journal has them all."""
    manager = AlarmManager([*many(12), alarm_of("p1", "torque")])
    entries = manager.process(alarm_table([float(i) for i in range(1, 11)]))
    assert len(entries) == 10
    assert not manager.flood
    manager.command(issue(Silence(), T0 + 9.5))
    entries = manager.process(alarm_table([11.0, 12.0], start=T0 + 10))
    assert [(e.kind, e.id, e.event) for e in entries] == [
        ("flood", "alarms", "start"), ("alarm", "a10", "trip"), ("alarm", "a11", "trip"),
    ]  # fmt: skip
    assert dict(entries[0].details) == {"alarms": 11, "window_s": 600.0}
    assert [e.details["sound"] for e in entries[1:]] == [False, False]
    assert manager.flood
    assert not manager.horn
    (p1,) = manager.process(alarm_table([12.0], torque=[5e3], start=T0 + 13))
    assert (p1.id, p1.details["sound"]) == ("p1", True)
    assert manager.horn


def test_a_flood_ends_when_ten_minutes_had_fewer_than_five() -> None:
    """Eleven alarms, one a second from 0 s: at 606 s those of 7 to 10 s are left, four."""
    manager = AlarmManager(many(11))
    assert len(manager.process(alarm_table([float(i) for i in range(1, 12)]))) == 12
    entries = manager.process(alarm_table([11.0] * 700, start=T0 + 11))
    assert told(entries)[-1] == "606 alarms end"
    assert entries[-1].details["alarms"] == 4
    assert not manager.flood


@pytest.mark.parametrize(("n", "on"), [(10, False), (11, True)])
def test_ten_are_no_flood(n: int, on: bool) -> None:
    flood = Flood()
    for i in range(n):
        flood = flood.add(T0 + i * 59.9)
    assert flood.on is on


def test_alarms_over_more_than_ten_minutes_are_no_flood() -> None:
    """Eleven, one a minute: the first is just out of the window."""
    flood = Flood()
    for i in range(11):
        flood = flood.add(T0 + i * 60.0)
    assert not flood.on
