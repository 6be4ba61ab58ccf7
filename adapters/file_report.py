"""What reading files came to: what was used, merged, moved, dropped, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime

WORDS = {
    "bad_number": "not a number",
    "implausible": "outside the limits of the well file",
    "bad_time": "no time that can be read",
    "no_time": "no time, and no line with one before it",
    "columns": "too few or too many fields",
    "no_header": "before the line with the column names",
    "no_numbers": "a line without numbers below the column names (units)",
    "header_changed": "other column names from here on",
    "bad_quote": "a quote that is not closed",
    "dirty": "control characters",
    "overlong_line": "no line end for too long",
    "outside_packet": "outside a packet",
    "bad_code": "no item code",
    "glued": "a mark and an item on one line",
    "truncated_line": "the line is not finished",
    "parity_suspect": "top bits set: other parity?",
}
"""Reasons in a person's words; one that is not here is printed as it is."""


@dataclass(slots=True)
class Dropped:
    """One reason for dropping, how often, and the first time."""

    count: int
    line: int
    """Line of the file, counted from 1."""
    example: str
    file: str
    whole: bool
    """Whole lines; otherwise single values, the rest of the line being used."""


@dataclass(slots=True)
class Report:
    """Counts of one import; all are lines unless said otherwise."""

    files: tuple[str, ...] = ()
    lines: int = 0
    """Lines of the files, blank and header lines too."""
    rows: int = 0
    """Lines (with WITS: packets) that gave values and have a time."""
    merged: int = 0
    """Rows joined to another row of the same time."""
    duplicates: int = 0
    """Rows that said only what another row of the same time had said."""
    conflicts: int = 0
    """Values that differ from an earlier one of the same item and time; the later counts."""
    out_of_order: int = 0
    """Rows with a time before that of an earlier row; they were sorted into place."""
    ambiguous: int = 0
    """Times of the hour that comes twice when the clocks go back."""
    nonexistent: int = 0
    """Times of the hour that the clocks leave out."""
    first: float | None = None
    """[s since 1970-01-01 UTC]"""
    last: float | None = None
    missing: Counter[str] = field(default_factory=Counter)
    """Values the sender said it does not have, by reason."""
    dropped: dict[str, Dropped] = field(default_factory=dict)
    """By reason."""
    notes: list[str] = field(default_factory=list)
    """What else a person should know."""
    conflict: str = ""
    """The first conflict, in words."""

    def drop(self, reason: str, file: str, line: int, example: str, *, whole: bool) -> None:
        """Count something that is not used; keep the first one as example."""
        found = self.dropped.get(reason)
        if found is None:
            self.dropped[reason] = Dropped(1, line, example[:120], file, whole)
        else:
            found.count += 1

    def text(self) -> str:
        """Return all of it for a person, one thing a line."""
        return "\n".join(self._lines())

    def _lines(self) -> Iterator[str]:
        span = ""
        if self.first is not None and self.last is not None:
            span = f", {_utc(self.first)} to {_utc(self.last)}"
        yield f"{', '.join(self.files)}: {self.lines} lines, {self.rows} rows with values{span}"
        for count, text in (
            (self.merged, "joined to another row of the same time"),
            (self.duplicates, "said again what a row of the same time had said"),
            (self.out_of_order, "went back in time; sorted into place"),
            (self.ambiguous, "in the hour that comes twice (clocks going back)"),
            (self.nonexistent, "in the hour the clocks leave out; is time_zone right?"),
        ):
            if count:
                yield f"  rows {text}: {count}"
        if self.conflicts:
            yield (
                f"  values that differ at one time, the later line counts: {self.conflicts}; "
                f"first: {self.conflict}"
            )
        for reason, count in sorted(self.missing.items()):
            yield f"  no value, as sent ({reason}): {count}"
        for reason, dropped in self.dropped.items():
            what = "lines" if dropped.whole else "values"
            yield (
                f"  {what} dropped, {WORDS.get(reason, reason)}: {dropped.count}; "
                f"first: {dropped.file} line {dropped.line}: {dropped.example!r}"
            )
        yield from (f"  {note}" for note in self.notes)


def _utc(at: float) -> str:
    text = datetime.fromtimestamp(at, UTC).isoformat(timespec="milliseconds")
    return text.replace(".000+00:00", "Z").replace("+00:00", "Z")
