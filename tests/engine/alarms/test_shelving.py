"""Shelving, out of service and changed limits: limited, named, reasoned, on record.

Sources: OPC 10000-9, 5.8.12 and 5.8.17; the greatest times by priority are from memory. R-13.
"""

from __future__ import annotations

import pytest

from engine.alarms.manager import AlarmManager
from engine.alarms.orders import LONGEST_SHELF_S
from engine.channels import CHANNELS
from engine.commands import (
    Acknowledge,
    ChangeLimit,
    Command,
    Issued,
    OutOfService,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
)
from engine.states import RigState
from tests.helpers import T0, alarm_of, alarm_table, issue, told

NAN = float("nan")
CIRC, DRILL = float(RigState.CIRCULATING), float(RigState.DRILLING_ROTARY)


def managed(value: float = 0.0, **more: object) -> AlarmManager:
    manager = AlarmManager([alarm_of("gain", **({"priority": 2} | more))])
    manager.process(alarm_table([value]))
    return manager


def refused(manager: AlarmManager, command: Command, at: float = T0 + 100) -> str:
    before = manager.state.standing
    (entry,) = manager.command(issue(command, at))
    assert (entry.kind, entry.event, entry.details["alarm"]) == ("command", "no_effect", "gain")
    assert manager.state.standing == before
    return str(entry.details["reason"])


def test_a_shelved_alarm_is_quiet_and_comes_back_by_itself_at_its_time() -> None:
    """A countdown, a warning 60 s before, then B with sound if it is abnormal by then."""
    manager = managed()
    (entry,) = manager.command(issue(Shelve("gain", 300, "transfer under way")))
    assert told([entry]) == ["100 gain shelve AG"]
    shown = {k: entry.details[k] for k in ("who", "station", "reason", "seconds", "shelved_until")}
    assert shown == {
        "who": "Ines", "station": "doghouse", "reason": "transfer under way", "seconds": 300.0,
        "shelved_until": "2026-05-28T20:33:20.000Z",
    }  # fmt: skip
    entries = manager.process(alarm_table([0.0] * 100 + [2.0] * 300, start=T0 + 101))
    assert told(entries) == [
        "201 gain trip GG", "340 gain shelf_ending GG", "400 gain unshelve GB",
    ]  # fmt: skip
    assert [e.details["sound"] for e in entries] == [False, False, True]
    assert entries[0].details["reason"] == "while shelved"
    assert entries[2].details["reason"] == "shelved by Ines for 300 s, which are over"
    assert entries[2].details["who"] is None
    assert manager.horn


def test_an_alarm_that_is_normal_comes_back_without_a_sound() -> None:
    manager = managed()
    manager.command(issue(Shelve("gain", 30, "transfer")))
    entries = manager.process(alarm_table([0.0] * 60, start=T0 + 101))
    assert told(entries) == ["130 gain unshelve GA"]  # 30 s: no time to warn
    assert not manager.horn


def test_a_gap_over_the_end_of_the_shelf_gives_no_warning_after_it() -> None:
    manager = managed()
    manager.command(issue(Shelve("gain", 300, "transfer")))
    manager.process(alarm_table([0.0], start=T0 + 101))
    assert told(manager.process(alarm_table([0.0], start=T0 + 500))) == ["500 gain unshelve GA"]


def test_putting_it_back_before_its_time_ends_the_countdown() -> None:
    manager = managed()
    manager.command(issue(Shelve("gain", 300, "transfer")))
    (entry,) = manager.command(issue(Unshelve("gain", "done early"), T0 + 150))
    assert told([entry]) == ["150 gain unshelve GA"]
    assert (entry.details["who"], entry.details["reason"]) == ("Ines", "done early")
    assert manager.process(alarm_table([0.0] * 400, start=T0 + 151)) == []


@pytest.mark.parametrize(
    ("more", "command", "reason"),
    [
        ({"priority": 1}, Shelve("gain", 60, "noise"), "an alarm of priority 1 is never shelved"),
        (
            {"priority": 1, "well_control": True},
            Shelve("gain", 60, "noise"),
            "a well-control alarm of priority 1 is never shelved",
        ),
        ({}, Shelve("gain", 60, " "), "a reason is needed"),
        ({}, Shelve("gain", 0, "noise"), "seconds must be above 0, got 0"),
        ({}, Shelve("gain", NAN, "noise"), "seconds must be above 0, got nan"),
        ({}, Shelve("gain", 901, "noise"), "priority 2 is shelved for 900 s at most; got 901"),
        ({"priority": 3}, Shelve("gain", 3601, "x"), "3 is shelved for 3600 s at most"),
        ({"priority": 4}, Shelve("gain", 43201, "x"), "4 is shelved for 43200 s at most"),
        ({}, Unshelve("gain"), "unshelve has no effect in state A"),
        ({}, OutOfService("gain", "", "sensor out"), "the name of who authorises it is needed"),
        ({}, OutOfService("gain", "Ada", ""), "a reason is needed"),
        ({}, ReturnToService("gain", " ", "done"), "the name of who authorises it is needed"),
        ({}, ReturnToService("gain", "Ada", "done"), "return has no effect in state A"),
        ({}, ChangeLimit("gain", 2.0, ""), "a reason is needed"),
        ({}, ChangeLimit("gain", NAN, "x"), "the limit must be a number, got nan"),
        ({}, ChangeLimit("gain", 1.0, "x"), "1 m3 is its limit already"),
    ],
)
def test_what_may_not_be_is_refused_in_words(
    more: dict[str, object], command: Command, reason: str
) -> None:
    """R-13: P1 refused; a greatest time, a reason and a name."""
    assert reason.replace("m3", "m³") in refused(managed(**more), command)


@pytest.mark.parametrize(
    "command",
    [
        Shelve("gain", 60, "noise"), OutOfService("gain", "Ada", "out"), Unshelve("gain"),
        ChangeLimit("gain", 2.0, "section"),
    ],
)  # fmt: skip
def test_nobody_does_it_without_a_name(command: Command) -> None:
    (entry,) = managed().command(Issued(T0 + 100, command, " ", "doghouse"))
    assert str(entry.details["reason"]).startswith("a name is needed")


def test_shelving_again_goes_no_further_than_the_greatest_time_from_the_first() -> None:
    """OPC 10000-9, 5.8.17: the greatest shelving time holds whatever is asked."""
    manager = managed()
    manager.command(issue(Shelve("gain", 600, "transfer")))
    assert "300 s of it left; got 301" in refused(manager, Shelve("gain", 301, "x"), T0 + 700)
    (entry,) = manager.command(issue(Shelve("gain", 300, "slow"), T0 + 700))
    assert told([entry]) == ["700 gain shelve GG"]
    assert told(manager.process(alarm_table([0.0] * 400, start=T0 + 701)))[-1] == (
        "1000 gain unshelve GA"
    )
    assert LONGEST_SHELF_S[2] == 900.0


def test_a_latching_alarm_is_not_shelved_while_it_stands() -> None:
    """Our own rule, see `engine.alarms.model`."""
    manager = managed(2.0, latching=True)
    said = refused(manager, Shelve("gain", 60, "noise"))
    assert said == "a latching alarm is not shelved while it stands; acknowledge and reset it"


def test_a_state_that_does_not_arm_an_alarm_takes_it_off_the_shelf() -> None:
    """The table: G and suppress give H; armed again it sounds, shelf or not."""
    manager = managed(armed=["drilling_rotary"])
    manager.command(issue(Shelve("gain", 600, "transfer")))
    entries = manager.process(alarm_table([2, 2, 2], [DRILL, CIRC, DRILL], start=T0 + 101))
    assert told(entries) == [
        "101 gain trip GG", "102 gain suppress GH", "103 gain unsuppress HB",
    ]  # fmt: skip
    assert entries[1].details["reason"] == "not armed in circulating; no longer shelved"


def test_out_of_service_has_an_authoriser_and_lasts_until_it_is_returned() -> None:
    manager = managed(2.0)
    (out,) = manager.command(issue(OutOfService("gain", "Ada Brun", "gauge removed")))
    assert told([out]) == ["100 gain out_of_service BI"]
    assert not manager.horn
    shown = {k: out.details[k] for k in ("who", "authoriser", "reason")}
    assert shown == {"who": "Ines", "authoriser": "Ada Brun", "reason": "gauge removed"}
    assert manager.process(alarm_table([2.0] * 5000, start=T0 + 101)) == []
    (back,) = manager.command(issue(ReturnToService("gain", "Ada Brun", "gauge back"), T0 + 5200))
    assert told([back]) == ["5200 gain return IB"]
    assert back.details["authoriser"] == "Ada Brun"
    assert manager.horn


def test_back_in_service_where_it_is_not_armed_it_is_suppressed_and_makes_no_sound() -> None:
    """Suppressed by design holds for it as for all others."""
    manager = managed(armed=["drilling_rotary"])
    manager.command(issue(OutOfService("gain", "Ada", "gauge removed")))
    assert told(manager.process(alarm_table([2.0], [CIRC], start=T0 + 101))) == ["101 gain trip II"]
    (back,) = manager.command(issue(ReturnToService("gain", "Ada", "back"), T0 + 102))
    assert told([back]) == ["102 gain return IH"]
    assert not manager.horn


def test_a_changed_limit_is_on_record_with_the_old_one_and_is_in_force() -> None:
    """R-49: setpoint changes in the same journal, old and new; R-11: never silently."""
    manager = managed(0.8)
    (entry,) = manager.command(issue(ChangeLimit("gain", 0.5, "tighter for the reservoir")))
    shown = {
        k: entry.details[k] for k in ("before", "after", "old_limit", "limit", "who", "reason")
    }
    assert shown == {
        "before": "A", "after": "A", "old_limit": 1.0, "limit": 0.5, "who": "Ines",
        "reason": "tighter for the reservoir",
    }  # fmt: skip
    (trip,) = manager.process(alarm_table([0.8], start=T0 + 101))
    assert (trip.event, trip.details["limit"]) == ("trip", 0.5)
    manager.command(issue(ChangeLimit("gain", 3.0, "hole made"), T0 + 102))
    assert told(manager.process(alarm_table([0.8], start=T0 + 103))) == ["103 gain clear BD"]


def test_a_new_limit_starts_the_delays_anew() -> None:
    """Beyond the old limit for 60 s says nothing about the new one."""
    manager = AlarmManager([alarm_of("gain", priority=2, on_delay_s=10)])
    manager.process(alarm_table([0.8] * 60))
    manager.command(issue(ChangeLimit("gain", 0.5, "tighter")))
    assert told(manager.process(alarm_table([0.8] * 30, start=T0 + 101))) == ["111 gain trip AB"]


def test_time_beyond_the_old_limit_does_not_count_for_the_new_one() -> None:
    """Beyond both, 5 s before the change and 10 s after it."""
    manager = AlarmManager([alarm_of("gain", priority=2, on_delay_s=10)])
    manager.process(alarm_table([1.8] * 6))
    manager.command(issue(ChangeLimit("gain", 1.5, "hole made"), T0 + 5.5))
    assert told(manager.process(alarm_table([1.8] * 30, start=T0 + 6))) == ["16 gain trip AB"]


def test_a_limit_beyond_the_sensor_is_refused() -> None:
    manager = AlarmManager([alarm_of("gain", "torque", priority=2)])
    said = refused(manager, ChangeLimit("gain", 3e5, "never mind"))
    assert said.startswith("300000 N·m is beyond what torque can read, -20000 to 200000 N·m")
    assert CHANNELS["torque"].high == 2e5


def test_the_limit_of_a_call_is_not_changed_by_hand() -> None:
    manager = AlarmManager([alarm_of("gain", "call_influx")])
    said = refused(manager, ChangeLimit("gain", 3.0, "too many"))
    assert said == "it goes by severity, warning and up; that is set in the well file"


def test_a_restart_keeps_shelf_service_and_limits() -> None:
    """R-46: the state set anew, or the commands played again, give the same alarms."""
    alarms = [alarm_of(name, priority=2) for name in ("a", "b", "c")]
    manager = AlarmManager(alarms)
    manager.process(alarm_table([0.0]))
    for command in (Shelve("a", 200, "x"), OutOfService("b", "Ada", "x"), ChangeLimit("c", 5, "x")):
        manager.command(issue(command))
    later = AlarmManager(alarms)
    later.state = manager.state
    table = alarm_table([4.0] * 400, start=T0 + 101)
    got = told(later.process(table))
    assert got == told(manager.process(table))
    assert got == [
        "101 a trip GG", "101 b trip II", "240 a shelf_ending GG", "300 a unshelve GB",
    ]  # fmt: skip
    later.command(issue(Acknowledge("a"), T0 + 600))
    assert later.command(issue(Reset("a"), T0 + 600))[0].event == "no_effect"
