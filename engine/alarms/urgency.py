"""How urgently the horn must sound: what its outputs make a pattern of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Urgency:
    """Of the worst alarm that sounds; None in its place: quiet."""

    priority: int
    """1, the most urgent, to 4. [-]"""
    level: int = 0
    """How often an alarm of priority 1 was told louder (R-14): 0, 1 after 30 s, 2 after 60 s."""


TEST = Urgency(1)
"""What a test of the horn sounds like: the call that must never be missed."""


def most_urgent(sounding: Iterable[tuple[int, int]]) -> Urgency | None:
    """Return the urgency of alarms given as (priority, level); None if there are none."""
    alarms = list(sounding)
    if not alarms:
        return None
    return Urgency(min(p for p, _ in alarms), max(level for _, level in alarms))
