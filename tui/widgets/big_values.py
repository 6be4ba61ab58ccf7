"""A few values large enough to be read from across the floor."""

from __future__ import annotations

from engine.channels import CHANNELS
from engine.snapshot import Reading, Snapshot
from tui.format import dashes, fit
from tui.widgets.bars import bar
from tui.widgets.lines import Lines, Row, shorten
from tui.widgets.readout import fresh_limit, judged, mark_word, old
from tui.words import gone_role

CHOICE = (
    "hook_load", "weight_on_bit", "standpipe_pressure", "flow_difference", "pit_gain", "rop",
    "torque", "rotary",
)  # fmt: skip
"""As many as there is room for, the most wanted first."""
TILE = 24
"""Cells of a tile. [-]"""
DOTS = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", " # ", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    "+": ("   ", " # ", "###", " # ", "   "),
    ".": (" ", " ", " ", " ", "#"),
}
"""Digits three dots wide and five high; a cell holds two dots, one above the other."""
HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}


def large(text: str) -> tuple[str, str, str]:
    """Return `text` in three rows of half blocks."""
    grid = [" ".join(DOTS[c][y] for c in text) for y in range(5)]
    grid.append(" " * len(grid[0]))
    top, middle, bottom = (
        "".join(HALVES[a + b] for a, b in zip(grid[y], grid[y + 1], strict=True)) for y in (0, 2, 4)
    )
    return top, middle, bottom


def tiles(width: int) -> tuple[str, ...]:
    """Return the channels that have a tile at this width."""
    return CHOICE[: max(1, width // TILE)]


class BigValues(Lines):
    """Tiles: label, unit and age; the number; its bar or the reason why there is none."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return five rows."""
        channels = tiles(width)
        share, fresh = width // len(channels), fresh_limit(snapshot)
        rows: list[Row] = [[] for _ in range(5)]
        for channel in channels:
            reading = snapshot.readings.get(channel)
            if reading is None:
                reading = Reading(channel, None, age=float("inf"), reason="no data")
            for row, part in zip(rows, self._tile(reading, share, fresh), strict=True):
                row += part
        return rows

    def _tile(self, reading: Reading, width: int, fresh: float) -> list[Row]:
        fmt, room = self.look.fmt, width - 2
        unit = fmt.unit(reading.channel)
        mark, role = judged(reading)
        words = mark_word(mark, reading)
        head = f"{CHANNELS[reading.channel].short} {unit.symbol}"
        end = words if mark else old(reading, fresh)
        gap = max(1, room - len(head) - len(end))
        title: Row = [(head, "label"), (" " * gap, "text")]
        title.append((end, "changed" if mark else "label"))
        if reading.value is None:
            text = dashes(4)
            why = shorten(reading.reason, room).ljust(room)
            under: Row = [(why, gone_role(reading.reason))]
        else:
            text = fit(unit.from_si(reading.value), unit.decimals, (room + 1) // 4).strip()
            under = bar(reading, room, self.look.glyphs)
        drawn = self._digits(text, room)
        body: list[Row] = [[(line.ljust(room), role)] for line in drawn]
        return [[*row, ("  ", "text")] for row in (_exact(title, room), *body, under)]

    def _digits(self, text: str, room: int) -> tuple[str, str, str]:
        """Return the number large, or as plain text where it cannot be drawn or has no room."""
        if not self.look.glyphs.plain and set(text) <= set(DOTS):
            drawn = large(text)
            if len(drawn[0]) <= room:
                return drawn
        return "", text, ""


def _exact(row: Row, width: int) -> Row:
    used = sum(len(text) for text, _ in row)
    return [*row, (" " * max(0, width - used), "text")]
