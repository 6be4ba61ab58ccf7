"""The last row: which keys there are, or for a few seconds what became of the last one."""

from __future__ import annotations

from collections.abc import Callable

from engine.snapshot import Snapshot
from tui.widgets.lines import Lines, Look, Row, shorten

SHOWN_S = 6.0
"""How long a message stays. [s]"""
LIVE = (
    "a ack  s silence  z zero pits  d depth  t tare  n note  +/- time  c curves  v values  "
    "w limits  b blind  enter cause  l light  ? help  q quit"
)
SYNTHETIC = LIVE.replace("n note", "n note  f faster")
REPLAY = (
    "space play  < > speed  left/right step  [ ] event  g go to  +/- time  c curves  v values  "
    "w limits  b blind  enter cause  l light  ? help  q quit"
)


class KeyLine(Lines):
    """One row."""

    def __init__(self, look: Look, clock: Callable[[], float], *, id: str) -> None:  # noqa: A002
        super().__init__(look, id=id)
        self._clock = clock
        self._message: tuple[str, str, float] = ("", "text", float("-inf"))

    def say(self, text: str, role: str = "strong") -> None:
        """Show `text` instead of the keys for a while."""
        self._message = (text, role, self._clock())
        self.draw()

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the row."""
        text, role, at = self._message
        if self._clock() - at < SHOWN_S:
            return [[(shorten(text, width), role)]]
        watch = snapshot.watch
        keys = REPLAY if watch.replay else SYNTHETIC if watch.synthetic else LIVE
        while len(keys) > width:  # the least wanted hints stand last but two
            parts = keys.split("  ")
            keys = "  ".join(parts[:-3] + parts[-2:])
        return [[(keys, "label")]]
