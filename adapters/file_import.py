"""Whole files as events at the files' own times: delimited, LAS 2.0, WITS level 0."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from adapters.ascii_line import DelimitedDecoder
from adapters.file_report import Report
from adapters.file_rows import FileRows
from adapters.las_rows import take_las
from adapters.source_time import SenderClock, find_zone
from adapters.wits_file import take_wits
from engine.config import Feed
from engine.errors import InputError
from engine.events import FeedEvent

_NOTES = {
    "header_again": "lines that repeat the column names",
    "flow": "XON and XOFF bytes, passed over",
}


@dataclass(frozen=True, slots=True)
class FileEvents:
    """What files hold, in order of time."""

    events: Sequence[FeedEvent]
    """Bytes, bad lines and frames; frames have times that differ."""
    report: Report


def read_file(path: str, feed: Feed) -> FileEvents:
    """Read one file; see `read_files`."""
    return read_files([path], feed)


def read_files(paths: Sequence[str], feed: Feed) -> FileEvents:
    """Read files of the format that `feed` describes and put their rows in order of time.

    Rows of one time are joined item by item, within a file and between files. Two values of
    one item and time: the later line (the later file) counts, and the conflict is counted.
    Nothing is dropped without being counted with its reason and first line.

    Parameters
    ----------
    paths : sequence of str
    feed : Feed
        Its ``format``, columns, map and zone; the port settings do not matter.

    Returns
    -------
    FileEvents
        ``at`` is the files' own time. [s since 1970-01-01 UTC] The bytes of one file are, put
        together, the file; with several files the feed of the bytes is ``NAME:FILE``.

    Raises
    ------
    InputError
        If a file cannot be read, or holds nothing that `feed` describes; says what it holds.
    """
    report = Report(files=tuple(paths))
    rows = FileRows(feed.name, report)
    with _no_collection():
        for path in paths:
            _take(path, feed, rows, several=len(paths) > 1)
        return FileEvents(rows.events(), report)


def _take(path: str, feed: Feed, rows: FileRows, *, several: bool) -> None:
    data = _bytes(path)
    name = Path(path).name
    rows.open(name, f"{feed.name}:{name}" if several else feed.name)
    clock = SenderClock(find_zone(feed.time_zone))
    if feed.format == "las":
        take_las(path, data, feed, clock, rows)
    elif feed.format == "wits0":
        take_wits(path, data, feed, clock, rows)
    else:
        _take_delimited(path, data, feed, clock, rows)
    rows.close()
    rows.report.ambiguous += clock.ambiguous
    rows.report.nonexistent += clock.nonexistent


@contextmanager
def _no_collection() -> Iterator[None]:
    """Hold the cyclic collector: it would walk a million rows again and again for no cycle."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _bytes(path: str) -> bytes:
    try:
        data = Path(path).read_bytes()
    except FileNotFoundError:
        raise InputError(f"{path}: no such file") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from None
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(f"{path}: is UTF-16 text; save it as UTF-8")
    return data


def _take_delimited(path: str, data: bytes, feed: Feed, clock: SenderClock, rows: FileRows) -> None:
    if feed.time is None:
        raise InputError(
            f"feed {feed.name}: a file needs its time column; "
            "add: time = { columns = ['NAME'], layout = 'iso8601' }"
        )
    if feed.time.layout == "seconds" and not feed.time.start:
        raise InputError(
            f"feed {feed.name}: time counts in seconds, from when? "
            "add to time: start = '2026-03-14T06:00:00Z'"
        )
    decoder = DelimitedDecoder(feed, whole=True)
    lines = data.splitlines(keepends=True)
    rows.report.lines += len(lines)
    for number, kept in enumerate(lines, 1):
        rows.keep(kept)
        raw = kept.rstrip(b"\r\n")
        line = decoder.parse(raw)
        at = None if line.moment is None else clock.utc(line.moment)
        for item, reason in line.bad:
            if reason != "no_column":
                rows.bad(reason, item, raw, number, at)
        if line.row is not None and at is not None:
            row = line.row
            rows.row(at, row.values, row.missing, row.text, number)
        elif decoder.timeless:
            raise InputError(_no_column(path, "time", decoder.timeless, decoder.names))
    if not decoder.names and any(line.strip() for line in lines):
        first = next(line for line in lines if line.strip()).decode("utf-8", "replace").strip()
        raise InputError(
            f"{path}: no line holds a column name of the map ({', '.join(feed.map)}); "
            f"the first line is {first[:120]!r}"
        )
    if decoder.absent:
        rows.report.notes.append(_no_column(path, "map", decoder.absent, decoder.names))
    for kind, count in decoder.notes.items():
        rows.report.notes.append(f"{path}: {_NOTES[kind]}: {count}")
    if lines and not lines[-1].endswith((b"\r", b"\n")):
        rows.report.notes.append(
            f"{path}: the last line (line {len(lines)}) has no line end; it was used, "
            "look whether it is whole"
        )


def _no_column(path: str, what: str, absent: Sequence[str], names: Sequence[str]) -> str:
    said = []
    for name in absent:
        near = get_close_matches(name, names, n=1)
        said.append(f"{name!r}" + (f" (did you mean {near[0]!r}?)" if near else ""))
    return f"{path}: no column {', '.join(said)} of the {what}; the file has: {', '.join(names)}"
