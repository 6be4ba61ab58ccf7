"""What every function of `engine.well` asks of a number before it computes with it."""

from __future__ import annotations

from math import isfinite

from engine.well.answer import Unknown


def positive(**given: float) -> Unknown | None:
    """Return why one of `given` is no finite number above zero; None if all are.

    The keyword is what a person reads: ``positive(mud_weight=x)`` says *mud weight*.
    """
    for name, value in given.items():
        if not isfinite(value):
            return Unknown(f"{_words(name)} is unknown")
        if value <= 0:
            return Unknown(f"{_words(name)} is {value:g}; it must be above 0")
    return None


def not_negative(**given: float) -> Unknown | None:
    """Return why one of `given` is no finite number of 0 or more; None if all are."""
    for name, value in given.items():
        if not isfinite(value):
            return Unknown(f"{_words(name)} is unknown")
        if value < 0:
            return Unknown(f"{_words(name)} is {value:g}; it must not be negative")
    return None


def number(**given: float) -> Unknown | None:
    """Return why one of `given` is no finite number; None if all are."""
    for name, value in given.items():
        if not isfinite(value):
            return Unknown(f"{_words(name)} is unknown")
    return None


def share(**given: float) -> Unknown | None:
    """Return why one of `given` is not within 0 to 1; None if all are. [-]"""
    for name, value in given.items():
        if not isfinite(value):
            return Unknown(f"{_words(name)} is unknown")
        if not 0 <= value <= 1:
            return Unknown(f"{_words(name)} is {value:g}; it must be 0 to 1")
    return None


def _words(name: str) -> str:
    return name.replace("_", " ")
