"""Journal lines of alarms in words, from the alarms themselves."""

from __future__ import annotations

from engine.alarms.manager import AlarmManager
from engine.commands import ChangeLimit, OutOfService, ReturnToService, Shelve, Unshelve
from engine.records.journal import Entry, Journal, read
from engine.records.words import what
from engine.units import DISPLAY
from tests.helpers import T0, alarm_of, alarm_table, issue


def said(entries: list[Entry]) -> list[str]:
    return [what(read(line), DISPLAY["metric"]) for line in Journal().write(entries)]


def test_what_a_person_did_to_an_alarm_says_who_and_why() -> None:
    manager = AlarmManager([alarm_of("gain", priority=2)])
    manager.process(alarm_table([0.0]))
    entries = [
        entry
        for command in (
            Shelve("gain", 300, "transfer"), Unshelve("gain"),
            OutOfService("gain", "Ada", "gauge out"), ReturnToService("gain", "Ada", "back"),
            ChangeLimit("gain", 2.0, "hole made"),
        )
        for entry in manager.command(issue(command))
    ]  # fmt: skip
    assert said(entries) == [
        "P2 Gain: shelved until 20:33:20 by Ines: transfer",
        "P2 Gain: back from the shelf by Ines",
        "P2 Gain: OUT OF SERVICE by Ines, authorised by Ada: gauge out",
        "P2 Gain: back in service by Ines, authorised by Ada: back",
        "P2 Gain: new limit 2.00 m³, was 1.00 m³, by Ines: hole made",
    ]


def test_an_alarm_told_louder_and_a_call_say_what_they_are() -> None:
    manager = AlarmManager([alarm_of("influx", "call_influx")])
    table = alarm_table([2.0] * 31)
    assert said(manager.process(table | {"call_influx": table["pit_gain"]})) == [
        "P1 Influx: ALARM, warning",
        "P1 Influx: STILL not acknowledged for 30 s",
    ]


def test_a_flood_says_how_many_came() -> None:
    alarms = [alarm_of(f"a{i}", priority=2) for i in range(11)]
    entries = AlarmManager(alarms).process(alarm_table([2.0] + [2.0] * 700))
    assert said([entry for entry in entries if entry.kind == "flood"]) == [
        "FLOOD of alarms: 11 in 10 min; only P1 sounds anew",
        "the flood of alarms is over",
    ]
    assert entries[-1].at == T0 + 600.0


def test_a_call_says_its_volume_and_witnesses_and_a_blind_detector_why() -> None:
    evidence = {"volume_m3": 0.31797, "witnesses": ["pit volume", "gas rising"]}
    assert said(
        [
            Entry(T0, "event", "pack_off", "warning", {"evidence": evidence}),
            Entry(T0 + 1, "event", "pack_off", "end", {"evidence": {}}),
            Entry(T0 + 2, "detector", "stick_slip", "blind", {"reason": "no torque"}),
            Entry(T0 + 3, "detector", "stick_slip", "sees", {"reason": "no torque"}),
        ]
    ) == [
        "pack off, warning: 0.32 m³; seen by pit volume, gas rising",
        "pack off: no longer called",
        "stick slip cannot see: no torque",
        "stick slip sees again; could not for: no torque",
    ]
