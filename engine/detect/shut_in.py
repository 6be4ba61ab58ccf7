"""Casing pressure of a shut-in well that falls: it flows somewhere underground."""

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
from engine.detect.settings_pressures import ShutInSettings


@dataclass(slots=True, eq=False)
class ShutInFall:
    """Call a casing pressure that falls by 50 psi, and a tenth of it, within 10 min.

    The well is shut in when its casing pressure stands above 100 psi with the pumps off. Medians of
    30 s against the highest of the last ten minutes; twice the fall is critical. A fall of 50 psi
    within a minute is somebody's hand on the choke: advice, and the watch begins anew. Pumps that
    run (a kill) and a declared cementing or pressure test are not watched. It cannot see without
    flow-in or annulus pressure.
    """

    kinds: ClassVar[tuple[str, ...]] = ("shut_in_pressure_fall",)
    rule: ClassVar[str] = (
        "Well shut in, pumps off: the casing pressure falls by 50 psi and a tenth within 10 min."
    )
    settings: ShutInSettings
    off: PumpsOff = field(default_factory=PumpsOff)
    read: EverRead = field(default_factory=lambda: EverRead(("annulus_pressure",)))
    middle: Middle = field(default_factory=lambda: Middle(6))
    past: Span = field(init=False)
    recent: Span = field(init=False)
    fallen: int = 0
    """Bins in a row that were low enough. [-]"""
    from_: float = nan
    """The highest, when it was called. [Pa]"""
    bled_at: float = nan
    """When it last fell fast. [s]"""
    said: int = Severity.NONE

    def __post_init__(self) -> None:
        self.past, self.recent = Span(self.settings.within_s), Span(self.settings.bled_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins, m = seen.bins, len(seen.bins)
        offs, idle = self.off.process(seen)
        flow_known = np.isfinite(bins["flow_in"])
        severity, rest, high = np.zeros(m, np.int8), idle.copy(), np.full(m, nan)
        for i in news(idle):
            t, pressure = float(bins.t[i]), float(bins["annulus_pressure"][i])
            if idle[i]:
                self._forget()
                self.said = Severity.NONE
            elif isfinite(offs[i]):
                self._bin(t, self.middle.step(t, pressure))
            open_ = isfinite(pressure) and not self.past.first and not self.said
            severity[i], rest[i] = self.said, idle[i] or (open_ and flow_known[i])
            high[i] = self.from_ if self.said > Severity.ADVICE else self.past.high()
        sight, reasons = blind(bins, "flow_in", "annulus_pressure")
        sight[rest & self.read.process(bins)] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            now = float(bins["annulus_pressure"][i])
            return {
                "volume_m3": None,
                "witnesses": ["annulus pressure"],
                "pressure_Pa": number(now),
                "fall_Pa": number(high[i] - now),
                "highest_Pa": number(high[i]),
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details)}

    def _forget(self) -> None:
        for part in (self.middle, self.past, self.recent):
            part.clear()
        self.fallen, self.from_, self.bled_at = 0, nan, nan

    def _bin(self, t: float, pressure: float) -> None:
        """Go on by a bin with the pumps off; pressure may be unknown."""
        set_ = self.settings
        if not isfinite(pressure) or not (pressure >= set_.least or self.past.first):
            return
        self.recent.step(t, pressure)
        if self.recent.high() - pressure >= set_.bled:
            self.past.clear()
            self.fallen, self.from_, self.bled_at = 0, nan, t
            self.said = Severity.ADVICE
        self.past.step(t, pressure)
        high = self.past.high()
        fall = high - pressure
        limit = max(set_.fall, set_.share * high)
        self.fallen = self.fallen + 1 if fall >= limit else 0
        if self.said > Severity.ADVICE:
            fall = self.from_ - pressure
            limit = max(set_.fall, set_.share * self.from_)
            if fall < set_.back * limit:
                self.said = Severity.NONE
            elif fall >= 2 * limit:
                self.said = Severity.CRITICAL
        elif self.fallen >= TWICE:
            self.said, self.from_ = Severity.WARNING, high
        elif self.said and t - self.bled_at > set_.within_s:
            self.said = Severity.NONE
        if pressure < set_.least and self.said <= Severity.ADVICE:
            self.past.clear()  # the well is open, or dead
