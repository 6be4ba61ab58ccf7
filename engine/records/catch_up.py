"""What happened in the last minutes, for someone who comes back to the screen (R-37)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engine.interfaces import JournalLine
from engine.records.journal import read
from engine.records.words import what

SHORT_S, LONG_S = 600.0, 3600.0
"""The two looks back. [s]"""


@dataclass(frozen=True, slots=True)
class Happened:
    """One line of the list."""

    at: float
    """[s since 1970-01-01 UTC]"""
    seq: int
    """Number of its journal line. [-]"""
    kind: str
    """alarm, event, trial, command, link, flood, detector or watch."""
    text: str
    urgent: bool
    """An alarm of priority 1, or a call that is critical."""


def catch_up(
    lines: Sequence[JournalLine], now: float, units: Mapping[str, str], back: float = SHORT_S
) -> list[Happened]:
    """Return everything in the journal from `now` - `back` to `now` [s], oldest first.

    Nothing is left out and nothing is put together: whoever was away sees what others saw.

    Parameters
    ----------
    lines : sequence of JournalLine
    now, back : float
        [s since 1970-01-01 UTC], [s]
    units : mapping
        Quantity to display unit id.
    """
    out = []
    for line in lines:
        if now - back <= line.at <= now:
            f = read(line)
            urgent = f.get("priority") == 1 or (f["kind"], f["event"]) == ("event", "critical")
            out.append(Happened(line.at, line.seq, f["kind"], what(f, units), urgent))
    return out
