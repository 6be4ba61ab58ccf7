"""The journal's newest lines in words, newest at the foot."""

from __future__ import annotations

from engine.snapshot import Snapshot
from tui.format import Formatter
from tui.widgets.lines import Lines, Row, shorten


def log_rows(snapshot: Snapshot, fmt: Formatter, width: int, count: int) -> list[Row]:
    """Return the newest `count` lines."""
    lines = list(snapshot.log)[-count:] if count > 0 else []
    texts = (shorten(f"{fmt.clock(line.at)} {line.text}", width) for line in lines)
    return [[(text, "label")] for text in texts]


class Log(Lines):
    """A list of what happened."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return a heading and the newest lines."""
        head: Row = [("HAPPENED LATELY", "label")]
        return [head, *log_rows(snapshot, self.look.fmt, width, height - 1)]
