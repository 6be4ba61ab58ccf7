"""A widget made of whole lines: only a line that changed is painted again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from engine.snapshot import Snapshot
from tui.format import Formatter
from tui.glyphs import Glyphs

Part = tuple[str, str]
"""Text and the role of its colour, as in `tui.theme.Palette.styles`."""
Row = list[Part]


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What does not change from picture to picture: colours, characters, units, string."""

    styles: Mapping[str, Style]
    glyphs: Glyphs
    fmt: Formatter
    stand_length: float
    """Nominal stand. [m]"""
    place: str = ""
    """Well and rig."""


class Lines(Widget):
    """Base of all widgets that draw text lines; a subclass says what `lines` are."""

    def __init__(self, look: Look, *, id: str) -> None:  # noqa: A002 - textual's own name
        super().__init__(id=id)
        self._look = look
        self._snapshot: Snapshot | None = None
        self._rows: list[Row] = []
        self._strips: list[Strip] = []

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return at most `height` rows for `snapshot`; depends on nothing else that changes."""
        raise NotImplementedError

    @property
    def look(self) -> Look:
        """Colours, characters and units in use."""
        return self._look

    def use(self, look: Look) -> None:
        """Draw everything again in another look."""
        self._look = look
        self._rows = []
        self.draw()

    def show(self, snapshot: Snapshot) -> None:
        """Take the newest snapshot and paint the lines that differ."""
        self._snapshot = snapshot
        self.draw()

    def on_resize(self) -> None:
        """Draw everything for the new size."""
        self._rows = []
        self.draw()

    def draw(self) -> None:
        """Work the lines out again."""
        width, height = self.size
        if self._snapshot is None or width == 0 or height == 0:
            return
        rows = self.lines(self._snapshot, width, height)[:height]
        rows += [[] for _ in range(height - len(rows))]
        if len(self._rows) != height:
            self._strips = [self.strip(row, width) for row in rows]
            self.refresh()
        else:
            for y, (new, old) in enumerate(zip(rows, self._rows, strict=True)):
                if new != old:
                    self._strips[y] = self.strip(new, width)
                    self.refresh(Region(0, y, width, 1))
        self._rows = rows

    def strip(self, row: Sequence[Part], width: int) -> Strip:
        """Turn one row into a strip of exactly `width` cells, every segment with a style."""
        styles, glyphs = self._look.styles, self._look.glyphs
        segments = [Segment(glyphs.text(text), styles[role]) for text, role in row]
        return Strip(segments).adjust_cell_length(width, styles["text"])

    def render_lines(self, crop: Region) -> list[Strip]:
        """Hand over finished strips, so that their terminal codes are made only once."""
        background, filters = self.background_colors[1], self.get_line_filters()
        blank = Strip.blank(self.size.width, self._look.styles["text"])
        out = []
        for y in crop.line_range:
            strip = self._strips[y] if 0 <= y < len(self._strips) else blank
            for line_filter in filters:
                strip = strip.apply_filter(line_filter, background)
            out.append(strip)
        left, right = crop.column_span
        if (left, right) == (0, self.size.width):
            return out
        return [strip.crop(left, right) for strip in out]


def length(row: Sequence[Part]) -> int:
    """Return how many cells `row` takes; all our characters are one cell wide."""
    return sum(len(text) for text, _ in row)


def spread(left: Row, right: Row, width: int) -> Row:
    """Put `right` at the right edge, at least one blank after `left`."""
    gap = max(1, width - length(left) - length(right))
    return [*left, (" " * gap, "text"), *right]


def shorten(text: str, width: int) -> str:
    """Cut `text` to `width` cells with two dots at the end, so that a cut is seen as one."""
    return text if len(text) <= width else text[: max(0, width - 2)] + ".."[:width]
