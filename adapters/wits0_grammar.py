"""What a line of WITS level 0 may look like, and the rule for each item.

References
----------
.. [1] API PUBL 3855, Conventions and Implementation Guidelines for EDI, WITS, version 1.1, 1991:
   a code is two digits of record and two of item. The rest is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from math import inf

from engine.config import Feed, Item
from engine.errors import InputError
from engine.wits_items import ITEMS, ItemKind, standard_map

CODE = re.compile(rb"(?!00)[0-9]{2}(?!00)[0-9]{2}")
"""Record and item, neither of them 00."""
CONTROL = re.compile(rb"[\x00-\x1f\x7f]")
PLACEHOLDER = re.compile(rb"-+|\*+|\?+")
NUMBER = {
    ".": re.compile(rb"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"),
    ",": re.compile(rb"[+-]?(?:[0-9]+,?[0-9]*|,[0-9]+)"),
}
"""By decimal sign. ``float`` also takes ``1_0``, ``nan`` and ``inf``: no measurement is that."""
PLAIN = {
    ".": re.compile(rb"([0-9]{4})([+-]?[0-9]{1,15}\.?[0-9]{0,15})"),
    ",": re.compile(rb"([0-9]{4})([+-]?[0-9]{1,15},?[0-9]{0,15})"),
}
"""An ordinary line, by decimal sign: its shape needs no further test."""
_DIGITS = re.compile("[0-9]{1,6}")


@dataclass(frozen=True, slots=True)
class Rule:
    """How one item is read; limits and missing values are in the unit as sent."""

    kind: ItemKind
    low: float = -inf
    high: float = inf
    missing: frozenset[float] = frozenset()
    """Numbers that mean "no value"."""


def split_marks(line: bytes) -> tuple[bytes, bytes, bytes]:
    """Return the marks before, the rest, and the marks after, one sign for each mark."""
    before = after = b""
    while line[:2] in (b"&&", b"!!"):
        before += line[:1]
        line = line.lstrip(line[:1]).lstrip(b" ")
    while line[-2:] in (b"&&", b"!!"):
        after = line[-1:] + after
        line = line.rstrip(line[-1:]).rstrip(b" ")
    return before, line, after


def read_date(digits: str) -> date | None:
    """Read YYMMDD; None if there is no such day."""
    if not _DIGITS.fullmatch(digits) or len(digits) < 6:
        return None
    year = int(digits[:2])
    try:
        return date(year + (1900 if year >= 69 else 2000), int(digits[2:4]), int(digits[4:]))
    except ValueError:
        return None


def read_time(digits: str) -> str | None:
    """Pad one to six digits to HHMMSS; None if no clock shows that."""
    if not _DIGITS.fullmatch(digits):
        return None
    text = digits.zfill(6)
    return text if text[:2] < "24" and text[2:4] < "60" and text[4:] < "60" else None


def rules_of(feed: Feed, text_items: Collection[str] = ()) -> dict[str, Rule]:
    """Return item code to `Rule` for one feed.

    Parameters
    ----------
    feed : Feed
        Its sentinels hold for all items, its map for single ones. A mapped item keeps the
        standard limits that it does not set itself, unless its unit or scale is its own.
    text_items : collection of str
        Items to be read as text, besides those that the standard has as text.

    Returns
    -------
    dict of str to Rule

    Raises
    ------
    InputError
        If a code of the map, of `ignore` or of `text_items` is no item code; all are named.
    """
    if problems := list(_problems(feed, text_items)):
        raise InputError(f"feed {feed.name}: " + "; ".join(problems))
    void = frozenset(feed.sentinels)
    rules = {code: Rule(item.kind, item.low, item.high, void) for code, item in ITEMS.items()}
    standard = standard_map("metric"), standard_map("fps")
    for code, own in feed.map.items():
        usual = any(_same_size(own, items.get(code)) for items in standard)
        low, high = (rules[code].low, rules[code].high) if usual else (-inf, inf)
        rules[code] = Rule(
            ItemKind.NUMBER,
            low if own.low is None else own.low,
            high if own.high is None else own.high,
            void | frozenset(own.missing),
        )
    return rules | {code: Rule(ItemKind.TEXT) for code in text_items}


def _same_size(own: Item, standard: Item | None) -> bool:
    return (
        standard is not None
        and (own.channel, own.unit) == (standard.channel, standard.unit)
        and (own.scale, own.offset) == (1.0, 0.0)
    )


def _problems(feed: Feed, text_items: Collection[str]) -> Iterator[str]:
    for key, codes in (("map", feed.map), ("text items", text_items), ("ignore", feed.ignore)):
        for code in codes:
            if CODE.fullmatch(code.encode("utf-8")) is None:
                good = "write record and item, two digits each, such as 0114"
                yield f"{key}: {code!r} is no WITS item; {good}"
