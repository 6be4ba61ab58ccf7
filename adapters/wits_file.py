"""A file of WITS level 0 packets to rows at the packets' own times. No I/O."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from adapters.file_rows import FileRows
from adapters.source_time import SenderClock
from adapters.wits0 import from_feed
from engine.config import Feed
from engine.errors import InputError
from engine.events import BadLine, FeedEvent, Frame

_PACKET_END = re.compile(rb"!!+[ \t]*(?:[\r\n]+|\Z)")
_DAY = timedelta(days=1)
_ROLL = timedelta(minutes=10)
"""A clock this far past midnight under the old date has rolled over without it. [s]"""


def take_wits(path: str, data: bytes, feed: Feed, clock: SenderClock, rows: FileRows) -> None:
    """Read packets into `rows`.

    A packet without a time gets that of the packet before it and one interval.

    Raises
    ------
    InputError
        If no packet has a time, or the feed names something that is no item.
    """
    decoder = from_feed(feed)
    times = _Times(feed, clock)
    line = 1
    untimed = 0
    start = 0
    ends = [m.end() for m in _PACKET_END.finditer(data)]
    for end in ends if ends and ends[-1] == len(data) else [*ends, len(data)]:
        chunk = data[start:end]
        if not chunk:
            continue
        rows.keep(chunk)
        events = decoder.feed(chunk, 0.0)
        if end == len(data):
            # A last mark needs no line end; anything else without one may be cut.
            events += decoder.feed(b"\n", 0.0) if chunk.endswith(b"!!") else []
            events += decoder.idle(0.0)
        untimed += _take(events, chunk, line, times, rows)
        line += len(chunk.splitlines())
        start = end
    rows.report.lines += line - 1
    if untimed and times.latest is None:
        raise InputError(
            f"{path}: {untimed} packets and none has a time (items 05 and 06, such as 0105 "
            "and 0106); a file without times cannot be replayed"
        )
    for kind, count in decoder.counts.items():
        rows.report.notes.append(f"{path}: {kind}: {count}")
    rows.report.notes += times.remarks(path)


def _take(events: list[FeedEvent], chunk: bytes, line: int, times: _Times, rows: FileRows) -> int:
    """Take the events of one piece of the file; return how many packets have no time at all."""
    untimed = 0
    bad: list[BadLine] = []
    for event in events:
        if isinstance(event, BadLine):
            bad.append(event)
            continue
        if not isinstance(event, Frame):
            continue
        at = times.of(event)
        for found in bad:
            rows.bad(found.reason, found.item, found.raw, _line_of(found, chunk, line), at)
        bad = []
        if at is None:
            untimed += 1
            rows.bad("no_time", "", chunk, line, None)
        else:
            rows.row(at, dict(event.values), dict(event.missing), dict(event.text), line,
                     partial=event.partial)  # fmt: skip
    for found in bad:
        rows.bad(found.reason, found.item, found.raw, _line_of(found, chunk, line), None)
    return untimed


def _line_of(found: BadLine, chunk: bytes, first: int) -> int:
    for i, text in enumerate(chunk.splitlines()):
        if found.raw and found.raw in text:
            return first + i
    return first


class _Times:
    """Gives each packet its time, in the order of the file."""

    def __init__(self, feed: Feed, clock: SenderClock) -> None:
        self._interval = feed.interval_s
        self._clock = clock
        self._local: datetime | None = None
        self._rolled = 0
        self._guessed = 0
        self._spread = 0
        self._values: dict[str, float] = {}
        self._items: set[str] = set()
        self._repeats = 0
        self.latest: float | None = None
        """Time of the packet before. [s since 1970-01-01 UTC]"""

    def of(self, frame: Frame) -> float | None:
        """Return the packet's time; None if neither it nor one before it has one."""
        if local := self._read(frame):
            same_second, self._local = local == self._local, local
            self.latest = self._clock.utc(local) + self._within(frame, same_second=same_second)
        elif self.latest is not None:
            self._guessed += 1
            self.latest += self._interval
        return self.latest

    def _within(self, frame: Frame, *, same_second: bool) -> float:
        """Return how far into its second a packet lies; stamps are whole seconds. [s]

        A packet that brings other items than those of this second already did, or the very same
        values, belongs to the same moment. One that says something new about an item was sent
        later in the second: at a half, three quarters, seven eighths, so that none is lost.
        """
        items = set(frame.values) | set(frame.missing)
        if not same_second:
            self._items, self._repeats = items, 0
        elif items & self._items and dict(frame.values) != self._values:
            self._items, self._repeats = items, self._repeats + 1
            self._spread += 1
        else:
            self._items |= items
        self._values = dict(frame.values)
        return 1.0 - 0.5 ** min(self._repeats, 19)  # 20 halvings reach the microsecond

    def remarks(self, path: str) -> list[str]:
        """Say what was done to times."""
        out = []
        if self._spread:
            out.append(
                f"{path}: packets with new values under the second of the packet before, "
                f"put later in that second: {self._spread}"
            )
        if self._rolled:
            out.append(
                f"{path}: the clock passed midnight before the date did; "
                f"packets moved to the next day: {self._rolled}"
            )
        if self._guessed:
            out.append(
                f"{path}: packets without a time, taken as {self._interval:g} s after the "
                f"packet before: {self._guessed}"
            )
        return out

    def _read(self, frame: Frame) -> datetime | None:
        before = self._local
        if frame.source_time:
            local = datetime.fromisoformat(frame.source_time)
            if before is not None and timedelta(0) <= local + _DAY - before <= _ROLL:
                self._rolled += 1
                return local + _DAY
            return local
        digits = next((t for code, t in frame.text.items() if code[2:] == "06"), "")
        if before is None or len(digits) != 6 or not digits.isdigit():
            return None
        hour, minute, second = (int(digits[i : i + 2]) for i in (0, 2, 4))
        local = before.replace(hour=hour, minute=minute, second=second)
        # A clock without its date: the day that brings it nearest to the packet before.
        return min((local - _DAY, local, local + _DAY), key=lambda t: abs(t - before))
