"""The alarms that stand, worst first, with what to do about the selected one."""

from __future__ import annotations

import textwrap

from engine.detect.kinds import CALL_CHANNELS, COPY_LATE, call_channel, kind_of_call
from engine.snapshot import AlarmView, CallView, Snapshot
from tui import second_copy
from tui.format import Formatter, duration
from tui.happenings import UNACKNOWLEDGED
from tui.widgets.limits import is_blind
from tui.widgets.lines import Lines, Look, Row, length, shorten, spread
from tui.widgets.log import log_rows
from tui.words import ALARM_STATES

WORD = max(len(ALARM_STATES[letter]) for letter in "BCDEF")
WIDE = 100
"""From here on there is room for the value at the trip beside the one of now. [cells]"""
ACTION_ROWS = 2
"""Most rows of an action; what is longer is one key away, in the details. [-]"""
NO_WATCH = "Nothing alarms here. Go by the rig's own gauges; start the watch again."
NO_DATA = "Go by the rig's own gauges; look at the line and at the sender of the data."
"""What to do when nothing can alarm."""


class AlarmList(Lines):
    """Header, alarms, the action of the selected one; room that is left shows the log."""

    def __init__(self, look: Look, *, id: str) -> None:  # noqa: A002 - textual's own name
        super().__init__(look, id=id)
        self._selected = ""
        self.with_log = True
        """Fill rows that no alarm needs with what happened lately."""

    @property
    def selected(self) -> AlarmView | None:
        """The selected alarm, or the worst one; None while there is none."""
        alarms = self._snapshot.alarms if self._snapshot else ()
        chosen = [a for a in alarms if a.id == self._selected]
        return next(iter([*chosen, *alarms]), None)

    @property
    def chosen(self) -> str:
        """Id of the alarm a person selected, empty if none was."""
        return self._selected

    def select(self, by: int) -> None:
        """Select the alarm `by` rows further down."""
        alarms = self._snapshot.alarms if self._snapshot else ()
        if not alarms:
            return
        ids = [a.id for a in alarms]
        at = ids.index(self._selected) + by if self._selected in ids else 0
        self._selected = ids[min(max(at, 0), len(ids) - 1)]
        self.draw()

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the rows; alarms beyond the room are counted in the header."""
        alarms = snapshot.alarms
        if not alarms:
            self._selected = ""
        action = self._action(snapshot, width, max(1, min(ACTION_ROWS, height - 2)))
        room = max(1, height - 1 - len(action))
        rows = [_header(snapshot, len(alarms) - room, width)]
        first = self._first(alarms, room)
        rows += [self._alarm(a, snapshot, width) for a in alarms[first : first + room]]
        rows += action
        free = height - len(rows) if self.with_log else 0
        return rows + log_rows(snapshot, self.look.fmt, width, free)

    def _action(self, snapshot: Snapshot, width: int, most: int) -> list[Row]:
        watch, chosen = snapshot.watch, self.selected
        if not (watch.alive or watch.ended):
            text = NO_WATCH
        elif watch.alive and _all_blind(snapshot):
            text = NO_DATA
        elif chosen is None:
            return []
        else:
            text = chosen.action
        text = self.look.glyphs.text(f"do: {text}")
        lines = textwrap.wrap(
            text, width - 2, max_lines=most, placeholder=" ..", subsequent_indent="    "
        )
        return [[(f"  {line}", "strong")] for line in lines]

    def _first(self, alarms: tuple[AlarmView, ...], room: int) -> int:
        """Scroll only as far as the selected alarm needs."""
        ids = [a.id for a in alarms]
        at = ids.index(self._selected) if self._selected in ids else 0
        return max(0, at - room + 1)

    def _alarm(self, alarm: AlarmView, snapshot: Snapshot, width: int) -> Row:
        glyphs = self.look.glyphs
        pick = glyphs.select if alarm.id == self._selected else " "
        symbol = glyphs.symbols.get(alarm.state, "?")
        known = snapshot.watch.alive
        new = known and alarm.state in UNACKNOWLEDGED and alarm.state != "D"
        role = f"alarm_{min(alarm.priority, 3)}" if new else "strong" if known else "text"
        word = ALARM_STATES.get(alarm.state, alarm.state)
        head = f" {symbol} {word:{WORD}} P{alarm.priority} "
        value = self._value(alarm, snapshot, width)
        since = duration(snapshot.now - alarm.raised)
        room = width - len(pick + head + value + since) - 2
        left: Row = [
            (pick, "strong"),
            (f"{head}{shorten(alarm.label, max(8, room))} ", role),
            (value, "strong" if new else "text"),
        ]
        return spread(left, [(since, "label")], width)

    def _value(self, alarm: AlarmView, snapshot: Snapshot, width: int) -> str:
        """Say where the value is now, where it was at the trip, and the limit."""
        fmt = self.look.fmt
        if alarm.channel == call_channel(COPY_LATE):
            return f" {second_copy.value(snapshot)}"
        if alarm.channel in CALL_CHANNELS:
            return _call(snapshot.calls.get(kind_of_call(alarm.channel)), fmt)
        reading = snapshot.readings.get(alarm.channel)
        now = fmt.text(alarm.channel, reading.value if reading else None)
        limit = f"limit {fmt.text(alarm.channel, alarm.limit)}"
        if width >= WIDE:
            was = fmt.text(alarm.channel, alarm.value)
            limit = f"raised at {was}, {alarm.side} {limit}"
        return f" now {now} {fmt.unit(alarm.channel).symbol}, {limit}"


def _call(call: CallView | None, fmt: Formatter) -> str:
    """Say what a detector calls now, with its volume where it has one."""
    if call is None:
        return " no longer called"
    if call.volume is None:
        return f" {call.severity}"
    return (
        f" {call.severity}, {fmt.text('pit_volume', call.volume)} {fmt.unit('pit_volume').symbol}"
    )


def _all_blind(snapshot: Snapshot) -> bool:
    """Tell whether there are armed limits and none of them has a value.

    Calls live on the same values; their detectors say so a little later.
    """
    listed = [a for a in snapshot.limits if a.channel not in CALL_CHANNELS]
    armed = [a for a in listed if a.state not in "GHI"]
    return bool(armed) and all(is_blind(a, snapshot) for a in armed)


def _header(snapshot: Snapshot, more: int, width: int) -> Row:
    alarms = snapshot.alarms
    hidden = f"{snapshot.suppressed} not armed in this rig state" if snapshot.suppressed else ""
    if not snapshot.watch.alive:
        as_of = f"ALARMS UNKNOWN: {'WATCH ENDED' if snapshot.watch.ended else 'NO WATCH'}"
        before = f"  {len(alarms)} stood before" if alarms else ""
        return [(as_of, "changed"), (before, "text")]
    left: Row = [("NO ALARMS", "strong")]
    if alarms:
        new = sum(a.state in UNACKNOWLEDGED for a in alarms)
        words = f"{len(alarms)} ALARM{'S' if len(alarms) > 1 else ''}"
        left = [(words, "strong"), (f"  {new} not acknowledged", "text" if new else "label")]
    blind = sum(is_blind(a, snapshot) for a in snapshot.limits)
    if _all_blind(snapshot):
        left = [("EVERY LIMIT BLIND, NOTHING CAN ALARM", "changed")]
        left += [(f"  {len(alarms)} stood before", "text")] if alarms else []
    elif blind:
        left.append((f"  {blind} limit{'s' if blind > 1 else ''} blind: key w", "changed"))
    if more > 0:
        left.append((f"  {more} more below", "changed"))
    if length(left) + len(hidden) >= width:
        hidden = ""
    return spread(left, [(hidden, "label")], width)
