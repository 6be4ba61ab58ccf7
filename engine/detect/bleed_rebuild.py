"""Pressure that comes back after it was bled off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.pressure_bins import EverRead, Middle, PumpsOff, Span, news
from engine.detect.pressure_off import TWICE
from engine.detect.settings_pressures import BleedSettings

GAUGES = ("standpipe_pressure", "annulus_pressure", "kill_line_pressure")
WORDS = ("standpipe pressure", "annulus pressure", "kill-line pressure")


@dataclass(slots=True)
class Bled:
    """One gauge while the pumps are off."""

    settings: BleedSettings
    middle: Middle = field(default_factory=lambda: Middle(3))
    recent: Span = field(init=False)
    after: Span = field(init=False)
    """Since it was bled."""
    falling: bool = False
    count: int = 0
    """How often it was bled. [-]"""
    low: float = nan
    """Lowest since it was last bled. [Pa]"""
    fast: int = 0
    start: float = nan
    """Where the called rebuild began. [Pa]"""
    said: int = Severity.NONE

    def __post_init__(self) -> None:
        self.recent, self.after = Span(self.settings.fall_s), Span(self.settings.rise_s)

    def forget(self) -> None:
        """Nothing was ever bled."""
        for part in (self.middle, self.recent, self.after):
            part.clear()
        self.falling, self.count, self.fast, self.low = False, 0, 0, nan

    def step(self, t: float, x: float) -> None:
        """Go on by a bin."""
        set_, pressure = self.settings, self.middle.step(t, x)
        if not isfinite(pressure):
            return
        self.recent.step(t, pressure)
        fell = self.recent.high() - pressure
        if fell >= set_.fall and not self.falling:
            self.falling, self.count, self.fast, self.low = True, self.count + 1, 0, pressure
            self.after.clear()
        elif fell < 0.5 * set_.fall:
            self.falling = False
        if not self.count:
            return
        self.after.step(t, pressure)
        self.low = min(self.low, pressure)
        low = self.after.low()
        self.fast = self.fast + 1 if pressure - low >= set_.rise else 0
        if self.said > Severity.ADVICE:
            above = pressure - self.start
            if above < set_.back * set_.rise:
                self.said = Severity.NONE
            elif above >= 2 * set_.rise or self.count > 1:
                self.said = Severity.CRITICAL
        elif self.fast >= TWICE:
            self.said, self.start = Severity.WARNING, low
        elif not self.fast and pressure - self.low >= set_.rise:
            self.said = Severity.ADVICE
        elif pressure - self.low < set_.back * set_.rise:
            self.said = Severity.NONE


@dataclass(slots=True, eq=False)
class BleedRebuild:
    """Call a pressure that rises by 50 psi in 3 min after it was bled, the pumps still off.

    Bled means: a fall of 50 psi within a minute that began a minute or more after the pumps
    stopped, so their own fall is none, and trapped pressure that is bled and stays away is no
    call. Twice the rise, or a rebuild after the second bleed, is critical; a rise that takes longer
    is advice. Standpipe, annulus and kill line are watched, each by itself, the worst is told.
    A declared cementing or pressure test is not watched. It cannot see without flow-in, or where
    none of the gauges is read.
    """

    kinds: ClassVar[tuple[str, ...]] = ("bleed_rebuild",)
    rule: ClassVar[str] = (
        "Pumps off: a pressure that was bled by 50 psi or more within a minute comes back by 50 "
        "psi within 3 min."
    )
    settings: BleedSettings
    off: PumpsOff = field(default_factory=PumpsOff)
    read: EverRead = field(default_factory=lambda: EverRead(GAUGES))
    gauges: tuple[Bled, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.gauges = tuple(Bled(self.settings) for _ in GAUGES)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins, m = seen.bins, len(seen.bins)
        offs, rest = self.off.process(seen)
        columns = [bins[name] for name in GAUGES]
        severity = np.zeros(m, np.int8)
        which, start, count = np.zeros(m, np.intp), np.full(m, nan), np.zeros(m, np.intp)
        for i in news(rest):
            t, off = float(bins.t[i]), float(offs[i])
            for gauge, column in zip(self.gauges, columns, strict=True):
                if off >= self.settings.after_s and not rest[i]:
                    gauge.step(t, float(column[i]))
                elif gauge.recent.first:
                    gauge.forget()
                if rest[i]:
                    gauge.said = Severity.NONE
            said = [gauge.said for gauge in self.gauges]
            if not any(said):
                continue
            severity[i], which[i] = max(said), said.index(max(said))
            worst = self.gauges[which[i]]
            start[i] = worst.start if worst.said > Severity.ADVICE else worst.low
            count[i] = worst.count
        sight, reasons = blind(bins, "flow_in", "standpipe_pressure")
        others = bins.known("annulus_pressure") | bins.known("kill_line_pressure")
        sight[(sight == 2) & others] = 0
        sight[rest & self.read.process(bins)] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            now = float(bins[GAUGES[which[i]]][i])
            return {
                "volume_m3": None,
                "witnesses": [WORDS[which[i]]],
                "pressure_Pa": number(now),
                "rise_Pa": number(now - start[i]),
                "times_bled": int(count[i]),
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details, which)}
