"""The head of a LAS 2.0 file: what the columns are and when second 0 was. No I/O.

References
----------
.. [1] Canadian Well Logging Society, LAS Version 2.0: A Digital Standard for Logs, update of
   January 2014: sections, the three delimiters of a header line (first dot, first space after
   it, last colon), WRAP, NULL, the units of the index.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from adapters.columns import unique
from adapters.source_time import Moment, iso_moment
from engine.errors import InputError
from engine.numbers import parse_number

UNIX_FROM = 1e9
"""An index from here on is unix seconds (September 2001), not a time since the start. [s]"""

_INSTANT = re.compile(
    r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?(?:Z|[+-]\d\d:?\d\d)?(?!\d)"
)
_DATE = re.compile(r"(\d{4})[ /.-](\d{1,2})[ /.-](\d{1,2})(?!\d)")
_SECONDS = ("S", "SEC")


@dataclass(frozen=True, slots=True)
class HeaderLine:
    """``MNEM.UNIT value : description``."""

    name: str
    unit: str
    value: str
    text: str
    """All that follows the unit, for a value that holds colons itself."""


@dataclass(slots=True)
class LasHead:
    """What the sections above the data say."""

    sections: dict[str, list[HeaderLine]] = field(default_factory=dict)
    """By letter: V, W, C, P."""

    @property
    def curves(self) -> list[HeaderLine]:
        """The columns, the index first."""
        return self.sections.get("C", [])

    @property
    def names(self) -> list[str]:
        """Column names, each different."""
        return unique(curve.name for curve in self.curves)

    def value(self, section: str, name: str) -> str | None:
        """Return the value of the first line called `name`, or None."""
        for line in self.sections.get(section, ()):
            if line.name.upper() == name:
                # Without a blank after the dot the value stands where the unit should.
                return line.value or line.unit
        return None

    def number(self, section: str, name: str) -> float | None:
        """Return the same as a number; None if it is none."""
        return parse_number(self.value(section, name) or "")

    @property
    def wrapped(self) -> bool:
        """One row stands on several lines."""
        return (self.value("V", "WRAP") or "").upper() == "YES"


def header_line(text: str) -> HeaderLine | None:
    """Read one line of V, W, C or P; None if it has no dot, or no name before it."""
    name, dot, rest = text.partition(".")
    if not dot or not name.strip():
        return None
    found = re.match(r"([^\s:]*)(.*)", rest, re.DOTALL)
    unit, rest = found.groups() if found else ("", rest)
    value, colon, _ = rest.rpartition(":")
    return HeaderLine(name.strip(), unit, (value if colon else rest).strip(), rest.strip())


def check_head(path: str, head: LasHead) -> None:
    """Refuse what cannot be read as time-indexed LAS 2.0, with what would be right.

    Raises
    ------
    InputError
    """
    version = head.value("V", "VERS")
    if version is None:
        raise InputError(f"{path}: no VERS line in a ~V section; not a LAS file?")
    if head.number("V", "VERS") != 2.0:
        raise InputError(f"{path}: LAS version {version!r}; only 2.0 can be read")
    wrap = (head.value("V", "WRAP") or "").upper()
    if wrap not in ("YES", "NO"):
        raise InputError(f"{path}: WRAP is {wrap!r}; must be YES or NO")
    if not head.curves:
        raise InputError(f"{path}: no curves in a ~C section; the columns have no names")
    index = head.curves[0]
    if index.name.upper() in ("DEPT", "DEPTH"):
        raise InputError(
            f"{path}: the index is {index.name} (depth); only a time index can be replayed: "
            "TIME or ETIM in S, as seconds from the start or unix seconds"
        )
    if index.unit.upper() not in _SECONDS:
        raise InputError(
            f"{path}: the index {index.name} is in {index.unit or 'no unit'!r}; "
            "a time index must be in S or SEC"
        )


def start_of(path: str, head: LasHead) -> tuple[Moment, str]:
    """Return when second 0 was, and a remark if that is no more than the day.

    An ISO 8601 time in ~P counts, else DATE in ~W (yyyy mm dd) as the start of that day.

    Raises
    ------
    InputError
        If neither is there, or several times are and none is called T0 or START.
    """
    found = {
        line.name.upper(): moment
        for line in head.sections.get("P", ())
        if (instant := _INSTANT.search(line.text))
        and (moment := iso_moment(instant.group())) is not None
    }
    for name in ("T0", "START", "STRT", "STIM"):
        if name in found:
            return found[name], ""
    if len(found) == 1:
        return next(iter(found.values())), ""
    if found:
        raise InputError(
            f"{path}: several times in ~P ({', '.join(found)}); call the one of index 0 T0"
        )
    date = head.value("W", "DATE") or ""
    day = _DATE.search(date)
    if day is None:
        said = f"; DATE is {date!r}, not yyyy mm dd" if date else ""
        raise InputError(
            f"{path}: the index counts seconds, but not from when{said}; "
            "add to ~P: T0 . 2026-03-14T06:00:00Z : time of index 0"
        )
    try:
        start = datetime(*(int(part) for part in day.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:
        raise InputError(f"{path}: DATE {date!r} is no day; write it as yyyy mm dd") from None
    return start, f"{path}: index 0 was taken as the start of DATE, {date}; ~P holds no time"


def index_remarks(path: str, head: LasHead, index: Sequence[float]) -> list[str]:
    """Compare the rows with STRT and STOP, which must be the first and last index exactly."""
    remarks = []
    for name, found in (("STRT", index[0]), ("STOP", index[-1])) if index else ():
        said = head.number("W", name)
        if said is not None and said != found:
            which = "first" if name == "STRT" else "last"
            remarks.append(
                f"{path}: {name} is {said:.15g}, but the {which} row is {found:.15g}; cut?"
            )
    return remarks
