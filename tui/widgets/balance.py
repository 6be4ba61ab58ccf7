"""Are flow and pits in balance: what goes in, what comes out, what the pits gained."""

from __future__ import annotations

from engine.snapshot import Reading, Snapshot
from tui.widgets.bars import bar
from tui.widgets.lines import Lines, Row
from tui.widgets.readout import judged, mark_word
from tui.words import gone_role


class Balance(Lines):
    """Two rows: flow in, out and their difference; pits and their gain since the zero."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the two rows; the two differences stand under each other."""
        room = max(10, min(40, width - 70))
        flow = self._pair(snapshot, "IN", "flow_in") + self._pair(snapshot, "OUT", "flow_out")
        pits = self._pair(snapshot, "PITS", "pit_volume")
        return [
            [*_wide(flow, 42), *self._difference(snapshot, "OUT-IN", "flow_difference", room)],
            [*_wide(pits, 42), *self._difference(snapshot, "GAIN", "pit_gain", room)],
        ]

    def _pair(self, snapshot: Snapshot, label: str, channel: str) -> Row:
        reading = snapshot.readings.get(channel, Reading(channel, None, reason="no data"))
        mark, role = judged(reading)
        fmt = self.look.fmt
        unit = fmt.unit(channel).symbol
        return [
            (f"{label:5}", "label"),
            (fmt.number(channel, reading.value, 7), role),
            (f" {unit}".ljust(7), "label"),
            (f"{mark:1} ", role if mark else "label"),
        ]

    def _difference(self, snapshot: Snapshot, label: str, channel: str, room: int) -> Row:
        reading = snapshot.readings.get(channel, Reading(channel, None, reason="no data"))
        mark, role = judged(reading)
        fmt = self.look.fmt
        text = fmt.number(channel, reading.value, 7)
        if reading.value is not None and not text.strip().startswith("-"):
            text = f"+{text.strip()}".rjust(7)
        unit = fmt.unit(channel).symbol
        row: Row = [(f"{label:7}", "label"), (text, role), (f" {unit}".ljust(8), "label")]
        if reading.value is None:
            return [*row, (reading.reason, gone_role(reading.reason))]
        row += bar(reading, room, self.look.glyphs)
        word = mark_word(mark, reading)
        return [*row, (f" {word}", "changed")]


def _wide(row: Row, width: int) -> Row:
    used = sum(len(text) for text, _ in row)
    return [*row, (" " * max(0, width - used), "text")]
