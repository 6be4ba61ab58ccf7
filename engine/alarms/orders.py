"""What a person may ask of an alarm, and when the answer is no, in words."""

from __future__ import annotations

from math import isfinite

from engine.alarms.limits import limit_of
from engine.alarms.model import QUIET, Event, State, step
from engine.alarms.standing import Standing
from engine.channels import CHANNELS
from engine.commands import (
    Acknowledge,
    AlarmCommand,
    ChangeLimit,
    Issued,
    OutOfService,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
)
from engine.config import Alarm
from engine.units import units_of

LONGEST_SHELF_S = {2: 900.0, 3: 3600.0, 4: 43200.0}
"""Longest time on the shelf by priority, from its beginning, extensions included; priority 1
never. From memory, no source. [s]"""
SHELF_WARNING_S = 60.0
"""So long before an alarm comes back from the shelf the journal says so. From memory. [s]"""

EVENTS: dict[type[AlarmCommand], Event] = {
    Acknowledge: Event.ACK,
    Reset: Event.RESET,
    Shelve: Event.SHELVE,
    Unshelve: Event.UNSHELVE,
    OutOfService: Event.OUT_OF_SERVICE,
    ReturnToService: Event.RETURN,
}
"""Which event of the model a command is; a change of the limit is none."""


def refusal(alarm: Alarm, one: Standing, issued: Issued, command: AlarmCommand) -> str:
    """Say why `command` cannot be done to `alarm` as it stands; empty if it can."""
    if not isinstance(command, Acknowledge | Reset):
        if not issued.who.strip():
            return "a name is needed; sign on, or start the screen with --who NAME"
        if not command.reason.strip() and not isinstance(command, Unshelve):
            return "a reason is needed"
    if isinstance(command, OutOfService | ReturnToService) and not command.authoriser.strip():
        return "the name of who authorises it is needed"
    if isinstance(command, ChangeLimit):
        return _no_such_limit(alarm, command.limit)
    if isinstance(command, Shelve) and (why := _no_shelf(alarm, one, issued.at, command.seconds)):
        return why
    event = EVENTS[type(command)]
    if step(one.state, event, latching=alarm.latching, abnormal=one.abnormal) is None:
        return f"{event.value} has no effect in state {one.state.value}"
    return ""


def _no_shelf(alarm: Alarm, one: Standing, at: float, seconds: float) -> str:
    greatest = LONGEST_SHELF_S.get(alarm.priority)
    if greatest is None:
        what = "a well-control alarm" if alarm.well_control else "an alarm"
        return f"{what} of priority {alarm.priority} is never shelved"
    if not isfinite(seconds) or seconds <= 0:
        return f"shelve for how long? seconds must be above 0, got {seconds:g}"
    if alarm.latching and one.state not in (State.NORMAL, State.RETURNED, *QUIET):
        return "a latching alarm is not shelved while it stands; acknowledge and reset it"
    since = one.shelf.since if one.shelf else at
    if at + seconds - since > greatest + 1e-6:
        left = f", {max(0.0, since + greatest - at):.0f} s of it left" if one.shelf else ""
        return (
            f"priority {alarm.priority} is shelved for {greatest:.0f} s at most{left}; "
            f"got {seconds:g}"
        )
    return ""


def _no_such_limit(alarm: Alarm, limit: float) -> str:
    if alarm.severity:
        return f"it goes by severity, {alarm.severity} and up; that is set in the well file"
    unit = units_of(CHANNELS[alarm.channel].quantity)[0].symbol
    if not isfinite(limit):
        return f"the limit must be a number, got {limit}"
    if limit == limit_of(alarm):
        return f"{limit:g} {unit} is its limit already".replace("  ", " ")
    low, high = CHANNELS[alarm.channel].low, CHANNELS[alarm.channel].high
    if not low < limit < high:
        return (
            f"{limit:g} {unit} is beyond what {alarm.channel} can read, "
            f"{low:g} to {high:g} {unit}; it would never trip"
        )
    return ""
