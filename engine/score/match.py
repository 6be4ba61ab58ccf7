"""Which calls belong to the truth of a run, and which to nothing.

The first call of the right family between 5 s before the event begins and its end, or the time
that its kind has, is the one that counts. What follows it is the same episode. A run without an
event has only false calls, those closer than five minutes being one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from engine.block import FloatArray
from engine.score.calls import Call
from engine.score.families import EARLY_S, LAG_S, family, window


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """What really happened in a run; times in s from its start."""

    kind: str
    """Of `engine.detect.kinds.EVENT_KINDS`."""
    start: float
    """First second with an effect. [s]"""
    end: float
    """After the last one. [s]"""
    second: FloatArray
    """Times of `volume`, rising, shape (n,). [s]"""
    volume: FloatArray | None = None
    """Come or gone since the run began, shape (n,); None: nothing flows. [m3]"""

    @property
    def limits(self) -> tuple[float, float]:
        """First and last moment at which a call is right. [s]"""
        end = self.end + LAG_S.get(self.kind, 0.0)
        return self.start - EARLY_S, min(end, self.start + window(self.kind))

    def volume_at(self, at: float) -> float | None:
        """Return how much had come or gone by `at`, since the start. [m3]"""
        if self.volume is None or not self.second.size:
            return None
        places = np.searchsorted(self.second, [self.start, at], "right") - 1
        before, then = self.volume[np.maximum(places, 0)].tolist()
        return abs(float(then) - float(before))


@dataclass(frozen=True, slots=True)
class Match:
    """What a run's calls were worth."""

    called: bool
    delay: float | None
    """From the start of the event to the call; None: not called. [s]"""
    volume: float | None
    """At the call, or at the end of the time if it was missed; None: nothing flows. [m3]"""
    label: str
    """Kind of the first call of any family in that time; empty: none."""
    others: tuple[str, ...]
    """Other families' kinds that were called in that time, by name."""
    again: int
    """Calls in that time of a kind of the family that had been called in it before. [-]"""
    early: int
    """Calls of the family before that time; the twin counts them as false. [-]"""
    late: int
    """Calls of the family after that time: no hits, and not false, for its effects stand. [-]"""
    standing: bool
    """One of the family stood when that time began: it hides the event, which counts as missed."""


def match(truth: Truth, calls: Sequence[Call]) -> Match:
    """Return what `calls` say of an event; advice is no call."""
    low, high = truth.limits
    right = family(truth.kind)
    loud = sorted((c for c in calls if c.counts), key=lambda c: (c.at, c.kind not in right))
    inside = [c for c in loud if low <= c.at <= high]
    mine = [c for c in inside if c.kind in right]
    first = mine[0] if mine else None
    return Match(
        called=first is not None,
        delay=None if first is None else max(0.0, first.at - truth.start),
        volume=truth.volume_at(high if first is None else first.at),
        label=inside[0].kind if inside else "",
        others=tuple(sorted({c.kind for c in inside} - right)),
        again=len(mine) - len({c.kind for c in mine}),
        early=sum(c.kind in right and c.at < low for c in loud),
        late=sum(c.kind in right and c.at > high for c in loud),
        standing=any(c.kind in right and c.at < low <= c.end for c in loud),
    )


def within(call: Call, spells: Iterable[tuple[float, float]], after: float) -> bool:
    """Whether a call came during one of `spells` [s], or up to `after` s behind it."""
    return any(begin <= call.at <= end + after for begin, end in spells)
