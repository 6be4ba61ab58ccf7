"""The data of a LAS 2.0 file, unwrapped or wrapped, to rows with a time. No I/O.

References
----------
.. [1] Canadian Well Logging Society, LAS Version 2.0: A Digital Standard for Logs, update of
   January 2014. Wrapped: the index stands alone on its line. More is read than the standard
   allows, because files in use do it: exponents, tabs, blank and comment lines among the data.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from adapters.columns import Columns
from adapters.file_rows import FileRows
from adapters.las_header import (
    UNIX_FROM,
    LasHead,
    check_head,
    header_line,
    index_remarks,
    start_of,
)
from adapters.source_time import LATEST, SenderClock, iso_moment
from engine.config import Feed
from engine.errors import InputError
from engine.numbers import parse_number
from engine.units import UNITS, WITS_UNITS


@dataclass(slots=True)
class _Record:
    """The lines of one row."""

    line: int
    """Line it begins on, counted from 1."""
    raw: bytes = b""
    fields: list[str] = field(default_factory=list)
    whole: bool = True


def take_las(path: str, data: bytes, feed: Feed, clock: SenderClock, rows: FileRows) -> None:
    """Read a LAS file into `rows`.

    Raises
    ------
    InputError
        If it is not time-indexed LAS 2.0, or has none of the mapped curves.
    """
    lines = data.splitlines(keepends=True)
    rows.report.lines += len(lines)
    head, start = _head(path, lines, rows)
    check_head(path, head)
    names = head.names
    if feed.map and not any(name in feed.map for name in names):
        raise InputError(
            f"{path}: no curve of the map ({', '.join(feed.map)}); "
            f"the file has: {', '.join(names[1:])}"
        )
    rows.report.notes += _remarks(path, head, feed)
    null = head.number("W", "NULL")
    # LAS numbers have a point, whatever the live line of this feed has.
    plain = feed.model_copy(update={"decimal": "."})
    columns = Columns(names, plain, (names[0],), () if null is None else (null,))
    records = _wrapped if head.wrapped else _unwrapped
    zero: float | None = None
    index: list[float] = []
    for record in records(lines, start, len(names), rows):
        number = parse_number(record.fields[0]) if record.fields else None
        if not record.whole:
            rows.bad("columns", "", record.raw.rstrip(b"\r\n"), record.line, None)
            continue
        if number is not None and zero is None:
            zero = _zero(path, head, feed, clock, number, rows)
        at = None if number is None or zero is None or number == null else zero + number
        if number is None or at is None or not 0 <= at < LATEST:
            raw = record.raw.rstrip(b"\r\n")
            rows.bad("bad_time", names[0], raw, record.line, None)
            continue
        index.append(number)
        row = columns.read(record.fields)
        for item, reason in row.bad:
            rows.bad(reason, item, record.raw.rstrip(b"\r\n"), record.line, at)
        rows.row(at, row.values, row.missing, row.text, record.line)
    rows.report.notes += index_remarks(path, head, index)


def _head(path: str, lines: list[bytes], rows: FileRows) -> tuple[LasHead, int]:
    """Read the sections above the data; return them and the number of their lines."""
    head, section = LasHead(), ""
    for i, raw in enumerate(lines):
        rows.keep(raw)
        text = _decode(raw).strip()
        if text.startswith("~"):
            section = text[1:2].upper()
            if section == "A":
                return head, i + 1
        elif text and not text.startswith("#") and section in ("V", "W", "C", "P"):
            found = header_line(text)
            if found is None:
                rows.report.notes.append(f"{path} line {i + 1}: no dot in {text[:60]!r}; not used")
            else:
                head.sections.setdefault(section, []).append(found)
    raise InputError(f"{path}: no ~A section, so no data; not a LAS file, or cut")


def _zero(
    path: str, head: LasHead, feed: Feed, clock: SenderClock, first: float, rows: FileRows
) -> float:
    """Return the instant of index 0. [s since 1970-01-01 UTC]"""
    if first >= UNIX_FROM:
        return 0.0
    given = iso_moment(feed.time.start) if feed.time else None
    if given is not None:
        return clock.utc(given)
    moment, remark = start_of(path, head)
    if remark:
        rows.report.notes.append(remark)
    return clock.utc(moment)


def _remarks(path: str, head: LasHead, feed: Feed) -> Iterator[str]:
    """What does not stop the reading but should be known."""
    if head.number("W", "NULL") is None:
        yield f"{path}: no NULL line; only the feed's own sentinels mean no value"
    for name, curve in zip(head.names, head.curves, strict=True):
        item = feed.map.get(name)
        code = curve.unit.upper()
        unit = WITS_UNITS.get(code) or next((u for u in UNITS if u.upper() == code), None)
        if item is not None and unit is not None and unit != item.unit:
            yield f"{path}: {name} is in {curve.unit}, the map says {item.unit}; which is right?"
    absent = [repr(name) for name in feed.map if name not in head.names]
    if absent:
        yield f"{path}: no curve {', '.join(absent)}; the file has: {', '.join(head.names[1:])}"


def _fields(raw: bytes) -> list[str]:
    text = _decode(raw)
    return [] if text.lstrip().startswith("#") else text.split()


def _unwrapped(lines: list[bytes], start: int, width: int, rows: FileRows) -> Iterator[_Record]:
    for i in range(start, len(lines)):
        raw = lines[i]
        rows.keep(raw)
        if fields := _fields(raw):
            yield _Record(i + 1, raw, fields, len(fields) == width)


def _wrapped(lines: list[bytes], start: int, width: int, rows: FileRows) -> Iterator[_Record]:
    """Put rows together from their lines.

    A row is sure only when the next one begins as it must, with the index alone on its line:
    a value lost from a row would pull the next index into it, and the row after that would
    begin with several fields. Both are then no rows, and the next lone field begins anew.
    """
    ready: _Record | None = None
    open_: _Record | None = None
    for i in range(start, len(lines)):
        raw = lines[i]
        fields = _fields(raw)
        if not fields:
            rows.keep(raw)
            continue
        if open_ is None:
            alone = len(fields) == 1 or width == 1
            if ready is not None:
                ready.whole &= alone
                yield ready
                ready = None
            open_ = _Record(i + 1, whole=alone)
        elif not open_.whole and len(fields) == 1:
            yield open_
            open_ = _Record(i + 1)
        rows.keep(raw)
        open_.raw += raw
        open_.fields += fields
        if open_.whole and len(open_.fields) >= width:
            open_.whole = len(open_.fields) == width
            ready, open_ = open_, None
    for last in (ready, open_):
        if last is not None:
            last.whole &= len(last.fields) == width
            yield last


def _decode(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")
