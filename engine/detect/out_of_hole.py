"""Gain out of the hole: no pipe moves, nothing is pumped, so nothing should come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, isfinite, nan
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind, number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_volume import OutOfHoleSettings
from engine.well.capacities import STEEL

if TYPE_CHECKING:
    from engine.config_models import Component

HANGING = 15.0
"""Pipe above the bottom assembly when that hangs in the slips. [m]"""
MOVED = 0.5
"""A bit that has gone further than this is on its way. [m]"""
FAST_S = 20.0
"""The pace is told by two filtered levels, this one and the slow one. [s]"""
ENDS = 0.25
"""Mud is being moved until its pace is below this share of what began it. [-]"""
BACK = 0.4
"""A call ends below this share of the limit for advice. [-]"""
ELSEWHERE = 5.0
"""A gain that the trip tank does not show must be so many times as large. [-]"""
MIDDLE = 3
"""The middle one of so many bins is looked at: one wild reading is none. [-]"""


@dataclass(slots=True)
class Still:
    """All that is carried from bin to bin; volumes in m3, times in s."""

    newest: tuple[float, ...] = ()
    fast: float = nan
    slow: float = nan
    since: float = nan
    """When the watch began."""
    size: float = 0.0
    """Come, above the leak."""
    owed: float = 0.0
    """Moved out and not yet back."""
    owed_at: float = nan
    moving: int = 0
    """1 while mud comes fast, -1 while it goes fast."""
    onset: float = nan


@dataclass(slots=True, eq=False)
class OutOfHole:
    """Call a gain while the bit is out of the hole, or above the preventers.

    So too while no more than the bottom assembly hangs in it and stands still; as long as that
    moves, the trip sheet watches.

    Pits, reserve and trip tank are one sum, so that mud moved between them is none; what was
    declared is taken off, and so is the steel of the last pipe that comes out. The gain above a
    leak of 0.05 bbl/min has tighter limits than while drilling: nothing else should move.

    A surface pump that is tested takes mud out of the sum and gives it back: what goes faster than
    1 bbl/min is noted as owed and takes nothing from the count, and what comes back as fast is not
    counted as far as it is owed, for an hour. Anything slower, or more, counts.

    With the bottom assembly in the hole the well is on the trip tank, if one is measured; pits have
    waves and it has few: what comes must have come there as well, or be five times as much, a cubic
    metre.

    It cannot see without a pit volume or a bit depth.
    """

    kinds: ClassVar[tuple[str, ...]] = ("out_of_hole_gain",)
    rule: ClassVar[str] = (
        "With the bit out of the hole all tanks together gain 1.25 bbl above a leak of "
        "0.05 bbl/min; with nothing but the bottom assembly standing in it the trip tank too, or "
        "all five times as much; mud that was moved out fast may come back as fast."
    )
    settings: OutOfHoleSettings
    string: Sequence[Component]
    state: Still = field(default_factory=Still)
    """Of all tanks."""
    tank: Still = field(default_factory=Still)
    """Of the trip tank alone."""
    severity: int = Severity.NONE
    stands: float = nan
    """Depth of the bit when it last moved. [m]"""
    hangs: float = field(init=False)
    """A bit no deeper than this has the bottom assembly above it and little more. [m]"""

    def __post_init__(self) -> None:
        self.hangs = HANGING + sum(part.length or 0.0 for part in self.string)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins, b = seen.bins, seen.balance
        m = len(bins)
        total = b["active"] + np.nan_to_num(b["reserve"]) + np.nan_to_num(b["trip_tank"])
        free = total - np.nan_to_num(b["declared"])
        watched = np.zeros(m, np.bool_)
        severity, come = np.zeros(m, np.int8), np.zeros(m)
        onset, owed = np.full(m, nan), np.zeros(m)
        rows = zip(
            bins.t.tolist(), free.tolist(), b["trip_tank"].tolist(), bins["bit_depth"].tolist(),
            strict=True,
        )  # fmt: skip
        above, begun = self.settings.above, False
        for i, (t, level, tank, bit) in enumerate(rows):
            if bit > above and not (bit <= self.hangs and abs(bit - self.stands) <= MOVED):
                if begun or not i:
                    self.state, self.tank, begun = Still(), Still(), False
                    self.severity = Severity.NONE
                self.stands = bit
                continue
            begun = watched[i] = True
            s = self.state
            if isfinite(level) and isfinite(bit):  # else blind: what was counted stays
                self._bin(s, t, level - self._steel(bit))
                if isfinite(tank):
                    self._bin(self.tank, t, tank)
                self.severity = self._grade(self._size(isfinite(tank) and bit > above))
            severity[i], come[i], onset[i], owed[i] = self.severity, s.size, s.onset, s.owed
        sight, reasons = blind(bins, "pit_volume", "bit_depth")
        sight[~watched & (severity == 0)] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            tank = np.isfinite(b["trip_tank"][i])
            return {
                "volume_m3": number(come[i]),
                "witnesses": ["pit volume", "trip tank"] if tank else ["pit volume"],
                "onset": number(onset[i]),
                "owed_m3": number(owed[i]),
                "bit_depth_m": number(bins["bit_depth"][i]),
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details)}

    def _bin(self, s: Still, t: float, level: float) -> None:
        """Go on by one bin of `level`. [m3]"""
        set_ = self.settings
        if not isfinite(s.since):
            s.since = s.onset = t
        s.newest = (*s.newest, level)[-MIDDLE:]
        level = sorted(s.newest)[len(s.newest) // 2]
        before = s.slow
        if not isfinite(before):
            s.fast = s.slow = before = level
        s.fast += (1 - exp(-BIN_S / FAST_S)) * (level - s.fast)
        n = max(1.0, (t - s.since) / BIN_S + 1)
        s.slow += max(1 - exp(-BIN_S / set_.filter_s), 1 / n) * (level - s.slow)
        if t - s.since >= set_.settle_s:
            self._count(s, t, s.slow - before)

    def _count(self, s: Still, t: float, step: float) -> None:
        """Count one step of the slow level [m3]."""
        set_ = self.settings
        pace = (s.fast - s.slow) / (set_.filter_s - FAST_S)
        if abs(pace) >= set_.moved:
            s.moving = 1 if pace > 0 else -1
        elif s.moving * pace < ENDS * set_.moved:
            s.moving = 0
        if s.owed and t - s.owed_at > set_.moved_s:
            s.owed = 0.0
        if s.moving < 0:
            s.owed, s.owed_at = s.owed - min(step, 0.0), t
            return
        if s.moving > 0:
            paid = min(max(step, 0.0), s.owed)
            s.owed, step = s.owed - paid, step - paid
        s.size = max(0.0, s.size + step - set_.leak * BIN_S)
        if s.size == 0.0:
            s.onset = t

    def _size(self, on_tank: bool) -> float:
        """Return how much has come, on the scale of the limits. [m3]"""
        whole = self.state.size
        return max(min(whole, self.tank.size), whole / ELSEWHERE) if on_tank else whole

    def _grade(self, size: float) -> int:
        set_, before = self.settings, self.severity
        limits = (set_.advice, set_.warning, set_.critical)
        now = sum(size >= limit for limit in limits)  # a Severity
        if now:
            return max(now, before)
        return before if size >= BACK * set_.advice else Severity.NONE

    def _steel(self, bit: float) -> float:
        """Return what of the string is in the hole, as volume of steel. [m3]"""
        left, total = max(bit, 0.0), 0.0
        for part in self.string:
            here = left if part.length is None else min(left, part.length)
            total += here * part.weight / STEEL
            left -= here
        return total
