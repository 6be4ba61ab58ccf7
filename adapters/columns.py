"""One line's fields to named numbers: shared by delimited lines and LAS rows. No I/O."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

from engine.config import Feed
from engine.numbers import number_reader

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


@dataclass(slots=True, eq=False)
class Row:
    """What one line says, before any unit."""

    values: dict[str, float] = field(default_factory=dict)
    missing: dict[str, str] = field(default_factory=dict)
    text: dict[str, str] = field(default_factory=dict)
    bad: list[tuple[str, str]] = field(default_factory=list)
    """Item and reason (bad_number, implausible) of what could not be used."""


def unique(names: Iterable[str]) -> list[str]:
    """Give every column a name of its own.

    A column without a name gets its number, counted from 1; the second column of one name
    becomes ``name:2``.
    """
    out: list[str] = []
    for number, name in enumerate(names, 1):
        name = name or str(number)
        same, wanted = 1, name
        while name in out:
            same += 1
            name = f"{wanted}:{same}"
        out.append(name)
    return out


def split_quoted(text: str, delimiter: str, quote: str) -> list[str] | None:
    """Split one line in which a field may stand in quotes; None if it cannot be split.

    A quote begins a quoted field only at the field's beginning, is doubled inside it, and
    after its end come blanks and the delimiter. `delimiter` may be ``whitespace``.
    """
    q = re.escape(quote)
    blank = "[ ]*" if delimiter == "\t" else r"[ \t]*"
    if delimiter == "whitespace":
        text, end, plain = text.strip() + " ", r"[ \t]+", r"[^ \t]*"
    else:
        end = re.escape(delimiter)
        text, plain = text + delimiter, f"[^{end}]*"
    one = re.compile(f"{blank}(?:{q}((?:[^{q}]|{q}{q})*){q}{blank}|((?!{q}){plain})){end}")
    fields, pos = [], 0
    while pos < len(text):
        found = one.match(text, pos)
        if found is None:
            return None
        quoted, bare = found.groups()
        fields.append((bare if quoted is None else quoted.replace(quote * 2, quote)).strip())
        pos = found.end()
    return fields


class Columns:
    """How the fields of a line with these column names are read.

    Parameters
    ----------
    names : sequence of str
        One for each field, all different.
    feed : Feed
        Its map says which columns hold numbers (an empty map: all), with limits and sentinels.
    apart : collection of str
        Columns that are neither (the time).
    void : collection of float
        Further numbers that mean "no value".
    """

    def __init__(
        self,
        names: Sequence[str],
        feed: Feed,
        apart: Collection[str] = (),
        void: Collection[float] = (),
    ) -> None:
        self.names = tuple(names)
        self.absent = tuple(name for name in feed.map if name not in names)
        """Mapped columns that the line does not have."""
        self._read = number_reader(feed.decimal, (*feed.sentinels, *void), feed.missing_words)
        self._keep_empty = feed.blank == "missing"
        self._numbers: list[tuple[int, str, float, float, frozenset[float]]] = []
        self._texts: list[tuple[int, str]] = []
        for i, name in enumerate(names):
            if name in apart:
                continue
            item = feed.map.get(name)
            if item is not None:
                low = float("-inf") if item.low is None else item.low
                high = float("inf") if item.high is None else item.high
                self._numbers.append((i, name, low, high, frozenset(item.missing)))
            elif feed.map:
                self._texts.append((i, name))
            else:
                self._numbers.append((i, name, float("-inf"), float("inf"), frozenset()))

    def read(self, fields: Sequence[str]) -> Row:
        """Read the fields of one line, as many as there are names, no blanks around them."""
        row = Row()
        values, read = row.values, self._read
        for i, name, low, high, void in self._numbers:
            found = read(fields[i])
            if type(found) is float:
                if found in void:
                    row.missing[name] = "sentinel"
                elif low <= found <= high:
                    values[name] = found
                else:
                    row.missing[name] = "rejected"
                    row.bad.append((name, "implausible"))
            elif found == "bad_number":
                row.missing[name] = "rejected"
                row.bad.append((name, found))
            elif found != "empty" or self._keep_empty:
                row.missing[name] = str(found)
        for i, name in self._texts:
            if fields[i]:
                row.text[name] = _CONTROL.sub("", fields[i])
        return row
