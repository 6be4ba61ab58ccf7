"""How warm the returns are against their own past, and what of it a stop of the pumps explains."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque
from dataclasses import dataclass, field
from math import exp, inf, isfinite, nan
from typing import NamedTuple

from engine.detect.bins import BIN_S
from engine.detect.settings_string_heat import TemperatureSettings

EARLY = 60
"""So many bins make the first usual difference: five minutes. [-]"""
FLOW_S = 30.0
"""Returns are taken over so long. [s]"""
FLOW_WEIGHT = 1 - exp(-BIN_S / FLOW_S)
RISES_S = 900.0
"""A rise is a witness for so long. [s]"""


class Heat(NamedTuple):
    """What one bin tells."""

    rise: float = nan
    """Above the coldest of the last minutes; NaN: not to be judged. [K]"""
    excess: float = nan
    """Out less in, above what is usual. [K]"""
    masked: bool = False
    """What stood still is not up yet."""
    pumped: float = nan
    """Since the last long stop, in annulus volumes. [-]"""
    losses: bool = False
    """Within the time in which all belongs together."""
    surge: bool = False
    """Now, after losses."""
    rose: bool = False
    """The temperature rose within the last quarter of an hour."""


@dataclass(slots=True)
class HeatState:
    """Walks from bin to bin."""

    settings: TemperatureSettings
    past: deque[tuple[float, float]] = field(default_factory=deque)
    """Time [s] and temperature out [K] while the pumps have run without a stop."""
    coldest: list[float] = field(default_factory=list)
    """The same temperatures, in their order. [K]"""
    off_since: float = nan
    on_since: float = -inf
    strokes: float = -inf
    """Counter when the pumps started after the last long stop. [-]"""
    masked: bool = False
    usual: float = nan
    """Out less in. [K]"""
    seen: int = 0
    share: float = nan
    """Returns above flow-in as a share of it, smoothed. [-]"""
    lost_at: float = -inf
    rose_at: float = -inf
    twice: int = 0
    """Bins in a row with a surge."""

    def step(
        self, t: float, pumping: bool, out: float, inn: float, strokes: float, lag: float,
        share: float,
    ) -> Heat:  # fmt: skip
        """Go on by one bin: times [s], temperatures [K], strokes [-], share of flow-in [-]."""
        s = self.settings
        if not pumping:
            self.off_since = t if not isfinite(self.off_since) else self.off_since
            self.past.clear()
            self.coldest.clear()
            self.share, self.twice = nan, 0
            return Heat(masked=self.masked)
        if isfinite(self.off_since):
            if t - self.off_since >= s.stop_s:
                self.masked, self.strokes = True, strokes
            self.off_since, self.on_since = nan, t
        pumped = (strokes - self.strokes) / lag if lag > 0 else nan
        if self.masked and not isfinite(self.strokes):
            self.strokes = strokes  # the counter was not known when they started
        if self.masked and pumped >= s.annuli:
            self.masked = False
        losses, surge = self._returns(t, share)
        settled = t - self.on_since >= s.settle_s
        rise = self._rise(t, out) if settled and not self.masked else nan
        if rise >= s.rise:
            self.rose_at = t
        excess = self._excess(out - inn, settled and not self.masked)
        rose = t - self.rose_at <= RISES_S
        return Heat(rise, excess, self.masked, pumped, losses, surge, rose)

    def _rise(self, t: float, out: float) -> float:
        if not isfinite(out):
            return nan
        self.past.append((t, out))
        insort(self.coldest, out)
        while self.past[0][0] < t - self.settings.rise_s:
            del self.coldest[bisect_left(self.coldest, self.past.popleft()[1])]
        # The third coldest: one wild reading is no past.
        return out - self.coldest[2 if len(self.past) > 6 else 0]

    def _excess(self, difference: float, counts: bool) -> float:
        if not (isfinite(difference) and counts):
            return nan
        excess = difference - self.usual if self.seen >= EARLY else nan
        if self.seen < EARLY:
            self.seen += 1
            self.usual = (
                difference
                if self.seen == 1
                else (self.usual + (difference - self.usual) / self.seen)
            )
        else:
            self.usual += (1 - exp(-BIN_S / self.settings.usual_s)) * excess
        return excess

    def _returns(self, t: float, share: float) -> tuple[bool, bool]:
        s = self.settings
        if isfinite(share):
            self.share = (
                share
                if not isfinite(self.share)
                else (self.share + FLOW_WEIGHT * (share - self.share))
            )
        if self.share < -s.losses:
            self.lost_at = t
        losses = t - self.lost_at <= s.together_s
        self.twice = self.twice + 1 if losses and self.share > s.surge else 0
        return losses, self.twice >= 2
