"""Rows of files by time: joined, sorted, and what conflicts counted. No I/O."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from adapters.file_report import Report
from engine.events import BadLine, FeedEvent, Frame, WireBytes

_WIRE, _BAD, _FRAME = range(3)
"""Order of events of one time."""


@dataclass(slots=True, eq=False)
class _Joined:
    """All that the rows of one time say."""

    values: dict[str, float]
    missing: dict[str, str]
    text: dict[str, str]
    partial: bool = False


@dataclass(slots=True, eq=False)
class FileRows:
    """Collects what the lines of one or more files say, then gives it in order of time."""

    feed: str
    report: Report
    _file: str = field(default="", init=False)
    _wire_name: str = field(default="", init=False)
    _latest: float | None = field(default=None, init=False)
    _pending: list[bytes] = field(default_factory=list, init=False)
    _rows: dict[int, _Joined] = field(default_factory=dict, init=False)
    _others: list[tuple[float | None, int, FeedEvent]] = field(default_factory=list, init=False)

    def open(self, file: str, wire_name: str) -> None:
        """Begin a file; its bytes are kept under `wire_name`."""
        self._file, self._wire_name, self._latest = file, wire_name, None

    def keep(self, data: bytes) -> None:
        """Keep bytes of the file; the next row gives them their time."""
        self._pending.append(data)

    def bad(self, reason: str, item: str, raw: bytes, line: int, at: float | None) -> None:
        """Take note of a line (item "") or a value that cannot be used.

        `at` is the line's own time if it has one. [s since 1970-01-01 UTC]
        """
        shown = raw.decode("utf-8", "replace").strip()
        whole = not item or reason == "bad_time"
        example = shown if whole else f"{item}: {shown}"
        self.report.drop(reason, self._file, line, example, whole=whole)
        when = self._latest if at is None else at
        self._others.append((when, _BAD, BadLine(0.0, self.feed, reason, raw, item)))

    def row(
        self,
        at: float,
        values: dict[str, float],
        missing: dict[str, str],
        text: dict[str, str],
        line: int,
        *,
        partial: bool = False,
    ) -> None:
        """Take one row of time `at` [s since 1970-01-01 UTC]."""
        report = self.report
        report.rows += 1
        for reason in missing.values():
            if reason != "rejected":  # that one is counted as dropped
                report.missing[reason] += 1
        key = round(at * 1e6)
        at = key / 1e6
        latest = self._latest
        if latest is None or at >= latest:
            self._latest = at
        else:
            report.out_of_order += 1
        there = self._rows.get(key)
        if there is None:
            self._rows[key] = _Joined(values, missing, text, partial)
        else:
            self._join(there, _Joined(values, missing, text, partial), line)
        self._flush()

    def close(self) -> None:
        """End a file: bytes after the last row get its time."""
        self._flush()

    def events(self) -> list[FeedEvent]:
        """Return everything in order of time: bytes, bad lines, then the row of each moment.

        The bytes of one file stay in the order of the file: those of a row that was sorted
        back are kept with the row before it in the file.
        """
        if self._rows:
            self.report.first = min(self._rows) / 1e6
            self.report.last = max(self._rows) / 1e6
        earliest = self.report.first or 0.0
        placed: list[tuple[float, int, FeedEvent]] = []
        for at, kind, event in self._others:
            when = earliest if at is None else at
            if isinstance(event, WireBytes):
                event = WireBytes(when, event.feed, event.data)
            elif isinstance(event, BadLine):
                event = BadLine(when, event.feed, event.reason, event.raw, event.item)
            placed.append((when, kind, event))
        for key, row in self._rows.items():
            at = key / 1e6
            frame = Frame(at, self.feed, row.values, row.missing, row.text, partial=row.partial)
            placed.append((at, _FRAME, frame))
        placed.sort(key=lambda p: p[:2])
        return [event for _, _, event in placed]

    def _join(self, there: _Joined, new: _Joined, line: int) -> None:
        said_more = False
        for item, number in new.values.items():
            old = there.values.get(item)
            if old is None:
                said_more = True
                there.missing.pop(item, None)
            elif old != number:
                said_more = True
                self.report.conflicts += 1
                if not self.report.conflict:
                    self.report.conflict = f"{self._file} line {line}: {item} {old!r}, {number!r}"
            there.values[item] = number
        said_more |= _add_missing(there, new.missing)
        said_more |= any(there.text.get(item) != text for item, text in new.text.items())
        there.text.update(new.text)
        there.partial |= new.partial
        if said_more:
            self.report.merged += 1
        else:
            self.report.duplicates += 1

    def _flush(self) -> None:
        if self._pending:
            data = b"".join(self._pending)
            self._others.append((self._latest, _WIRE, WireBytes(0.0, self._wire_name, data)))
            self._pending.clear()


def _add_missing(there: _Joined, missing: Mapping[str, str]) -> bool:
    """Add reasons for items without a value; an empty field says less than any other reason."""
    added = False
    for item, reason in missing.items():
        known = there.missing.get(item)
        if item not in there.values and known != reason and known in (None, "empty"):
            there.missing[item] = reason
            added = True
    return added
