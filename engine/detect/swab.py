"""The hole takes too little on a trip: what the live trip sheet says of swabbing.

References
----------
.. [1] E. S. Page, Continuous inspection schemes, Biometrika 41, 1954, 100-115: the sum.
.. [2] US Chemical Safety Board, Pryor Trust 1H-9, report 2018-01-I-OK, 2019; 30 CFR 250.456(c).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.block import Quality
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, SEES, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_trip import SwabSettings

TOTAL, SUM, SHORT, LONG, TURNED, FAST = 1, 2, 4, 8, 16, 32
PATTERNS = {
    TOTAL: "short since the trip began",
    SUM: "short stand after stand",
    SHORT: "stands running take too little",
    LONG: "stands running take too much",
    TURNED: "lost first, gains now",
    FAST: "pulled faster than advised",
}
"""What speaks, by bit. [-]"""
NO_TANK, NO_DEPTH, NO_SHEET = 1, 2, 3
REASONS = ("no usable trip tank", "no bit_depth", "no trip_fill_difference")
MOVES = 0.05
"""Slower is standing. [m/s]"""
UNFILLED = 0.2
"""A stand that took less than this share, without a shortage, waits for a fill of several. [-]"""
Row = tuple[float, ...]


@dataclass(slots=True)
class Stands:
    """The trip from bin to bin; volumes are positive on the side of an influx."""

    settings: SwabSettings
    severity: int = Severity.NONE
    patterns: int = 0
    """What has spoken since the call began, as bits of `PATTERNS`."""
    fresh: Row = ()
    """Expected, actual and difference of the newest bin at rest. [m3]"""
    level: float = nan
    """Lower of the two newest differences at rest: one wild bin is none. [m3]"""
    closed: Row = (0.0, 0.0, 0.0)
    """The same three when the last stand was counted. [m3]"""
    low: float = 0.0
    """Least difference of a counted stand. [m3]"""
    total: float = 0.0
    """Cumulative sum of what stands are short. [m3]"""
    run: int = 0
    """Stands running out of order: above 0 too little, below 0 too much. [-]"""
    count: int = 0
    """Stands counted. [-]"""
    last: tuple[float, float] = (nan, nan)
    """Expected and actual of the last stand counted. [m3]"""
    moved: tuple[float, float] = (0.0, 0.0)
    """Time and way of the motion since the last rest. [s, m]"""
    fast: bool = False
    """The last stand was pulled faster than advised."""

    def step(self, sheet: Row, held: bool, speed: float, slips: float, advised: float) -> None:
        """Go on by a bin of a trip.

        Parameters
        ----------
        sheet : tuple
            Expected, actual and difference. [m3] NaN: unknown.
        held : bool
            The pipe moves: the sheet repeats its newest reading.
        speed, advised : float
            Of the block, up positive. [m/s]
        slips : float
            1 in slips. [-]
        """
        if slips == 0.0 and speed > MOVES:
            self.moved = (self.moved[0] + BIN_S, self.moved[1] + BIN_S * speed)
            self.fast = isfinite(advised) and self.moved[1] > advised * self.moved[0]
        if held:
            if self.fresh:
                self._close()
                self.fresh, self.level = (), nan
        elif all(map(isfinite, sheet)):
            before = self.fresh[2] if self.fresh else inf
            self.fresh, self.level = sheet, min(sheet[2], before) if self.fresh else nan
            self.moved = (0.0, 0.0)
        self._grade()

    def _close(self) -> None:
        """Count the stand whose rest is over."""
        set_, now = self.settings, self.fresh
        if now[0] < self.closed[0]:  # the string turned round: fill and return begin again
            self.closed = (0.0, 0.0, self.closed[2])
        expected, actual, short = (a - b for a, b in zip(now, self.closed, strict=True))
        if expected <= 0.0 or max(abs(actual), abs(short)) < UNFILLED * expected:
            return
        self.closed, self.last, self.count = now, (expected, actual), self.count + 1
        self.low = min(self.low, now[2])
        self.total = max(0.0, min(self.total + short - set_.slack, 2 * set_.sum))
        side = 1 if short > set_.band * expected else -1 if short < -set_.band * expected else 0
        self.run = side * (abs(self.run) + 1 if self.run * side > 0 else 1)

    @property
    def gained(self) -> float:
        """Gain: since the trip began, or since the losses ended. [m3]"""
        now = self.fresh[2] if self.fresh else self.closed[2]
        return now - self.low if self.low <= -self.settings.lost else now

    def _grade(self) -> None:
        set_, level = self.settings, self.level
        turned = self.low <= -set_.lost
        gain = level - self.low if turned else level  # NaN exceeds nothing
        says = TOTAL * (gain >= set_.warning and not turned)
        says |= TURNED * (turned and gain >= set_.gained)
        says |= SUM * (self.total >= set_.sum)
        says |= SHORT * (self.run >= set_.running) | LONG * (self.run <= -set_.running)
        if gain >= set_.critical:
            now = Severity.CRITICAL
        elif says & (TOTAL | SUM | TURNED) or (says & SHORT and self.fast):
            now = Severity.WARNING
        else:
            now = Severity.ADVICE if says else Severity.NONE
        calm = gain < set_.back * (set_.gained if turned else set_.warning)
        if not now and calm and self.total < set_.back * set_.sum and not self.run:
            self.severity, self.patterns = Severity.NONE, 0
        elif now or self.severity:
            self.severity = max(now, self.severity)
            self.patterns |= says | (FAST * self.fast if says & (TOTAL | SUM | SHORT) else 0)


@dataclass(slots=True, eq=False)
class Swab:
    """Call a trip on which the hole takes less, or gives more, than the pipe explains.

    A warning at 2 bbl short since the trip began, critical at 5; a warning too when what the stands
    are short of, less 0.15 bbl each, adds up to a barrel, or when a hole that first took 0.7 bbl
    too much gives back a barrel. Three stands running out of their fill by 30 % on one side are
    advice, and a warning where they were pulled faster than advised. A fill of several stands is
    counted as one; noise of the tank does not add up; steel that is off by 3 % stays below the
    slack (5 % make 2 bbl after 54 stands). Mud moved into the tank is told by the sheet. Blind
    without a usable trip tank or a bit depth; off a trip there is nothing to watch, and a call ends
    when the trip does.
    """

    kinds: ClassVar[tuple[str, ...]] = ("swab",)
    rule: ClassVar[str] = (
        "On a trip the hole is 2 bbl short (critical 5), or stands are short by more than 0.15 bbl "
        "each until that makes a barrel, or it gives back what it lost; three stands running out "
        "of 30 % are advice."
    )
    settings: SwabSettings
    stands: Stands = field(init=False)

    def __post_init__(self) -> None:
        self.stands = Stands(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        m = len(bins)
        said: dict[int, dict[str, Any]] = {}
        names = ("trip_fill_expected", "trip_fill_actual", "trip_fill_difference")
        bits = bins.quality[names[2]]
        off = (bits & np.uint16(Quality.NOT_APPLICABLE)) != 0
        severity, patterns = np.zeros(m, np.int8), np.zeros(m, np.intp)
        rows = zip(
            zip(*(bins[name].tolist() for name in names), strict=True),
            ((bits & np.uint16(Quality.HELD)) != 0).tolist(), bins["block_speed"].tolist(),
            bins["in_slips"].tolist(), bins["advised_block_speed"].tolist(), off.tolist(),
            strict=True,
        )  # fmt: skip
        fresh = False
        for i, (*row, over) in enumerate(rows):
            if over:
                if not fresh:
                    self.stands, fresh = Stands(self.settings), True
                continue
            self.stands.step(*row)
            fresh, s = False, self.stands
            severity[i], patterns[i] = s.severity, s.patterns
            if s.severity:
                said[i] = _evidence(s, int(bits[i]))
        sight = np.where(off, NOT_ON_WATCH, SEES).astype(np.int8)
        unknown = ~off & ~np.isfinite(bins[names[2]])
        sight[unknown] = np.where(np.isfinite(bins["bit_depth"][unknown]), NO_SHEET, NO_DEPTH)
        sight[bins["trip_tank_unusable"] == 1.0] = NO_TANK
        nothing: dict[str, Any] = {}
        verdict = Verdict(
            bins.row, severity, sight, REASONS, lambda i: said.get(i, nothing), patterns
        )
        return {"swab": verdict}


def _evidence(s: Stands, bits: int) -> dict[str, Any]:
    expected, actual = s.last
    words = [word for bit, word in PATTERNS.items() if s.patterns & bit]
    return {
        "volume_m3": number(s.gained),
        "witnesses": ["trip tank", *words],
        "difference_m3": number((s.fresh or s.closed)[2]),
        "lost_before_m3": number(max(0.0, -s.low)),
        "stand_sum_m3": number(s.total),
        "stands": s.count,
        "stands_running": s.run,
        "last_stand_expected_m3": number(expected),
        "last_stand_actual_m3": number(actual),
        "partly_unmeasured": bool(bits & Quality.PARTIAL),
    }
