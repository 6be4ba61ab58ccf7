"""Where the bit is: depths, the stand in the table, the slips."""

from __future__ import annotations

from engine.snapshot import Connection, Reading, Snapshot
from tui.format import duration
from tui.widgets.bars import ends_bar
from tui.widgets.lines import Lines, Row, length
from tui.words import doubt, gone_role

NOISE = 0.05
"""Bit and hole this close are at the same depth: block sensor and pipe stretch. [m]

Common practice, no source. A bit further below the hole says that one of the two is wrong.
"""
FULL = 1.3
"""End of the stand's bar: above a connection the block stands higher than a stand. [stands]"""


class Depth(Lines):
    """Two rows: depths; then stand, slips and how long the last connections took."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the two rows."""
        readings = snapshot.readings
        bit, hole = (
            readings.get(c, Reading(c, None, reason="no data")) for c in ("bit_depth", "hole_depth")
        )
        first: Row = []
        for label, reading in (("BIT", bit), ("HOLE", hole)):
            first += self._amount(label, reading.value, "strong")
        off = off_bottom(bit, hole, readings.get("on_bottom"))
        below = off is not None and off < 0
        first += self._amount("OFF BOTTOM", off, "changed" if below else "strong")
        first += _remark(bit, hole, below=below)
        stands = snapshot.connection.stands
        room = width - length(first) - 12
        if stands is not None and room >= 0:
            first += [("STANDS ", "label"), (str(stands), "text")]
        return [first, self._stand(snapshot, width)]

    def _amount(self, label: str, value: float | None, role: str) -> Row:
        unit = self.look.fmt.unit("bit_depth").symbol
        return [(f"{label} ", "label"), (self._number(value), role), (f" {unit}   ", "label")]

    def _stand(self, snapshot: Snapshot, width: int) -> Row:
        link = snapshot.connection
        unit = self.look.fmt.unit("stand_remaining").symbol
        left = link.stand_remaining
        row: Row = [("STAND LEFT ", "label"), (self._number(left, "stand_remaining"), "text")]
        row += [(f" {unit} ", "label")]
        row += ends_bar(left, 0.0, FULL * self.look.stand_length, 12, self.look.glyphs)
        since = link.slips_since
        timer = duration(None if since is None else snapshot.now - since)
        if link.in_slips is None:
            row += [("   SLIPS ", "label"), ("unknown", "text")]
        elif link.in_slips:
            row += [("   ", "text"), (f" IN SLIPS {timer} ", "state")]
        else:
            row += [("   OUT OF SLIPS ", "label"), (timer, "text")]
        return [*row, *_before(link, width - length(row))]

    def _number(self, value: float | None, channel: str = "bit_depth") -> str:
        return self.look.fmt.number(channel, value, 8)


def off_bottom(bit: Reading, hole: Reading, on_bottom: Reading | None) -> float | None:
    """Return hole minus bit, zero within the noise; below zero only if they really disagree. [m]

    On bottom the two are one depth, whatever the last centimetres of the block say.
    """
    if bit.value is None or hole.value is None:
        return None
    off = hole.value - bit.value
    on = on_bottom is not None and on_bottom.value is not None and on_bottom.value > 0.5
    return 0.0 if -NOISE <= off < 0 or (on and abs(off) <= NOISE) else off


def _remark(bit: Reading, hole: Reading, *, below: bool) -> Row:
    """Say what is wrong with the depths, if anything is."""
    for reading in (bit, hole):
        if reading.value is None:
            return [(f"{reading.reason}   ", gone_role(reading.reason))]
    if below:
        return [("BIT BELOW HOLE   ", "changed")]
    word = doubt(bit.quality)[1] or doubt(hole.quality)[1]
    return [(f"{word.upper()}   ", "changed")] if word else []


def _before(link: Connection, room: int) -> Row:
    """Return the times in slips of the last connections, as many as there is room for."""
    text = "   LAST"
    times = [f" {duration(took)}" for _, took in link.past]
    while times and len(text) + sum(map(len, times)) > room:
        times.pop()
    return [(text + "".join(times), "label")] if times else []
