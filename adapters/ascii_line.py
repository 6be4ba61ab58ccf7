"""Delimited text lines to events: one line, one frame. No I/O."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from adapters.columns import Columns, Row, split_quoted, unique
from adapters.source_time import Moment, SenderClock, find_zone, moment_reader
from engine.config import Feed
from engine.events import BadLine, FeedEvent, Frame
from engine.numbers import parse_number

MAX_LINE = 65536
"""Longest line that is kept; beyond it there is no line end, or no text. [byte]"""

_LINE_END = re.compile(rb"[\r\n]+")
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
_FLOW = b"\x11\x13"


@dataclass(slots=True, eq=False)
class Line:
    """What one line turned out to be; a blank, a comment or a header has neither part."""

    row: Row | None = None
    moment: Moment | None = None
    """When the sender says it was; None if it does not say."""
    bad: list[tuple[str, str]] = field(default_factory=list)
    """Item ("" for the whole line) and reason."""


class DelimitedDecoder:
    """Turns a delimited text stream into frames.

    Parameters
    ----------
    config : Feed
        Delimiter, quote, header, comment, decimal sign, sentinels, time columns, map.
    whole : bool
        The first byte begins a line (a file). On a live line that is not known: the first
        line after opening may have lost its beginning, which no test can tell, so it is
        rejected as ``first_line`` unless it is the header.

    Notes
    -----
    Reasons of a `BadLine`: ``bad_number``, ``implausible``, ``bad_time``, ``no_column`` (one
    column; the rest of the line is used), and for whole lines ``columns`` (too few or too many),
    ``no_header`` (before the first header), ``header_changed``, ``no_numbers`` (below a header:
    units), ``first_line``, ``truncated_line``, ``overlong_line``, ``bad_quote``, ``dirty``.
    """

    def __init__(self, config: Feed, *, whole: bool = False) -> None:
        self._config = config
        self._whole = whole
        self._joined = whole
        self._buffer = b""
        self._notes: dict[str, int] = {}
        self._columns: Columns | None = None
        self._header = ""
        self._below_header = False
        self._other_width = 0
        time = config.time
        self._clock = SenderClock(find_zone(config.time_zone))
        self._moment = moment_reader(time, self._clock, config.decimal) if time else None
        self._time_names = time.columns if time else ()
        self._time_at: tuple[int, ...] | None = None
        self._wanted = {n for n in config.map if parse_number(n) is None}
        by_number = [int(n) for n in (*config.map, *self._time_names) if n.isdecimal()]
        self._least = max(by_number, default=1)

    @property
    def names(self) -> tuple[str, ...]:
        """Column names, empty until they are known."""
        return self._columns.names if self._columns else ()

    @property
    def notes(self) -> dict[str, int]:
        """Oddities since the last frame that `feed` made: flow, header_again."""
        return dict(self._notes)

    @property
    def absent(self) -> tuple[str, ...]:
        """Mapped columns that the line does not have."""
        return self._columns.absent if self._columns else ()

    @property
    def timeless(self) -> tuple[str, ...]:
        """Time columns that the line does not have, once its names are known."""
        return tuple(n for n in self._time_names if self._columns and n not in self.names)

    def feed(self, data: bytes, at: float) -> list[FeedEvent]:
        """Take the bytes read at time `at` [s]; return the events they complete."""
        events: list[FeedEvent] = []
        *lines, rest = _LINE_END.split(self._buffer + data)
        # One byte too many is enough to know; the same for every way of cutting.
        self._buffer = rest[: MAX_LINE + 1]
        for raw in lines:
            if raw:
                events += self._events(raw, self.parse(raw), at)
        return events

    def idle(self, at: float) -> list[FeedEvent]:
        """Nothing came for the idle time: half a line is no line, and its rest is none either."""
        raw, self._buffer = self._buffer, b""
        if not raw.strip():
            return []
        self._joined = False
        return [BadLine(at, self._config.name, "truncated_line", raw[:MAX_LINE])]

    def reset(self) -> None:
        """Forget half a line (the line was reopened); the column names stay."""
        self._buffer = b""
        self._joined = self._whole

    def parse(self, raw: bytes) -> Line:
        """Read one line without its line end."""
        if len(raw) > MAX_LINE:
            self._joined = True
            return _rejected("overlong_line")
        if raw.translate(None, _FLOW) != raw:
            self._note("flow", sum(raw.count(byte) for byte in _FLOW))
            raw = raw.translate(None, _FLOW)
        text = _decode(raw.strip(b"\0"))
        if not text.strip():
            return Line()
        comment = self._config.comment
        if comment and text.lstrip().startswith(comment):
            self._joined = True
            return Line()
        if _CONTROL.search(text):
            joined, self._joined = self._joined, True
            return _rejected("dirty" if joined else "first_line")
        fields = self._split(text)
        if fields is None:
            return _rejected("bad_quote")
        return self._line(text, fields)

    def _line(self, text: str, fields: list[str]) -> Line:
        joined, self._joined = self._joined, True
        if self._config.header != "none":
            if text == self._header:
                self._note("header_again", 1)
                return Line()
            if self._is_header(fields):
                return self._take_header(text, fields)
        if not joined:
            return _rejected("first_line")
        columns = self._columns
        if self._config.header == "none":
            columns = self._by_number(len(fields))
        if columns is None:
            return _rejected("columns" if self._config.header == "none" else "no_header")
        if len(fields) != len(columns.names):
            return _rejected("columns")
        return self._row(columns, fields)

    def _row(self, columns: Columns, fields: list[str]) -> Line:
        row = columns.read(fields)
        below, self._below_header = self._below_header, False
        if below and not row.values and {why for _, why in row.bad} == {"bad_number"}:
            return _rejected("no_numbers")
        line = Line(row, bad=row.bad)
        if self._moment is None or self._time_at is None:
            return line  # no time column asked for, or none there: said with the header
        stamp = " ".join(fields[i] for i in self._time_at)
        line.moment = self._moment(stamp)
        if line.moment is None:
            line.bad.append((" ".join(self._time_names), "bad_time"))
        return line

    def _is_header(self, fields: list[str]) -> bool:
        if self._config.map:
            return not self._wanted.isdisjoint(fields)
        return self._columns is None

    def _take_header(self, text: str, fields: list[str]) -> Line:
        changed = self._columns is not None
        columns = self._use(unique(fields))
        self._header, self._below_header = text, True
        line = Line(bad=[(name, "no_column") for name in columns.absent])
        if self._time_at is None and self._time_names:
            line.bad.append((" ".join(self._time_names), "no_column"))
        if changed:
            line.bad.append(("", "header_changed"))
        return line

    def _by_number(self, width: int) -> Columns | None:
        """Name columns 1, 2, ...; two lines running of another width are the new width."""
        known = self._columns
        if known is not None and (width == len(known.names) or width != self._other_width):
            self._other_width = width
            return known
        self._other_width = width
        if width < self._least:
            return known
        return self._use([str(i) for i in range(1, width + 1)])

    def _use(self, names: list[str]) -> Columns:
        there = all(name in names for name in self._time_names)
        self._time_at = tuple(names.index(n) for n in self._time_names) if there else None
        self._columns = Columns(names, self._config, self._time_names)
        return self._columns

    def _split(self, text: str) -> list[str] | None:
        """Return the stripped fields, or None if a quote is not closed."""
        quote, delimiter = self._config.quote, self._config.delimiter
        if delimiter == "tab":
            delimiter = "\t"
        if quote and quote in text:
            return split_quoted(text, delimiter, quote)
        if delimiter == "whitespace":
            return text.split()
        return [f.strip() for f in text.split(delimiter)]

    def _note(self, kind: str, count: int) -> None:
        self._notes[kind] = self._notes.get(kind, 0) + count

    def _events(self, raw: bytes, line: Line, at: float) -> list[FeedEvent]:
        name = self._config.name
        raw = raw[:MAX_LINE]
        events: list[FeedEvent] = [BadLine(at, name, why, raw, item) for item, why in line.bad]
        if line.row is not None:
            row, said = line.row, line.moment
            missing = row.missing | dict.fromkeys(self.absent, "no_column")
            source_time = "" if said is None else self._clock.local(said)
            notes, self._notes = self._notes, {}
            events.append(Frame(at, name, row.values, missing, row.text, source_time, notes=notes))
        return events


def _rejected(reason: str) -> Line:
    return Line(bad=[("", reason)])


def _decode(raw: bytes) -> str:
    """UTF-8, else Latin-1; a byte order mark is no text."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")
