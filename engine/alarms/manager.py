"""All alarms of a well together: limits, states, arming, horn and the journal entries.

What an alarm's journal entry carries is listed in `engine.alarms.entries.alarm_entry`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches
from heapq import heapify, heappop, heappush
from typing import Any

from engine.alarms.due import (
    ALL,
    Due,
    arming,
    edges,
    escalations,
    flood_ends,
    timers,
)
from engine.alarms.entries import alarm_entry, no_effect_entry
from engine.alarms.entries import command_entry as command_entry
from engine.alarms.limits import Limits, limit_of
from engine.alarms.model import SOUNDING, UNACKNOWLEDGED, Event, Notice, State
from engine.alarms.orders import EVENTS, SHELF_WARNING_S, refusal
from engine.alarms.panel import Panel
from engine.alarms.rows import Rows, Seen, look
from engine.alarms.standing import AlarmsState, Shelf, Standing
from engine.alarms.urgency import Urgency, most_urgent
from engine.block import Table
from engine.channels import channel
from engine.commands import (
    Acknowledge,
    AlarmCommand,
    ChangeLimit,
    Issued,
    OutOfService,
    Reset,
    ReturnToService,
    Shelve,
    Silence,
)
from engine.config import Alarm
from engine.detect.kinds import CALL_CHANNELS
from engine.errors import InputError
from engine.records.journal import Entry, iso
from engine.states import STATE_IDS

_WHILE = {
    State.SHELVED: "while shelved",
    State.SUPPRESSED: "while suppressed by design",
    State.OUT_OF_SERVICE: "while out of service",
}


class AlarmManager:
    """Steps every alarm through its nine states and says what the journal must keep.

    Parameters
    ----------
    alarms : sequence of Alarm
        In the order in which entries of one moment appear.

    Raises
    ------
    InputError
        If an alarm names a channel or a rig state that does not exist.

    Notes
    -----
    An alarm that is not armed in the present rig state is suppressed by design (H): it keeps
    running and every occurrence is journalled. While the rig state is unknown an alarm stays as
    it was, armed or not, and all are armed at the start: not knowing never disarms. Only an
    alarm that lists ``unknown`` among its rig states is armed by it.

    There is no way to turn an alarm off and none to mute all of them: silence stops the horn
    until the next alarm comes (R-10), or until one of priority 1 has waited too long (R-14). In
    a flood (R-15) only alarms of priority 1 sound the horn anew; all of them are in the journal.

    Any split of the rows into blocks gives the same entries.
    """

    def __init__(self, alarms: Sequence[Alarm]) -> None:
        for alarm in alarms:
            if alarm.channel not in CALL_CHANNELS:
                channel(alarm.channel)  # raises for an unknown one
            for name in alarm.armed:
                if name not in STATE_IDS:
                    raise InputError(f"alarm {alarm.id}: no rig state {name!r}; use {STATE_IDS}")
        self._file = tuple(alarms)
        self._panel = Panel(alarms)
        self._index = {alarm.id: i for i, alarm in enumerate(alarms)}
        self._limits = Limits(alarms)
        self._seen = [Seen()] * len(alarms)
        self._rig_state: int | None = None
        self._due: list[Due] = []

    @property
    def alarms(self) -> Sequence[Alarm]:
        """All of them, with the limits now in force."""
        return self._panel.alarms

    @property
    def horn(self) -> bool:
        """The horn must sound now."""
        return any(one.state in SOUNDING and not one.silenced for one in self._panel.now)

    @property
    def escalation(self) -> int:
        """How much louder than usual: the highest level of the alarms that wait, or 0. [-]"""
        return max((one.escalated for one in self._panel.now if one.state in SOUNDING), default=0)

    @property
    def urgency(self) -> Urgency | None:
        """How urgently the horn must sound now; None: it is quiet."""
        standing = zip(self.alarms, self._panel.now, strict=True)
        return most_urgent(
            (alarm.priority, one.escalated)
            for alarm, one in standing
            if one.state in SOUNDING and not one.silenced
        )

    @property
    def flood(self) -> bool:
        """More alarms came than a person can take in."""
        return self._panel.flood.on

    @property
    def states(self) -> dict[str, State]:
        """Alarm id to its present state."""
        return {a.id: one.state for a, one in zip(self.alarms, self._panel.now, strict=True)}

    @property
    def state(self) -> AlarmsState:
        """All that must outlive a block; set it to go on from there."""
        return AlarmsState(
            self._limits.state,
            tuple(self._panel.now),
            tuple(self._seen),
            self._panel.flood,
            self._rig_state,
        )

    @state.setter
    def state(self, state: AlarmsState) -> None:
        if len(state.standing) != len(self.alarms):
            raise InputError(
                f"alarms: the state is of {len(state.standing)} alarms, the well has "
                f"{len(self.alarms)}; start anew after changing the well file"
            )
        for i, one in enumerate(state.standing):
            limit = limit_of(self._file[i]) if one.limit is None else one.limit
            if limit != limit_of(self.alarms[i]):
                self._put_limit(i, limit)
        self._limits.state = state.limits
        self._panel.now, self._seen = list(state.standing), list(state.seen)
        self._panel.flood, self._rig_state = state.flood, state.rig_state

    def process(self, table: Table) -> list[Entry]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Channel id to `Block`, shape (n,): the channels of all alarms, ``rig_state``,
            ``bit_depth`` and ``hole_depth``. [SI] Calls that are missing are unknown.

        Returns
        -------
        list of Entry
            By row, then in the order of the alarms.

        Raises
        ------
        InputError
            If a channel is missing from `table`.
        """
        rows = look(self.alarms, table)
        if not rows.t.size or not self.alarms:
            return []
        self._due = [
            *edges(self._limits.process(rows.t, rows.value, rows.good)),
            *arming(self.alarms, self._panel.now, rows, self._rig_state),
            *timers(self.alarms, self._panel.now, rows),
            *flood_ends(self._panel.flood, rows),
        ]
        heapify(self._due)
        entries: list[Entry] = []
        while self._due:
            entries += self._happen(heappop(self._due), rows)
        last = rows.t.size - 1
        self._seen = [rows.seen(last, i) for i in range(len(self.alarms))]
        self._rig_state = int(rows.rig_state[last])
        return entries

    def command(self, issued: Issued) -> list[Entry]:
        """Do what a person asked; a command that is not for alarms does nothing here.

        Returns
        -------
        list of Entry
            What it changed, in the order of the alarms; or one entry that says why it changed
            nothing. That it was given at all is a `command_entry`, written by the caller.
        """
        command = issued.command
        if isinstance(command, Silence):
            if not self.horn:
                return [no_effect_entry(issued, None, "the horn is not sounding")]
            self._panel.now = [replace(one, silenced=True) for one in self._panel.now]
        elif isinstance(command, Acknowledge) and not command.alarm:
            waiting = [i for i, one in enumerate(self._panel.now) if one.state in UNACKNOWLEDGED]
            if not waiting:
                return [no_effect_entry(issued, None, "no alarm is unacknowledged")]
            return [entry for i in waiting for entry in self._ask(i, command, issued)]
        elif isinstance(command, AlarmCommand):
            i = self._index.get(command.alarm)
            if i is None:
                return [no_effect_entry(issued, command.alarm, self._no_alarm(command.alarm))]
            return self._ask(i, command, issued)
        return []

    def _no_alarm(self, name: str) -> str:
        near = get_close_matches(name, self._index, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(self._index)}"
        return f"no alarm {name!r}; {hint}"

    def _ask(self, i: int, command: AlarmCommand, issued: Issued) -> list[Entry]:
        alarm, one, seen = self.alarms[i], self._panel.now[i], self._seen[i]
        if why := refusal(alarm, one, issued, command):
            return [no_effect_entry(issued, alarm.id, why)]
        said = None if isinstance(command, Acknowledge | Reset) else command.reason
        if isinstance(command, ChangeLimit):
            old, event = limit_of(alarm), Notice.CHANGE_LIMIT
            self._put_limit(i, float(command.limit))
            self._panel.now[i] = one = replace(one, limit=float(command.limit))
            return [
                alarm_entry(self.alarms[i], issued.at, event, one.state, one, seen, issued, said,
                            more={"old_limit": old})
            ]  # fmt: skip
        more: dict[str, Any] = {}
        if isinstance(command, Shelve):
            until = issued.at + command.seconds
            since = one.shelf.since if one.shelf else issued.at
            warned = command.seconds <= SHELF_WARNING_S
            self._panel.now[i] = replace(one, shelf=Shelf(since, until, issued.who, warned))
            more = {"seconds": float(command.seconds), "shelved_until": iso(until)}
        elif isinstance(command, OutOfService | ReturnToService):
            more = {"authoriser": command.authoriser}
        return self._panel.move(i, EVENTS[type(command)], issued.at, seen, issued, said, more)

    def _put_limit(self, i: int, limit: float) -> None:
        alarm = self.alarms[i]
        side = "high" if alarm.high is not None else "low"
        self._panel.alarms[i] = alarm.model_copy(update={side: limit})
        self._limits.change(i, limit)

    def _happen(self, one: Due, rows: Rows) -> list[Entry]:
        """Let one thing happen; nothing if it does not concern the alarm as it now stands."""
        at = float(rows.t[one.row])
        if one.alarm == ALL:
            return self._panel.flood_over(at)
        i, event = one.alarm, one.event
        now, seen = self._panel.now[i], rows.seen(one.row, one.alarm)
        if event == Notice.ESCALATE:
            return self._panel.escalate(i, one.level, at, seen)
        if event == Notice.SHELF_ENDING:
            return self._panel.shelf_ending(i, at, seen)
        if event in (Event.TRIP, Event.CLEAR):
            self._panel.now[i] = replace(now, abnormal=one.abnormal)
        elif event in (Event.SUPPRESS, Event.UNSUPPRESS):
            self._panel.now[i] = replace(now, armed=event == Event.UNSUPPRESS)
        reason = one.why or _why(event, now, STATE_IDS[rows.rig_state[one.row]])
        entries = self._panel.move(i, Event(event), at, seen, reason=reason)
        if entries and self._panel.now[i].state is State.UNACKNOWLEDGED:
            for later in (
                *escalations(i, self.alarms[i], self._panel.now[i], rows, one.row),
                *flood_ends(self._panel.flood, rows),
            ):
                heappush(self._due, later)
        return entries


def _why(event: str, before: Standing, rig_state: str) -> str | None:
    """Why `event` happened to an alarm that stood as `before`, where no person did it."""
    if event == Event.SUPPRESS:
        lost = "; no longer shelved" if before.state is State.SHELVED else ""
        return f"not armed in {rig_state}{lost}"
    if event == Event.UNSUPPRESS:
        return f"armed in {rig_state}"
    if event == Event.UNSHELVE and before.shelf:
        seconds = before.shelf.until - before.shelf.since
        return f"shelved by {before.shelf.who} for {seconds:.0f} s, which are over"
    return _WHILE.get(before.state)
