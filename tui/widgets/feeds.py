"""How the feeds are doing: up or down, how old, what was thrown away and why."""

from __future__ import annotations

from engine.interfaces import FeedHealth
from engine.snapshot import Snapshot
from tui.format import age
from tui.widgets.lines import Lines, Row, length, shorten


class Feeds(Lines):
    """One feed a row, down ones first; the last row counts what there is no room for."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the rows."""
        if not snapshot.feeds:
            return [[("FEED  none seen yet", "label")]]
        feeds = sorted(snapshot.feeds, key=lambda feed: (feed.up, feed.name))
        rows = [_feed(feed, snapshot, width) for feed in feeds[:height]]
        more = len(feeds) - height
        if more > 0:
            rows[-1].append((f"  +{more} feeds", "changed"))
        return rows


def _feed(feed: FeedHealth, snapshot: Snapshot, width: int) -> Row:
    row: Row = [(f"FEED {shorten(feed.name, 12)} ", "label")]
    if not snapshot.watch.alive:
        row.append(("unknown: no watch", "changed"))
        return row
    if feed.up:
        row.append(("up", "text"))
    else:
        row.append((f" DOWN {shorten(feed.reason, 30)} ".replace("  ", " "), "notice"))
    if snapshot.watch.replay:
        return row
    last = float("inf") if feed.last_frame is None else max(0.0, snapshot.now - feed.last_frame)
    row.append((f"  packet {age(last)} ago  {feed.frames} packets", "label"))
    if feed.bad_lines or feed.notes:
        kinds = sorted((feed.notes or {}).items(), key=lambda kind: -kind[1])
        detail = ", ".join(f"{name.replace('_', ' ')} {count}" for name, count in kinds)
        text = f"  {feed.bad_lines} rejected{': ' + detail if detail else ''}"
        row.append((shorten(text, max(0, width - length(row))), "label"))
    return row
