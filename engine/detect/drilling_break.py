"""Drilling break: the rock gives way faster at the same weight and rotary speed."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, isfinite, log, nan
from statistics import median
from typing import Any, ClassVar, NamedTuple

import numpy as np

from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.cusum import step_up
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.passes import NORMAL
from engine.detect.settings_string_heat import DrillingBreakSettings

SHORTEST_S = 10.0
"""A block takes no less: depth is read in centimetres. [s]"""
CLIP = 4.0
"""A block further out than so many standard deviations counts as this much. [-]"""
GRAVE = 8.0
"""Up to here a call counts its sum, so that it comes back. [-]"""
LEARNS = 10
"""Blocks before anything is judged. [-]"""
FAR = 1.0
"""A hole that gets so much deeper in one bin was corrected, not drilled. [m]"""


class Drilled(NamedTuple):
    """One block of depth."""

    depth: float
    """At its end. [m]"""
    length: float
    """[m]"""
    seconds: float
    weight: float
    """[N]"""
    rotary: float
    """[rad/s]"""
    log_rate: float
    """Logarithm of the rate in m/s. [-]"""


@dataclass(frozen=True, slots=True)
class Found:
    """A break that was called."""

    depth: float
    """Where it began. [m]"""
    before: float
    """Rates. [m/s]"""
    after: float
    drilled: float
    """At the new rate when it was called. [m]"""

    @property
    def times(self) -> float:
        """How much faster. [-]"""
        return self.after / self.before


@dataclass(slots=True, eq=False)
class DrillingBreak:
    """Call a rate of penetration half as high again at steady weight and rotary speed.

    The rate is taken over blocks of 0.1 m of new hole, time on bottom only. Its logarithm, less
    the median of the three metres before, runs into a cumulative sum; blocks whose weight or
    rotary speed differ by more than a tenth from those metres do not count. Where the sum is
    over its limit, and the mean rate since it left zero is 1.5 times the one before over 0.6 m,
    it is a break: a change of rock, which often comes before a kick. The note says at what depth.

    Not taken for it: more weight or more turns, drill-off (the rate falls), a connection (the block
    it cuts is left out), a depth that was corrected. It cannot see without hole depth, weight on
    bit (no tare) or rotary speed, and needs a metre of hole first. A call ends after three metres:
    the new rate is then the usual one.
    """

    kinds: ClassVar[tuple[str, ...]] = ("drilling_break",)
    rule: ClassVar[str] = (
        "Cumulative sum of the logarithm of the rate in blocks of 0.1 m, and 1.5 times the rate of "
        "the 3 m before over 0.6 m, at weight and rotary speed steady within 10 %."
    )
    settings: DrillingBreakSettings
    depth: float = nan
    """Where the present block began. [m]"""
    hole: float = nan
    """Newest. [m]"""
    seconds: float = 0.0
    loads: list[tuple[float, float]] = field(default_factory=list)
    """Weight and rotary speed of the bins of the present block."""
    past: deque[Drilled] = field(init=False)
    fast: list[Drilled] = field(default_factory=list)
    """Blocks since the sum left zero."""
    sum_: float = 0.0
    found: Found | None = None
    newest: Found | None = None
    """Of those that are over."""

    def __post_init__(self) -> None:
        self.past = deque(maxlen=self.settings.past)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        sight, reasons = blind(bins, "hole_depth", "on_bottom", "weight_on_bit", "rotary")
        on = bins["on_bottom"] == 1.0
        sight[~on & ~np.isnan(bins["on_bottom"])] = NOT_ON_WATCH
        names = ("hole_depth", "weight_on_bit", "rotary")
        rows = zip(on.tolist(), *(bins[name].tolist() for name in names), strict=True)
        told, newest, ripe = [], [], []
        for row in rows:
            self._bin(*row)
            found = self.found
            if found is not None:
                self.newest = found
            told.append(found is not None)
            newest.append(self.newest)
            ripe.append(len(self.past) >= LEARNS)
        sight[(sight == 0) & ~np.array(ripe, np.bool_)] = len(reasons) + 1
        severity = np.where(told, Severity.WARNING, Severity.NONE).astype(np.int8)
        return {
            "drilling_break": Verdict(
                bins.row, severity, sight,
                (*reasons, "less than a metre was drilled to compare with"),
                lambda i: _evidence(newest[i]),
            )
        }  # fmt: skip

    def _bin(self, drilling: bool, hole: float, weight: float, rotary: float) -> None:
        if not isfinite(hole):
            self._cut(nan)
            return
        step, self.hole = hole - self.hole, hole
        if not (drilling and 0 <= step < FAR and isfinite(weight) and isfinite(rotary)):
            self._cut(nan)
            return
        if not isfinite(self.depth):
            self._cut(hole)  # what this bin drilled is not whole
            return
        self.seconds += BIN_S
        self.loads.append((weight, rotary))
        length = hole - self.depth
        if length >= self.settings.block - 1e-9 and self.seconds >= SHORTEST_S:
            load, turns = (median(column) for column in zip(*self.loads, strict=True))
            rate = log(length / self.seconds)
            self._block(Drilled(hole, length, self.seconds, load, turns, rate))
            self._cut(hole)

    def _cut(self, depth: float) -> None:
        self.depth, self.seconds, self.loads = depth, 0.0, []

    def _block(self, new: Drilled) -> None:
        """Judge one block."""
        s = self.settings
        if self.found and new.depth - self.found.depth > s.past * s.block:
            self.past = deque(self.fast or [new], maxlen=s.past)
            self.found, self.fast, self.sum_ = None, [], 0.0
        if len(self.past) < LEARNS:
            self.past.append(new)
            return
        *_, weights, turns, rates = zip(*self.past, strict=True)
        middle = median(rates)
        wide = median([abs(rate - middle) for rate in rates])
        usual = median(weights), median(turns)
        if self._steady(new, *usual):
            z = (new.log_rate - middle) / max(s.noise, NORMAL * wide)
            z = min(max(z, -CLIP), CLIP)
            self.sum_ = min(step_up(self.sum_, z, s.reference_value), GRAVE * s.limit)
        if self.found:
            self.fast.append(new)
            return
        if self.sum_ == 0.0:
            self.past.extend((*self.fast, new))
            self.fast = []
            return
        self.fast.append(new)
        if len(self.fast) > s.past:  # nothing came of it: it is the usual rate now
            self.past.extend(self.fast)
            self.fast, self.sum_ = [], 0.0
            return
        if self.sum_ < s.limit:
            return
        counted = [b for b in self.fast if self._steady(b, *usual)]
        drilled = sum(b.length for b in counted)
        if drilled < s.least:
            return
        after = drilled / sum(b.seconds for b in counted)
        if after >= s.times * exp(middle):
            begin = self.fast[0].depth - self.fast[0].length
            self.found = Found(begin, exp(middle), after, drilled)

    def _steady(self, block: Drilled, weight: float, rotary: float) -> bool:
        """Whether both are within a tenth of what was usual."""
        most = self.settings.steady
        return (
            abs(block.weight - weight) <= most * abs(weight)
            and abs(block.rotary - rotary) <= most * abs(rotary)
        )  # fmt: skip


def _evidence(found: Found | None) -> dict[str, Any]:
    if found is None:
        return {"volume_m3": None, "witnesses": []}
    return {
        "volume_m3": None,
        "witnesses": ["rate of penetration", "weight on bit steady", "rotary speed steady"],
        "note": f"drilling break at {found.depth:.1f} m: {found.times:.1f} times as fast",
        "from_hole_depth_m": number(found.depth),
        "rop_before_m_s": number(found.before),
        "rop_m_s": number(found.after),
        "times": number(found.times),
        "drilled_m": number(found.drilled),
    }
