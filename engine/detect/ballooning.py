"""Does the rock give back what it took? The evidence, never the verdict.

References
----------
.. [1] Rock that takes mud while pumping gives it back when the friction is gone, at a rate that
   decays, and no more than it took; an influx does not decay. Common practice, no source; the
   halves are told apart as in an own trial with a decay of 6 min.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, nan

from engine.detect.bins import BIN_S
from engine.detect.fingerprint import Mark
from engine.units import BBL

LEAK = 0.10 * BBL / 60
"""Mud that goes more slowly than this is not lost to the rock: pits cool and evaporate. [m3/s]"""
EMPTY_S = 90.0
"""Before this the flow line still runs empty, and says nothing of the rock. [s]"""
LIKE = 0.5
"""Flowbacks are alike if they differ by less than this share of the larger. [-]"""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for and against; volumes in m3."""

    returned: float
    """Above what the flow line gives."""
    bank: float
    """Lost before and not come back; NaN if the pits were not known."""
    ratio: float
    """Rate in the second half over that in the first; NaN if it cannot be told."""
    repeats: int
    """Stops before with as much. [-]"""


@dataclass(slots=True)
class Bank:
    """What the rock has taken and not given back. [m3]"""

    held: float = 0.0
    last: float = nan
    seen: tuple[float, ...] = ()
    """What came back at the stops before. [m3]"""

    def pumping(self, unexplained: float) -> None:
        """Follow the unexplained volume of a settled bin. [m3]"""
        if not isfinite(unexplained):
            return
        if isfinite(self.last):
            self.held = max(0.0, self.held + self.last - unexplained - LEAK * BIN_S)
        self.last = unexplained

    def evidence(self, marks: Sequence[Mark]) -> Evidence:
        """Return what the marks of a stop say so far."""
        returned = marks[-1].excess if marks else nan
        alike = [v for v in self.seen if abs(v - returned) < LIKE * max(v, returned)]
        known = isfinite(self.last)
        return Evidence(returned, self.held if known else nan, halves(marks), len(alike))

    def end(self, returned: float) -> None:
        """A stop is over; remember what came back, if anything did. [m3]"""
        if isfinite(returned) and returned > 0:
            self.seen = (*self.seen, returned)[-8:]


def halves(marks: Sequence[Mark]) -> float:
    """Return the rate of flowback in the second half of a stop over that in the first. [-]"""
    points = [(m.off, m.excess) for m in marks if m.off >= EMPTY_S and isfinite(m.excess)]
    if len(points) < 3:
        return nan
    half = (points[0][0] + points[-1][0]) / 2
    middle = min(range(1, len(points) - 1), key=lambda i: abs(points[i][0] - half))
    (t0, v0), (t1, v1), (t2, v2) = points[0], points[middle], points[-1]
    first, second = (v1 - v0) / (t1 - t0), (v2 - v1) / (t2 - t1)
    return second / first if first > 0 else nan


def question(e: Evidence) -> str:
    """Word the evidence as a question."""
    if not isfinite(e.ratio):
        pace = "rate not told"
    else:
        pace = f"second half runs at {e.ratio:.0%} of the first"
    if not isfinite(e.bank):
        bank = "what was lost is not known"
    elif e.bank >= e.returned:
        bank = "no more than was lost before"
    else:
        bank = "more than was lost before"
    again = f"{e.repeats} stops before gave as much" if e.repeats else "no stop before gave as much"
    return f"ballooning or influx? {pace}; {bank}; {again}; treat it as an influx"
