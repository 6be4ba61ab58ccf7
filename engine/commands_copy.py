"""What the watch says of the second copy of its recording; `engine.commands` has the rest."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SecondCopy:
    """How the second copy stands; the watch gives it at the start and when that changes."""

    place: str
    """The file; empty if none is kept."""
    problem: str = ""
    """Why it is not complete, in words; empty when all is written along."""
    complete_to: float | None = None
    """Up to when it holds everything; None: it is not known to hold anything.
    [s since 1970-01-01 UTC]"""
