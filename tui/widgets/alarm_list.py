"""The alarms that stand, worst first, with what to do about the selected one."""

from __future__ import annotations

from engine.snapshot import AlarmView, Snapshot
from tui.format import duration
from tui.happenings import UNACKNOWLEDGED
from tui.widgets.lines import Lines, Look, Row, length, shorten, spread
from tui.widgets.log import log_rows
from tui.words import ALARM_STATES

WORD = max(len(ALARM_STATES[letter]) for letter in "BCDEF")


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
        room = max(1, height - 2)
        rows = [_header(snapshot, len(alarms) - room, width)]
        first = self._first(alarms, room)
        rows += [self._alarm(a, snapshot.now, width) for a in alarms[first : first + room]]
        chosen = self.selected
        if chosen is not None:
            text = f"  do: {chosen.action}"
            rows.append([(shorten(text, width), "strong")])
        free = height - len(rows) if self.with_log else 0
        return rows + log_rows(snapshot, self.look.fmt, width, free)

    def _first(self, alarms: tuple[AlarmView, ...], room: int) -> int:
        """Scroll only as far as the selected alarm needs."""
        ids = [a.id for a in alarms]
        at = ids.index(self._selected) if self._selected in ids else 0
        return max(0, at - room + 1)

    def _alarm(self, alarm: AlarmView, now: float, width: int) -> Row:
        glyphs, fmt = self.look.glyphs, self.look.fmt
        pick = glyphs.select if alarm.id == self._selected else " "
        symbol = glyphs.symbols.get(alarm.state, "?")
        new = alarm.state in UNACKNOWLEDGED and alarm.state != "D"
        role = f"alarm_{min(alarm.priority, 3)}" if new else "strong"
        word = ALARM_STATES.get(alarm.state, alarm.state)
        unit = fmt.unit(alarm.channel).symbol
        value = fmt.text(alarm.channel, alarm.value)
        limit = fmt.text(alarm.channel, alarm.limit)
        left: Row = [
            (pick, "strong"),
            (f" {symbol} {word:{WORD}} P{alarm.priority} {alarm.label} ", role),
            (f" {value} {unit}, {alarm.side} limit {limit}", "strong" if new else "text"),
        ]
        return spread(left, [(duration(now - alarm.raised), "label")], width)


def _header(snapshot: Snapshot, more: int, width: int) -> Row:
    alarms = snapshot.alarms
    hidden = f"{snapshot.suppressed} suppressed by rig state" if snapshot.suppressed else ""
    if not snapshot.watch.alive:
        as_of = f"ALARMS UNKNOWN: {'WATCH ENDED' if snapshot.watch.ended else 'NO WATCH'}"
        before = f"  {len(alarms)} stood before" if alarms else ""
        return [(as_of, "changed"), (before, "text")]
    if not alarms:
        return spread([("NO ALARMS", "strong")], [(hidden, "label")], width)
    new = sum(a.state in UNACKNOWLEDGED for a in alarms)
    words = f"{len(alarms)} ALARM{'S' if len(alarms) > 1 else ''}"
    left: Row = [(words, "strong"), (f"  {new} not acknowledged", "text" if new else "label")]
    if more > 0:
        left.append((f"  {more} more below", "changed"))
    if length(left) + len(hidden) >= width:
        hidden = ""
    return spread(left, [(hidden, "label")], width)
