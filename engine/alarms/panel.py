"""All alarms as they stand, moved one at a time: the nine states, first-out, flood, escalation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from engine.alarms.due import SOON
from engine.alarms.entries import alarm_entry, flood_entry
from engine.alarms.flood import ENDS_BELOW, Flood
from engine.alarms.model import QUIET, SOUNDING, Event, Notice, State, step
from engine.alarms.rows import Seen
from engine.alarms.standing import ESCALATE_S, Standing
from engine.block import BAD
from engine.commands import Issued
from engine.config import Alarm
from engine.records.journal import Entry, iso


class Panel:
    """Where every alarm stands, and the entries of each thing that happens to one of them.

    Parameters
    ----------
    alarms : sequence of Alarm
        Their limits may be changed later, in `alarms`.
    """

    def __init__(self, alarms: Sequence[Alarm]) -> None:
        self.alarms = list(alarms)
        """With the limits now in force."""
        self.now = [Standing()] * len(alarms)
        self.flood = Flood()
        groups: dict[str, list[int]] = {}
        for i, alarm in enumerate(alarms):
            groups.setdefault(alarm.group, []).append(i)
        self._group = [groups[alarm.group] for alarm in alarms]

    def move(
        self,
        i: int,
        event: Event,
        at: float,
        seen: Seen,
        issued: Issued | None = None,
        reason: str | None = None,
        more: dict[str, Any] | None = None,
    ) -> list[Entry]:
        """Let `event` move alarm `i`; nothing if it has no effect as it stands."""
        alarm, one, out = self.alarms[i], self.now[i], []
        move = step(
            one.state, event, latching=alarm.latching, abnormal=one.abnormal, armed=one.armed
        )
        if move is None:
            return []
        sounds = False
        if move.sound:
            calm = not self.flood.on
            self.flood = self.flood.add(at)
            if calm and self.flood.on:
                out.append(flood_entry(at, self.flood))
            sounds = alarm.priority == 1 or not self.flood.on
        value = float("nan") if seen.quality & BAD else seen.value
        self.now[i] = one.after(move, at, sounds=sounds, value=value)
        self._mark_first(i)
        now = self.now[i]
        out.append(
            alarm_entry(alarm, at, event, one.state, now, seen, issued, reason,
                        sound=sounds, more=more)
        )  # fmt: skip
        return out

    def _mark_first(self, i: int) -> None:
        """Mark who came first of the group; take the mark off when all of them are gone."""
        group = [self.now[k] for k in self._group[i]]
        if all(one.state in QUIET or one.state is State.NORMAL for one in group):
            for k in self._group[i]:
                if self.now[k].first_out:
                    self.now[k] = replace(self.now[k], first_out=False)
        elif not any(one.first_out for one in group):
            self.now[i] = replace(self.now[i], first_out=True)

    def escalate(self, i: int, level: int, at: float, seen: Seen) -> list[Entry]:
        """Tell an alarm louder that is still not acknowledged; nothing if it is, or was told."""
        one = self.now[i]
        if (
            one.state not in SOUNDING
            or one.escalated != level - 1
            or at < one.raised + ESCALATE_S[level - 1] - SOON
        ):
            return []
        self.now[i] = one = replace(one, escalated=level, silenced=False)
        reason = f"not acknowledged for {ESCALATE_S[level - 1]:.0f} s"
        return [
            alarm_entry(self.alarms[i], at, Notice.ESCALATE, one.state, one, seen, reason=reason,
                        sound=True, more={"level": level})
        ]  # fmt: skip

    def shelf_ending(self, i: int, at: float, seen: Seen) -> list[Entry]:
        """Say once that a shelved alarm comes back soon."""
        one = self.now[i]
        if one.state is not State.SHELVED or one.shelf is None or one.shelf.warned:
            return []
        self.now[i] = one = replace(one, shelf=replace(one.shelf, warned=True))
        until = iso(one.shelf.until) if one.shelf else None
        return [
            alarm_entry(self.alarms[i], at, Notice.SHELF_ENDING, one.state, one, seen,
                        reason="comes back soon", more={"shelved_until": until})
        ]  # fmt: skip

    def flood_over(self, at: float) -> list[Entry]:
        """End the flood; nothing if there is none, or too many alarms came since."""
        if not self.flood.on or self.flood.count(at) >= ENDS_BELOW:
            return []
        self.flood = replace(self.flood, on=False)
        return [flood_entry(at, self.flood)]
