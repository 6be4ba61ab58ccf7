"""Stick-slip: the torque swings, and in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.block import Quality
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_string_heat import StickSlipSettings
from engine.detect.torque_swing import NO_SWING, WINDOW_S, Swing, swing_of, swinging
from engine.ops.primitives import Past
from engine.ops.table import pick, times
from engine.units import unit

TURNS = 10 * unit("rpm").factor
SURE_HZ = 5.0
"""At this rate every swing of a string is seen. [Hz]"""
PERIOD_0, PERIOD_PER_M = 1.0, 1.23e-3
"""Period of 5 in pipe with collars: 2.2 s at 1 km, 5.9 s at 4 km, a line through a model of two
discs on a torsion spring. [s], [s/m]"""
ENDS_S = 30.0
"""A call ends so long after the last swing. [s]"""
IN_A_ROW = 2
"""Bins. [-]"""
RATES = (0.0, 0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 4.0)
"""Rates that are named where they are too low: the nearest one. [Hz]"""
NEEDS = ("torque", "rotary", "on_bottom")
REASONS = (
    *(f"no {name}" for name in NEEDS),
    *(f"torque comes {hz:g} times a second, too seldom for a swing at this depth" for hz in RATES),
)


@dataclass(slots=True, eq=False)
class StickSlip:
    """Call a torque that swings by a quarter of its mean, with a period, for half a minute.

    Looked at while the bit turns on bottom, in windows of 30 s: the trend is taken off, what is
    left must swing between its 5th and 95th percentile by more than its limit, correlate with
    itself by more than a half at some period of 2 to 10 s, and go the other way in between. A step
    of weight or rock, a slow change and noise have no such period.

    It needs torque that comes 5 times a second, or three times in the shortest swing that is to be
    expected at this depth, which at one reading a second is the case below some 1.6 km; senders
    that average make the swing look smaller (one second takes a tenth off at 2.5 km). With less
    it is blind and says which rate it has. Readings that are repeated do not count.
    """

    kinds: ClassVar[tuple[str, ...]] = ("stick_slip",)
    rule: ClassVar[str] = (
        "Torque on bottom swings by more than a quarter of its mean over 30 s with a period of 2 "
        "to 10 s; needs 5 readings a second, or three in a swing."
    )
    settings: StickSlipSettings
    past: Past = field(default_factory=lambda: Past(columns=(np.empty(0),)))
    first: float = nan
    """First reading of all. [s since 1970-01-01 UTC]"""
    row: int = 0
    """Bins in a row with a swing."""
    last: float = float("-inf")
    severity: int = Severity.NONE
    newest: Swing = field(default_factory=Swing)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins, torque = seen.bins, pick(seen.rows, "torque")
        fresh = torque.good & ((torque.quality & np.uint16(Quality.HELD)) == 0)
        t = np.concatenate((self.past.t, times(seen.rows)[fresh]))
        x = np.concatenate((self.past.columns[0], torque.value[fresh]))
        if t.size and not isfinite(self.first):
            self.first = float(t[0])
        if not len(bins):
            self.past = Past(t, (x,))
            return nothing_new(self.kinds)
        begin = np.searchsorted(t, bins.t - WINDOW_S, side="left")
        end = np.searchsorted(t, bins.t, side="left")
        long = np.minimum(bins.t - self.first, WINDOW_S)
        rate = (end - begin) / np.maximum(long, BIN_S)
        turning = (np.abs(bins["rotary"]) > TURNS) & (bins["on_bottom"] == 1.0)
        period = PERIOD_0 + PERIOD_PER_M * bins["bit_depth"]
        need = np.where(np.isnan(period), SURE_HZ, self.settings.samples / period)
        need = np.minimum(need, SURE_HZ)
        # One reading in ten may be lost.
        slow = (rate < 0.9 * need) & (long >= WINDOW_S)
        look = turning & (long >= WINDOW_S) & ~slow
        look[look] = swinging(x, begin[look], end[look], self.settings.advice)
        told = []
        for i, (now, looks) in enumerate(zip(bins.t.tolist(), look.tolist(), strict=True)):
            swing = NO_SWING
            if looks:
                a, b = int(begin[i]), int(end[i])
                swing = swing_of(t[a:b], x[a:b])
            if looks or self.severity:
                self._bin(now, swing)
            else:
                self.row = 0
            told.append((self.severity, self.newest))
        keep = int(np.searchsorted(t, bins.t[-1] - WINDOW_S))
        self.past = Past(t[keep:].copy(), (x[keep:].copy(),))
        severity = np.array([grade for grade, _ in told], np.int8)
        sight = np.where(turning, 0, NOT_ON_WATCH).astype(np.int8)
        nearest = np.abs(rate[:, None] - np.array(RATES)).argmin(axis=1)
        sight = np.where(turning & slow, len(NEEDS) + 1 + nearest, sight).astype(np.int8)
        for k in range(len(NEEDS), 0, -1):
            sight[np.isnan(bins[NEEDS[k - 1]])] = k

        def details(i: int) -> dict[str, Any]:
            swing = told[i][1]
            return {
                "volume_m3": None,
                "witnesses": ["torque"],
                "swing_percent": number(100 * swing.amplitude),
                "period_s": number(swing.period),
                "periodicity": number(swing.periodicity),
                "rate_hz": number(rate[i]),
            }

        return {"stick_slip": Verdict(bins.row, severity, sight, REASONS, details)}

    def _bin(self, now: float, swing: Swing) -> None:
        s = self.settings
        swings = swing.periodicity >= s.periodicity and swing.amplitude >= s.advice
        self.row = self.row + 1 if swings else 0
        if self.row >= IN_A_ROW:
            grave = swing.amplitude >= s.warning
            self.severity = max(self.severity, Severity.WARNING if grave else Severity.ADVICE)
            self.last, self.newest = now, swing
        elif self.severity and now - self.last > ENDS_S + BIN_S:
            self.severity = Severity.NONE
