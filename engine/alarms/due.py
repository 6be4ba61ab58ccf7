"""What falls due within a block: edges, arming, and timers, each at its row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from engine.alarms.flood import Flood
from engine.alarms.limits import Edge, limit_of
from engine.alarms.model import UNACKNOWLEDGED, Event, Notice, State
from engine.alarms.orders import SHELF_WARNING_S
from engine.alarms.rows import Rows
from engine.alarms.standing import ESCALATE_S, Standing
from engine.config import Alarm
from engine.states import STATE_IDS

FLOOD_ENDS = "flood_ends"
ALL = -1
"""In place of an alarm's number: it concerns all of them. [-]"""
SOON = 1e-6
"""A timer may run out this much early: times are kept to the microsecond. [s]"""
_RANK: dict[str, int] = {
    Event.SUPPRESS: 0,
    Event.TRIP: 1,
    Event.CLEAR: 1,
    Event.UNSUPPRESS: 2,
    Event.UNSHELVE: 2,
    Notice.SHELF_ENDING: 3,
    Event.RE_ALARM: 3,
    Notice.ESCALATE: 4,
}
"""Order within one row: whoever is disarmed there does not sound, whoever is armed there, or
comes back from the shelf, is judged by that very row. [-]"""


class Due(NamedTuple):
    """Something due at a row; the order of the fields is the order of the entries."""

    row: int
    alarm: int
    rank: int
    event: str
    abnormal: bool = False
    level: int = 0
    """Of an escalation. [-]"""
    why: str = ""


def due(row: int, alarm: int, event: str, **more: bool | int | str) -> Due:
    """Return `event` of `alarm` at `row`, ranked."""
    return Due(row, alarm, _RANK.get(event, 0), event, **more)  # type: ignore[arg-type]


def edges(found: Sequence[Edge]) -> Iterator[Due]:
    """Yield the trips and clears."""
    for edge in found:
        event = Event.TRIP if edge.abnormal else Event.CLEAR
        yield due(edge.row, edge.alarm, event, abnormal=edge.abnormal)


def arming(
    alarms: Sequence[Alarm], now: Sequence[Standing], rows: Rows, code: int | None
) -> Iterator[Due]:
    """Yield who is armed and disarmed by each change of the rig state from `code` on."""
    armed = [one.armed for one in now]
    codes = rows.rig_state
    changed = np.flatnonzero(codes != np.concatenate(([-1 if code is None else code], codes[:-1])))
    for row in changed.tolist():
        new = int(codes[row])
        for i, alarm in enumerate(alarms):
            wanted = STATE_IDS[new] in alarm.armed
            if wanted == armed[i] or (new == 0 and not wanted):
                continue
            armed[i] = wanted
            yield due(row, i, Event.UNSUPPRESS if wanted else Event.SUPPRESS)


def timers(alarms: Sequence[Alarm], now: Sequence[Standing], rows: Rows) -> Iterator[Due]:
    """Yield what runs out in this block, should each alarm stand then as it does `now`."""
    for i, (alarm, one) in enumerate(zip(alarms, now, strict=True)):
        if one.state is State.ACKNOWLEDGED:
            yield from _re_alarms(i, alarm, one, rows)
        elif one.shelf and one.state is State.SHELVED:
            if not one.shelf.warned:
                yield from _at(rows, one.shelf.until - SHELF_WARNING_S, i, Notice.SHELF_ENDING)
            yield from _at(rows, one.shelf.until, i, Event.UNSHELVE)
        elif one.state in UNACKNOWLEDGED:
            yield from escalations(i, alarm, one, rows)


def escalations(i: int, alarm: Alarm, one: Standing, rows: Rows, since: int = 0) -> Iterator[Due]:
    """Yield when an alarm of priority 1 must be told louder, at row `since` or later."""
    if alarm.priority != 1:
        return
    for level in range(one.escalated + 1, len(ESCALATE_S) + 1):
        for found in _at(rows, one.raised + ESCALATE_S[level - 1], i, Notice.ESCALATE):
            yield found._replace(row=max(found.row, since), level=level)


def flood_ends(flood: Flood, rows: Rows) -> Iterator[Due]:
    """Yield when a flood ends if no more alarms come."""
    if flood.on:
        yield from _at(rows, flood.ends, ALL, FLOOD_ENDS)


def _at(rows: Rows, at: float, alarm: int, event: str) -> Iterator[Due]:
    row = int(np.searchsorted(rows.t, at - SOON))
    if row < rows.t.size:
        yield due(row, alarm, event)


def _re_alarms(i: int, alarm: Alarm, one: Standing, rows: Rows) -> Iterator[Due]:
    if alarm.re_alarm_s is not None:
        why = f"acknowledged, still abnormal after {alarm.re_alarm_s} s"
        for found in _at(rows, one.since + alarm.re_alarm_s, i, Event.RE_ALARM):
            yield found._replace(why=why)
    if alarm.re_alarm_step is not None:
        base = limit_of(alarm) if np.isnan(one.acknowledged) else one.acknowledged
        step = alarm.re_alarm_step if alarm.high is not None else -alarm.re_alarm_step
        value = rows.value[i]
        worse = rows.good[i] & ((value >= base + step) if step > 0 else (value <= base + step))
        if worse.any():
            why = "acknowledged, and worse by another step since"
            yield due(int(worse.argmax()), i, Event.RE_ALARM, why=why)
