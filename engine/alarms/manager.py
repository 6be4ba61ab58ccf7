"""All alarms of a well together: limits, states, arming, horn and the journal entries.

What an alarm's journal entry carries is listed in `engine.alarms.entries.alarm_entry`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NamedTuple

import numpy as np

from engine.alarms.entries import alarm_entry, no_effect_entry
from engine.alarms.entries import command_entry as command_entry
from engine.alarms.limits import Limits, LimitsState
from engine.alarms.model import SOUNDING, Event, State, step
from engine.alarms.rows import Rows, Seen, look
from engine.block import Table
from engine.channels import channel
from engine.commands import Acknowledge, Issued, Reset, Silence
from engine.config import Alarm
from engine.errors import InputError
from engine.records.journal import Entry
from engine.states import STATE_IDS

_SOON = 1e-6
"""A timer may run out this much early: times are kept to the microsecond. [s]"""

_QUIET = {
    State.SHELVED: "while shelved",
    State.SUPPRESSED: "while suppressed by design",
    State.OUT_OF_SERVICE: "while out of service",
}


@dataclass(frozen=True, slots=True, eq=False)
class AlarmsState:
    """All that must outlive a block; tuples have one entry an alarm."""

    limits: LimitsState
    states: tuple[State, ...]
    armed: tuple[bool, ...]
    abnormal: tuple[bool, ...]
    since: tuple[float, ...]
    """When the present state was entered. [s since 1970-01-01 UTC]"""
    seen: tuple[Seen, ...]
    """The newest row, as each alarm's entry would show it."""
    silenced: tuple[bool, ...]
    """Silenced since it last sounded anew. [-]"""
    rig_state: int | None = None
    """Code of the newest row; None before the first."""


class _Happening(NamedTuple):
    """Something due at a row; the order of the fields is the order of the entries."""

    row: int
    alarm: int
    rank: int
    event: Event
    abnormal: bool


_RANK = {Event.SUPPRESS: 0, Event.TRIP: 1, Event.CLEAR: 1, Event.UNSUPPRESS: 2, Event.RE_ALARM: 3}
"""Order within one row: whoever is disarmed there does not sound, whoever is armed there is
judged by that very row. [-]"""


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
    until the next alarm comes (R-10).

    Any split of the rows into blocks gives the same entries.
    """

    def __init__(self, alarms: Sequence[Alarm]) -> None:
        self.alarms = tuple(alarms)
        for alarm in self.alarms:
            channel(alarm.channel)
            for name in set(alarm.armed) - set(STATE_IDS):
                raise InputError(f"alarm {alarm.id}: no rig state {name!r}; use {STATE_IDS}")
        self._index = {alarm.id: i for i, alarm in enumerate(self.alarms)}
        self._limits = Limits(self.alarms)
        k = len(self.alarms)
        self._states = [State.NORMAL] * k
        self._armed = [True] * k
        self._abnormal = [False] * k
        self._since = [float("-inf")] * k
        self._seen = [Seen()] * k
        self._rig_state: int | None = None
        self._silenced = [False] * k

    @property
    def horn(self) -> bool:
        """The horn must sound now."""
        return any(
            state in SOUNDING and not silenced
            for state, silenced in zip(self._states, self._silenced, strict=True)
        )

    @property
    def states(self) -> dict[str, State]:
        """Alarm id to its present state."""
        return {a.id: s for a, s in zip(self.alarms, self._states, strict=True)}

    @property
    def state(self) -> AlarmsState:
        """All that must outlive a block; set it to go on from there."""
        return AlarmsState(
            self._limits.state,
            tuple(self._states),
            tuple(self._armed),
            tuple(self._abnormal),
            tuple(self._since),
            tuple(self._seen),
            tuple(self._silenced),
            self._rig_state,
        )

    @state.setter
    def state(self, state: AlarmsState) -> None:
        if len(state.states) != len(self.alarms):
            raise InputError(
                f"alarms: the state is of {len(state.states)} alarms, the well has "
                f"{len(self.alarms)}; start anew after changing the well file"
            )
        self._limits.state = state.limits
        self._states, self._armed = list(state.states), list(state.armed)
        self._abnormal, self._since = list(state.abnormal), list(state.since)
        self._seen, self._rig_state = list(state.seen), state.rig_state
        self._silenced = list(state.silenced)

    def process(self, table: Table) -> list[Entry]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Channel id to `Block`, shape (n,): the channels of all alarms, ``rig_state``,
            ``bit_depth`` and ``hole_depth``. [SI]

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
        due = [*self._edges(rows), *self._arming(rows), *self._timers(rows)]
        entries = [entry for one in sorted(due) if (entry := self._happen(one, rows))]
        last = rows.t.size - 1
        self._seen = [rows.seen(last, i) for i in range(len(self.alarms))]
        self._rig_state = rows.rig_state[last]
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
            self._silenced = [True] * len(self.alarms)
        elif isinstance(command, Acknowledge) and not command.alarm:
            waiting = [i for i, s in enumerate(self._states) if _moves(s, Event.ACK)]
            if not waiting:
                return [no_effect_entry(issued, None, "no alarm is unacknowledged")]
            return [entry for i in waiting for entry in self._ask(i, Event.ACK, issued)]
        elif isinstance(command, Acknowledge | Reset):
            event = Event.ACK if isinstance(command, Acknowledge) else Event.RESET
            i = self._index.get(command.alarm)
            if i is None:
                return [no_effect_entry(issued, command.alarm, self._no_alarm(command.alarm))]
            return self._ask(i, event, issued)
        return []

    def _no_alarm(self, name: str) -> str:
        near = get_close_matches(name, self._index, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(self._index)}"
        return f"no alarm {name!r}; {hint}"

    def _ask(self, i: int, event: Event, issued: Issued) -> list[Entry]:
        alarm, before = self.alarms[i], self._states[i]
        move = step(before, event, latching=alarm.latching, abnormal=self._abnormal[i])
        if move is None:
            why = f"{event.value} has no effect in state {before.value}"
            return [no_effect_entry(issued, alarm.id, why)]
        self._enter(i, move.next, issued.at, sound=move.sound)
        return [alarm_entry(alarm, issued.at, event, before, move.next, self._seen[i], issued)]

    def _enter(self, i: int, state: State, at: float, *, sound: bool) -> None:
        if state is not self._states[i]:
            self._states[i], self._since[i] = state, at
        if sound:
            self._silenced[i] = False

    def _happen(self, one: _Happening, rows: Rows) -> Entry | None:
        """Let one thing happen; None if it does not concern the alarm as it now stands."""
        i, alarm, before = one.alarm, self.alarms[one.alarm], self._states[one.alarm]
        if one.event in (Event.TRIP, Event.CLEAR):
            self._abnormal[i] = one.abnormal
        move = step(before, one.event, latching=alarm.latching, abnormal=self._abnormal[i])
        if move is None:
            return None
        at = float(rows.t[one.row])
        self._enter(i, move.next, at, sound=move.sound)
        state_id = STATE_IDS[rows.rig_state[one.row]]
        reason = {
            Event.SUPPRESS: f"not armed in {state_id}",
            Event.UNSUPPRESS: f"armed in {state_id}",
            Event.RE_ALARM: f"acknowledged, still abnormal after {alarm.re_alarm_s} s",
        }.get(one.event, _QUIET.get(before))
        seen = rows.seen(one.row, i)
        return alarm_entry(alarm, at, one.event, before, move.next, seen, reason=reason)

    def _edges(self, rows: Rows) -> list[_Happening]:
        out = []
        for edge in self._limits.process(rows.t, rows.value, rows.good):
            event = Event.TRIP if edge.abnormal else Event.CLEAR
            out.append(_Happening(edge.row, edge.alarm, _RANK[event], event, edge.abnormal))
        return out

    def _arming(self, rows: Rows) -> list[_Happening]:
        out: list[_Happening] = []
        code = self._rig_state
        for row, new in enumerate(rows.rig_state):
            if new == code:
                continue
            code, name = new, STATE_IDS[new]
            for i, alarm in enumerate(self.alarms):
                armed = name in alarm.armed
                if armed == self._armed[i] or (new == 0 and not armed):
                    continue
                self._armed[i] = armed
                event = Event.UNSUPPRESS if armed else Event.SUPPRESS
                out.append(_Happening(row, i, _RANK[event], event, abnormal=False))
        return out

    def _timers(self, rows: Rows) -> list[_Happening]:
        """Acknowledged alarms whose timer runs out in this block, should they still stand."""
        out: list[_Happening] = []
        for i, alarm in enumerate(self.alarms):
            if alarm.re_alarm_s is None or not _moves(self._states[i], Event.RE_ALARM):
                continue
            row = int(np.searchsorted(rows.t, self._since[i] + alarm.re_alarm_s - _SOON))
            if row < rows.t.size:
                event = Event.RE_ALARM
                out.append(_Happening(row, i, _RANK[event], event, abnormal=True))
        return out


def _moves(state: State, event: Event) -> bool:
    """Tell whether `event` moves an alarm in `state`, latching or not."""
    return step(state, event, latching=True, abnormal=True) is not None
