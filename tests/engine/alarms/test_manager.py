"""All alarms together: arming, horn, commands, and what the journal gets.

Source: ANSI/ISA-18.2 and IEC 62682 (paid) as described in OPC 10000-9, 5.8.2 (silence,
suppression, re-alarm time) and B.1.5.
"""

from __future__ import annotations

import pytest

from engine.alarms.manager import AlarmManager
from engine.commands import (
    Acknowledge,
    Reset,
    Silence,
)  # fmt: skip
from engine.errors import InputError
from engine.records.journal import Journal
from engine.states import RigState
from tests.helpers import T0, alarm_of, alarm_table, issue, told

NAN = float("nan")
DRILL, CIRC = float(RigState.DRILLING_ROTARY), float(RigState.CIRCULATING)


def test_an_alarm_trips_is_acknowledged_and_clears() -> None:
    """ISA-18.2: A, B with sound, C, A."""
    manager = AlarmManager([alarm_of("gain")])
    assert told(manager.process(alarm_table([0.0, 1.5, 1.5]))) == ["1 gain trip AB"]
    assert manager.horn
    assert told(manager.command(issue(Acknowledge("gain")))) == ["100 gain ack BC"]
    assert not manager.horn
    assert told(manager.process(alarm_table([0.5], start=T0 + 101))) == ["101 gain clear CA"]


def test_an_entry_carries_everything_a_reviewer_asks_for() -> None:
    """Limit, deadband, delays and priority in force; state and depth; who (IEC 62682)."""
    manager = AlarmManager([alarm_of("gain", deadband_m3=0.25, off_delay_s=30)])
    (trip,) = manager.process(alarm_table([1.5]))
    assert list(trip.details.items()) == [
        ("label", "Gain"), ("before", "A"), ("after", "B"), ("priority", 1), ("side", "high"),
        ("value", 1.5), ("unit", "m3"), ("quality", "good"), ("limit", 1.0), ("deadband", 0.25),
        ("on_delay_s", 0.0), ("off_delay_s", 30.0), ("rig_state", "drilling_rotary"),
        ("bit_depth_m", 2400.0), ("hole_depth_m", None), ("who", None), ("station", None),
        ("reason", None), ("sound", True), ("first_out", True),
    ]  # fmt: skip
    assert (trip.kind, trip.id, trip.event, trip.at) == ("alarm", "gain", "trip", T0)
    assert type(trip.details["value"]) is float
    manager.process(alarm_table([NAN], start=T0 + 1))
    (ack,) = manager.command(issue(Acknowledge()))
    shown = {k: ack.details[k] for k in ("value", "quality", "who", "station")}
    assert shown == {"value": None, "quality": "stale", "who": "Ines", "station": "doghouse"}
    assert Journal().write([trip, ack])  # JSON takes it, NaN-free


def test_acknowledging_all_takes_every_unacknowledged_one_in_order() -> None:
    """B, D and E alike (ISA-18.2)."""
    alarms = [alarm_of("b"), alarm_of("d", high_m3=1.2), alarm_of("e", high_m3=1.2, latching=True)]
    manager = AlarmManager(alarms)
    manager.process(alarm_table([1.5, 1.1]))
    assert [s.value for s in manager.states.values()] == ["B", "D", "E"]
    got = told(manager.command(issue(Acknowledge())))
    assert got == ["100 b ack BC", "100 d ack DA", "100 e ack EF"]


def test_a_latched_alarm_goes_only_by_acknowledge_and_then_reset() -> None:
    """OPC 10000-9, 4.8: once active it does not clear until it is explicitly reset."""
    manager = AlarmManager([alarm_of("gain", latching=True)])
    assert told(manager.process(alarm_table([1.5, 0.0]))) == ["0 gain trip AB", "1 gain clear BE"]
    assert manager.horn
    refused = manager.command(issue(Reset("gain")))
    assert told(refused) == ["100 reset no_effect"]
    assert refused[0].details["reason"] == "reset has no effect in state E"
    manager.command(issue(Acknowledge("gain")))
    assert told(manager.command(issue(Reset("gain")))) == ["100 gain reset FA"]


def test_silence_stops_the_horn_and_changes_no_state() -> None:
    """R-10. OPC 10000-9, 5.8.2: silence is apart from acknowledging."""
    manager = AlarmManager([alarm_of("gain"), alarm_of("twist", "torque")])
    manager.process(alarm_table([1.5]))
    assert manager.command(issue(Silence())) == []
    assert not manager.horn
    assert manager.states["gain"] == "B"
    manager.process(alarm_table([1.5, 1.5], start=T0 + 1))
    assert not manager.horn


def test_a_second_alarm_while_silenced_sounds_again() -> None:
    """R-10: no mute; silence lasts until the next new alarm."""
    manager = AlarmManager([alarm_of("gain", priority=2), alarm_of("twist", "torque")])
    manager.process(alarm_table([1.5]))
    manager.command(issue(Silence()))
    got = told(manager.process(alarm_table([1.5], torque=[5e3], start=T0 + 101)))
    assert got == ["101 twist trip AB"]
    assert manager.horn
    manager.command(issue(Acknowledge("twist"), T0 + 102))
    assert not manager.horn  # the first one was silenced and is not new


def test_silence_with_a_quiet_horn_is_on_record_as_no_effect_and_mutes_nothing() -> None:
    manager = AlarmManager([alarm_of("gain")])
    assert told(manager.command(issue(Silence()))) == ["100 silence no_effect"]
    manager.process(alarm_table([1.5], start=T0 + 101))
    assert manager.horn


def test_an_alarm_not_armed_here_is_suppressed_and_its_occurrences_are_on_record() -> None:
    """IEC 62682 suppressed by design; OPC 10000-9, 4.8: it goes on working all the same."""
    manager = AlarmManager([alarm_of("gain", armed=["drilling_rotary"])])
    entries = manager.process(alarm_table([0, 0, 2.0, 0, 0], [DRILL, CIRC, CIRC, CIRC, DRILL]))
    assert told(entries) == [
        "1 gain suppress AH", "2 gain trip HH", "3 gain clear HH", "4 gain unsuppress HA",
    ]  # fmt: skip
    reasons = [e.details["reason"] for e in entries]
    assert reasons[:2] == ["not armed in circulating", "while suppressed by design"]
    assert reasons[3] == "armed in drilling_rotary"
    assert not manager.horn


def test_an_alarm_that_is_abnormal_when_it_is_armed_again_sounds() -> None:
    """Leaving H: abnormal gives B with sound."""
    manager = AlarmManager([alarm_of("gain", armed=["drilling_rotary"])])
    got = told(manager.process(alarm_table([0, 2, 2], [CIRC, CIRC, DRILL])))
    assert got == ["0 gain suppress AH", "1 gain trip HH", "2 gain unsuppress HB"]
    assert manager.horn


def test_in_one_row_disarming_comes_before_a_trip_and_a_clear_before_arming() -> None:
    manager = AlarmManager([alarm_of("gain", armed=["drilling_rotary"])])
    got = told(manager.process(alarm_table([0, 2, 0], [DRILL, CIRC, DRILL])))
    assert got == [
        "1 gain suppress AH", "1 gain trip HH", "2 gain clear HH", "2 gain unsuppress HA",
    ]  # fmt: skip


@pytest.mark.parametrize("unknown", [0.0, NAN, 99.0])
def test_an_unknown_rig_state_never_disarms(unknown: float) -> None:
    """R-09: not knowing is no reason to be quiet."""
    manager = AlarmManager([alarm_of("gain", armed=["drilling_rotary"])])
    assert told(manager.process(alarm_table([0, 2], [unknown] * 2))) == ["1 gain trip AB"]
    later = manager.process(alarm_table([2, 2], [DRILL, unknown], start=T0 + 2))
    assert later == []
    suppressed = manager.process(alarm_table([2, 2], [CIRC, unknown], start=T0 + 4))
    assert told(suppressed) == ["4 gain suppress BH"]  # and the unknown does not arm it either


def test_an_acknowledged_alarm_that_stands_too_long_sounds_again() -> None:
    """OPC 10000-9, 5.8.2, ReAlarmTime. Acknowledged at 100 s, 60 s later: the row at 160 s."""
    manager = AlarmManager([alarm_of("gain", priority=2, re_alarm_s=60.0)])
    manager.process(alarm_table([2.0] * 100))
    manager.command(issue(Acknowledge("gain")))
    entries = manager.process(alarm_table([2.0] * 200, start=T0 + 101))
    assert told(entries) == ["160 gain re_alarm CB"]
    assert entries[0].details["reason"] == "acknowledged, still abnormal after 60.0 s"
    assert manager.horn


def test_a_cleared_alarm_does_not_sound_again_by_its_timer() -> None:
    manager = AlarmManager([alarm_of("gain", re_alarm_s=60.0)])
    manager.process(alarm_table([2.0]))
    manager.command(issue(Acknowledge("gain")))
    got = told(manager.process(alarm_table([2.0] * 10 + [0.0] * 90, start=T0 + 101)))
    assert got == ["111 gain clear CA"]


def test_a_missing_channel_is_named() -> None:
    short = {k: v for k, v in alarm_table([0.0]).items() if k != "rig_state"}
    with pytest.raises(InputError, match="channel 'rig_state' is missing"):
        AlarmManager([alarm_of("gain")]).process(short)


def test_a_state_of_another_well_is_refused() -> None:
    other = AlarmManager([alarm_of("gain"), alarm_of("twist", "torque")]).state
    with pytest.raises(InputError, match="of 2 alarms, the well has 1"):
        AlarmManager([alarm_of("gain")]).state = other


def test_a_well_without_alarms_gives_no_entries() -> None:
    manager = AlarmManager([])
    assert manager.process(alarm_table([5.0])) == []
    assert not manager.horn
