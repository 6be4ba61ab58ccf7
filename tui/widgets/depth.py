"""Where the bit is: depths, the stand in the table, the slips."""

from __future__ import annotations

from engine.snapshot import Reading, Snapshot
from tui.format import duration
from tui.widgets.bars import ends_bar
from tui.widgets.lines import Lines, Row

DEEPER = 0.05
"""A bit this much below the hole says that one of the two is wrong. [m]"""


class Depth(Lines):
    """Two rows: depths; then stand and slips."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the two rows."""
        bit, hole = (snapshot.readings.get(c) for c in ("bit_depth", "hole_depth"))
        unit = self.look.fmt.unit("bit_depth").symbol
        off = None
        if bit and hole and bit.value is not None and hole.value is not None:
            off = hole.value - bit.value
        first: Row = []
        for label, value in (
            ("BIT", bit.value if bit else None),
            ("HOLE", hole.value if hole else None),
            ("OFF BOTTOM", off),
        ):
            odd = label == "OFF BOTTOM" and value is not None and value < -DEEPER
            first += [(f"{label} ", "label"), (self._number(value), "changed" if odd else "strong")]
            first += [(f" {unit}   ", "label")]
        first.append((_reason(bit) or _reason(hole), "changed"))
        stands = snapshot.connection.stands
        if stands is not None and width >= 100:
            first += [("STANDS ", "label"), (str(stands), "text")]
        return [first, self._stand(snapshot)]

    def _stand(self, snapshot: Snapshot) -> Row:
        link = snapshot.connection
        unit = self.look.fmt.unit("stand_remaining").symbol
        left = link.stand_remaining
        row: Row = [("STAND LEFT ", "label"), (self._number(left, "stand_remaining"), "text")]
        row += [(f" {unit} ", "label")]
        row += ends_bar(left, 0.0, self.look.stand_length, 12, self.look.glyphs)
        since = link.slips_since
        timer = duration(None if since is None else snapshot.now - since)
        if link.in_slips is None:
            row += [("   SLIPS ", "label"), ("unknown", "text")]
        elif link.in_slips:
            row += [("   ", "text"), (f" IN SLIPS {timer} ", "state")]
        else:
            row += [("   OUT OF SLIPS ", "label"), (timer, "text")]
        return row

    def _number(self, value: float | None, channel: str = "bit_depth") -> str:
        return self.look.fmt.number(channel, value, 8)


def _reason(reading: Reading | None) -> str:
    return "" if reading is None or reading.value is not None else reading.reason
