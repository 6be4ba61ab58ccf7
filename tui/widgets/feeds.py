"""How the feeds are doing: up or down, how old, what was thrown away and why."""

from __future__ import annotations

from engine.interfaces import FeedHealth
from engine.snapshot import Snapshot
from tui.format import age
from tui.widgets.lines import Lines, Look, Row, length, shorten
from tui.widgets.readout import fresh_limit


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


def feed_lines(snapshot: Snapshot, look: Look) -> list[str]:
    """Return all that is known of every feed: a line each, and one a kind of oddity."""
    lines = []
    for feed in sorted(snapshot.feeds, key=lambda feed: feed.name):
        end = f": {feed.reason}" if not feed.up and feed.reason else ""
        lines.append(f"{feed.name} {'up' if feed.up else 'DOWN'}{end}")
        if snapshot.watch.replay:
            continue
        last = look.fmt.clock(feed.last_frame)
        lines.append(f"  {feed.frames} packets, the last at {last}; {feed.bad_lines} rejected")
        lines += [f"  {count:7} {words}" for words, count in oddities(feed)]
    return lines


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
    if feed.last_frame is None:
        row.append(("  no packet yet", "changed"))
    elif last > fresh_limit(snapshot):
        row.append((f"  last packet {age(last)} ago", "changed"))
    row.append((f"  {feed.frames} packets", "label"))
    row.append((f"  {feed.bad_lines} rejected", "text" if feed.bad_lines else "label"))
    detail = "".join(f"  {words} {count}" for words, count in oddities(feed))
    row.append((shorten(detail, max(0, width - length(row))), "label"))
    return row


def oddities(feed: FeedHealth) -> list[tuple[str, int]]:
    """Return what was odd or rejected, in words, and how often; the most frequent first."""
    kinds = sorted((feed.notes or {}).items(), key=lambda kind: (-kind[1], kind[0]))
    return [(kind.replace("_", " "), count) for kind, count in kinds]
