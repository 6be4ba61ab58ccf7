"""Pressure rising in a string that nobody pumps into."""

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
from engine.detect.settings_pressures import PressureOffSettings

TWICE = 2
"""Bins that must agree: pressure comes before the first strokes are counted. [-]"""


@dataclass(slots=True, eq=False)
class PressureRisePumpsOff:
    """Call a rise of 50 psi in 2 min while the pumps are off, whatever else the rig does.

    From the lowest of the last two minutes, medians of 15 s. Twice as much since then is critical.
    The fall as the pumps stop, trapped pressure and its bleeding only lower what is compared with.
    Pumps that start are told from a rise by two bins with no stroke. A closed string that warms up
    is slower: it is advice once it has gained the same amount in any time. The call stands while
    the pressure does; it ends when the pressure has gone back or the pumps run. A declared
    cementing or pressure test is not watched. It cannot see without flow-in or standpipe pressure.
    """

    kinds: ClassVar[tuple[str, ...]] = ("pressure_rise_pumps_off",)
    rule: ClassVar[str] = (
        "Standpipe pressure 50 psi above the lowest of the last 2 min while the pumps are off; "
        "advice if it took longer."
    )
    settings: PressureOffSettings
    off: PumpsOff = field(default_factory=PumpsOff)
    read: EverRead = field(default_factory=lambda: EverRead(("standpipe_pressure",)))
    middle: Middle = field(default_factory=lambda: Middle(3))
    past: Span = field(init=False)
    lowest: float = nan
    """Since the pumps stopped. [Pa]"""
    fast: int = 0
    """Bins in a row that rose fast. [-]"""
    start: float = nan
    """Where the called rise began. [Pa]"""
    said: int = Severity.NONE

    def __post_init__(self) -> None:
        self.past = Span(self.settings.rise_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins = seen.bins
        seconds, rest = self.off.process(seen)
        pressures = bins["standpipe_pressure"]
        severity, start = np.zeros(len(bins), np.int8), np.full(len(bins), nan)
        for i in news(rest):
            t, off, pressure = float(bins.t[i]), float(seconds[i]), float(pressures[i])
            if rest[i]:
                self._forget()
                self.said = Severity.NONE
            elif not isfinite(off):
                self._forget()
            else:
                self._bin(t, off, pressure)
            severity[i] = self.said
            start[i] = self.start if self.said > Severity.ADVICE else self.lowest
        sight, reasons = blind(bins, "flow_in", "standpipe_pressure")
        sight[rest & self.read.process(bins)] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            now = float(bins["standpipe_pressure"][i])
            return {
                "volume_m3": None,
                "witnesses": ["standpipe pressure"],
                "pressure_Pa": number(now),
                "rise_Pa": number(now - start[i]),
                "pumps_off_s": number(seconds[i]),
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details)}

    def _forget(self) -> None:
        self.past.clear()
        self.middle.clear()
        self.lowest, self.fast = nan, 0

    def _bin(self, t: float, off: float, pressure: float) -> None:
        """Go on by a bin with the pumps off; pressure may be unknown."""
        set_ = self.settings
        if off <= set_.settle_s:
            return
        pressure = self.middle.step(t, pressure)
        if not isfinite(pressure):
            return
        self.past.step(t, pressure)
        self.lowest = min(pressure, self.lowest)  # of the two, the one that is a number
        low = self.past.low()
        self.fast = self.fast + 1 if pressure - low >= set_.rise else 0
        if self.said > Severity.ADVICE:
            above = pressure - self.start
            if above < set_.back * set_.rise:
                self.said, self.fast, self.lowest = Severity.NONE, 0, pressure
                self.past.clear()
            elif above >= 2 * set_.rise:
                self.said = Severity.CRITICAL
        elif self.fast >= TWICE:
            self.said, self.start = Severity.WARNING, low
        elif not self.fast and pressure - self.lowest >= set_.rise:
            self.said = Severity.ADVICE
        elif pressure - self.lowest < set_.back * set_.rise:
            self.said = Severity.NONE
