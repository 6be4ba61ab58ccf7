"""What every function of `engine.well` asks of a number before it computes with it.

The keyword is what a person reads: ``positive(mud_weight=x)`` says *mud weight*. Beyond 1e15, or
above 0 but below 1e-15, in SI or field units, nothing on a rig can be: there a product could
leave the range of floats.
"""

from __future__ import annotations

from math import isfinite

from engine.well.answer import Unknown

LEAST = 1e-15
"""A divisor closer to 0 than this is 0. [any]"""
MOST = 1e15
"""Nothing on a rig is larger. [any]"""
LIGHTEST = 1.3
"""A mud lighter than air is no mud. [kg/m3]"""


def number(**given: float) -> Unknown | None:
    """Return why one of `given` is no number that can be on a rig; None if all are."""
    for name, value in given.items():
        if not isfinite(value):
            return Unknown(f"{_words(name)} is unknown")
        if abs(value) > MOST:
            return Unknown(f"{_words(name)} is {value:g}; no rig has that")
    return None


def positive(**given: float) -> Unknown | None:
    """Return why one of `given` is no number above zero; None if all are."""
    for name, value in given.items():
        if bad := number(**{name: value}):
            return bad
        if value < LEAST:
            return Unknown(f"{_words(name)} is {value:g}; it must be above 0")
    return None


def not_negative(**given: float) -> Unknown | None:
    """Return why one of `given` is no number of 0 or more; None if all are."""
    for name, value in given.items():
        if bad := number(**{name: value}):
            return bad
        if value < 0:
            return Unknown(f"{_words(name)} is {value:g}; it must not be negative")
    return None


def share(**given: float) -> Unknown | None:
    """Return why one of `given` is not within 0 to 1; None if all are. [-]"""
    for name, value in given.items():
        if bad := number(**{name: value}):
            return bad
        if not 0 <= value <= 1:
            return Unknown(f"{_words(name)} is {value:g}; it must be 0 to 1")
    return None


def _words(name: str) -> str:
    return name.replace("_", " ")
