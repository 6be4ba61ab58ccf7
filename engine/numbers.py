r"""Numbers as a sender may write them: one strict grammar, and the words for "no value".

``[+-] digits [sign digits] [e[+-]d{1,3}]``, the decimal sign at either end allowed, at least one
digit, ASCII only. Python's ``float`` also takes ``1_0``, ``nan``, ``inf``, blanks and digits of
other scripts: none of these is a measurement, so the text is tested before it is converted.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from math import isfinite

MISSING_WORDS = ("nan", "null", "none", "n/a", "na", "nil")
"""Words that mean "no value" in any case. Common practice, no source."""

_POINT = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?\Z")
_COMMA = re.compile(r"[+-]?(?:[0-9]+,?[0-9]*|,[0-9]+)(?:[eE][+-]?[0-9]{1,3})?\Z")
_PLACEHOLDER = re.compile(r"(?:-+|\*+|\?+)\Z")


def parse_number(text: str, decimal: str = ".") -> float | None:
    """Read `text` as one number; None if it is not exactly that.

    Parameters
    ----------
    text : str
        Without blanks around it.
    decimal : str
        The decimal sign, ``.`` or ``,``; the other one makes the text no number.

    Returns
    -------
    float or None
        Finite; None for any other text, and for a number too large to be held.
    """
    if decimal == ",":
        if _COMMA.match(text) is None:
            return None
        text = text.replace(",", ".")
    elif _POINT.match(text) is None:
        return None
    number = float(text)
    return number if isfinite(number) else None


def missing_reason(text: str, words: frozenset[str] = frozenset(MISSING_WORDS)) -> str:
    """Why `text` (no blanks around it) is no value; empty if it might be one.

    Parameters
    ----------
    text : str
        One field.
    words : frozenset of str
        Further words for "no value", in lower case.

    Returns
    -------
    str
        ``empty``, ``placeholder`` (rows of dashes, stars, question marks; a word), or ``""``.
    """
    if not text:
        return "empty"
    if _PLACEHOLDER.match(text) or text.casefold() in words:
        return "placeholder"
    return ""


Reading = float | str
"""A number, or in one word why there is none: empty, placeholder, sentinel, bad_number."""


def number_reader(
    decimal: str, sentinels: Iterable[float], words: Iterable[str] = MISSING_WORDS
) -> Callable[[str], Reading]:
    """Return the function that reads one field (no blanks around it) of a feed.

    It gives the number, or ``empty``, ``placeholder``, ``sentinel`` (equal to one of
    `sentinels` as a number, so ``-9999.00`` counts) or ``bad_number``.
    """
    none = frozenset(word.casefold() for word in words)
    void = frozenset(sentinels)
    comma = decimal == ","
    grammar = (_COMMA if comma else _POINT).match

    def read(text: str) -> Reading:
        # `parse_number` unrolled: this runs for every field of every line.
        if grammar(text) is None:
            return missing_reason(text, none) or "bad_number"
        number = float(text.replace(",", ".") if comma else text)
        if number in void:
            return "sentinel"
        return number if isfinite(number) else "bad_number"

    return read
