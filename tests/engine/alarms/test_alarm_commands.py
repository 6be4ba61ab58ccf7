"""Commands to alarms: every one is on record, also one without effect (R-12)."""

from __future__ import annotations

import pytest

from engine.alarms.manager import AlarmManager, command_entry
from engine.commands import (
    Acknowledge,
    Command,
    Note,
    Reset,
    SetDepth,
    Silence,
    ZeroPits,
)
from engine.records.journal import Journal
from tests.helpers import T0, alarm_of, alarm_table, issue

NAN = float("nan")


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        (Acknowledge("gian"), "no alarm 'gian'; did you mean 'gain'?"),
        (Reset("zz"), "no alarm 'zz'; there are gain"),
        (Acknowledge("gain"), "ack has no effect in state A"),
        (Acknowledge(), "no alarm is unacknowledged"),
    ],
)
def test_a_command_without_effect_is_on_record_with_the_reason(
    command: Command, reason: str
) -> None:
    """R-12: any pair not in the table is journalled as no effect."""
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([0.0]))
    (entry,) = manager.command(issue(command))
    assert (entry.kind, entry.event, entry.details["reason"]) == ("command", "no_effect", reason)
    assert entry.details["who"] == "Ines"
    assert manager.states == {"gain": "A"}


def test_a_command_that_is_not_for_alarms_changes_none() -> None:
    manager = AlarmManager([alarm_of("gain")])
    manager.process(alarm_table([2.0]))
    assert manager.command(issue(Note("tea"))) == []
    assert manager.horn


@pytest.mark.parametrize(
    ("command", "name", "details"),
    [
        (ZeroPits("after transfer"), "zero_pits", {"reason": "after transfer"}),
        (
            SetDepth(1.5, None),
            "set_depth",
            {"bit_depth_m": 1.5, "hole_depth_m": None, "reason": ""},
        ),
        (SetDepth(NAN), "set_depth", {"bit_depth_m": None, "hole_depth_m": None, "reason": ""}),
        (Acknowledge(), "acknowledge", {"alarm": ""}),
        (Silence(), "silence", {}),
    ],
)
def test_every_command_is_on_record_with_who_and_where(
    command: Command, name: str, details: dict[str, object]
) -> None:
    entry = command_entry(issue(command), {"old_base_m3": 3.0})
    assert (entry.at, entry.kind, entry.id, entry.event) == (T0 + 100, "command", name, "given")
    want = {**details, "old_base_m3": 3.0, "who": "Ines", "station": "doghouse"}
    assert dict(entry.details) == want
    assert Journal().write([entry])
