"""A number, or why there is none. Unknown is not zero, and infinity is not a number."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite


@dataclass(frozen=True, slots=True)
class Unknown:
    """No number; `reason` says why, for a person."""

    reason: str


Answer = float | Unknown
"""What a function of `engine.well` returns where a physical input can make it unknown."""


def first_unknown(*answers: Answer) -> Unknown | None:
    """Return the first unknown of `answers`, or None if all are numbers."""
    return next((a for a in answers if isinstance(a, Unknown)), None)


def finite(value: float, reason: str) -> Answer:
    """Return `value`, or `Unknown` with `reason` if it is NaN or infinite."""
    return value if isfinite(value) else Unknown(reason)
