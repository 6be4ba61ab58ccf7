"""Numbers as typed behind an option; each refuses in words what it cannot take."""

from __future__ import annotations

import argparse
from math import inf

OF_TOUR_OR_WELL = (
    ("alarms", "the alarms of a well file, or how good a tour's were",
     "measure its alarms against their targets", "list its alarms with their reasons"),
    ("detectors", "what each detector calls, by which rule and settings; a tour's blind minutes",
     "add what they could not see in it, and what they called", "list those of a well file"),
)  # fmt: skip
"""Commands about a recording or a well file: name, text, help of the one and of the other."""


def seed(text: str) -> int:
    """Return a whole number, 0 or more."""
    if not text.strip().isdecimal():
        raise argparse.ArgumentTypeError(f"must be a whole number, 0 or more, got {text!r}")
    return int(text)


def seeds(text: str) -> range:
    """Return the seeds from the first to the last, ``10000-10027``; one alone is itself."""
    first, dash, last = text.partition("-")
    if not first.strip().isdecimal() or (dash and not last.strip().isdecimal()):
        raise argparse.ArgumentTypeError(f"must be seeds such as 1-20, got {text!r}")
    low, high = int(first), int(last) if dash else int(first)
    if high < low:
        raise argparse.ArgumentTypeError(f"the first seed must not be above the last, got {text!r}")
    return range(low, high + 1)


def above_zero(text: str) -> float:
    """Return a finite number above 0."""
    value = _number(text)
    if not 0 < value < inf:
        raise argparse.ArgumentTypeError(f"must be a number above 0, got {text!r}")
    return value


def not_negative(text: str) -> float:
    """Return a finite number, 0 or more."""
    value = _number(text)
    if not 0 <= value < inf:
        raise argparse.ArgumentTypeError(f"must be a number, 0 or more, got {text!r}")
    return value


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return -inf  # refused by both


def count(text: str) -> int:
    """Return a whole number above 0."""
    if not text.strip().isdecimal() or int(text) == 0:
        raise argparse.ArgumentTypeError(f"must be a whole number above 0, got {text!r}")
    return int(text)


def baud(text: str) -> int:
    """Return a whole number above 0."""
    return count(text)


def out_and_copy(sub: argparse.ArgumentParser, text: str) -> None:
    """Add where a watch records to, and where it writes the same once more."""
    sub.add_argument("--out", metavar="RECORDING", help=text)
    sub.add_argument("--copy", metavar="FOLDER",
                     help="write the same to a second file of that name in FOLDER, on another "
                     "disk; one that is full or gone is caught up with later")  # fmt: skip
