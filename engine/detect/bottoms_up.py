"""What was at the bit while the pumps stood, and when it will be at the surface."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Literal

from engine.detect.settings_string_heat import GasSettings

What = Literal["trip", "connection"]
MOST = 8
"""Marks on their way at the same time. [-]"""


@dataclass(frozen=True, slots=True)
class Mark:
    """Mud that stood at the bit."""

    what: What
    due: float
    """Count of strokes at which it is at the surface. [-]"""
    width: float
    """It may come so many strokes sooner or later. [-]"""
    lag: float
    """Strokes from bit to surface when it started. [-]"""


@dataclass(slots=True)
class BottomsUp:
    """Makes a mark whenever the pumps start with the bit near bottom, and follows it by strokes."""

    settings: GasSettings
    away_stands: float
    """The bit further off bottom than this is on a trip. [m]"""
    back_stands: float
    """Within this of the bottom it is back. [m]"""
    away: bool = False
    tripped: bool = False
    """It has been on a trip since the last mark."""
    waiting: What | None = None
    """The pumps run, and no mark has been made for what stood."""
    off_since: float = nan
    pumping: bool = True
    marks: deque[Mark] = field(default_factory=lambda: deque(maxlen=MOST))

    def step(self, t: float, pumping: bool, off: float, strokes: float, lag: float) -> None:
        """Go on by one bin.

        Parameters
        ----------
        t : float
            [s]
        pumping : bool
        off : float
            Hole less bit depth. [m]
        strokes, lag : float
            Counted, and from bit to surface. [-]
        """
        if off > self.away_stands:
            self.away = self.tripped = True
        elif self.away and off < self.back_stands:
            self.away = False
        if not pumping:
            self.off_since = t if not isfinite(self.off_since) else self.off_since
            return
        if isfinite(self.off_since):
            long = t - self.off_since >= self.settings.stop_s
            self.off_since = nan
            if long:
                self.waiting = "connection"
        if self.tripped and not self.away:
            self.waiting = "trip"
        if self.waiting and not self.away and isfinite(strokes) and isfinite(lag):
            width = self.settings.window * lag
            self.marks.append(Mark(self.waiting, strokes + lag, width, lag))
            self.waiting, self.tripped = None, False
        while self.marks and strokes > self.marks[0].due + self.marks[0].width:
            self.marks.popleft()

    def here(self, strokes: float) -> Mark | None:
        """Return the mark whose window is open; that of a trip goes before."""
        now = [m for m in self.marks if abs(strokes - m.due) <= m.width]
        if not now:
            return None  # most bins
        return min(now, key=lambda m: m.what != "trip")

    def coming(self, strokes: float, per_second: float) -> tuple[Mark, float] | None:
        """Return the mark to announce and the seconds until it is due; that of a trip first."""
        s, found = self.settings, []
        for m in self.marks if per_second > 0 else ():
            left = (m.due - strokes) / per_second
            lead = s.trip_lead_s if m.what == "trip" else s.connection_lead_s
            if left <= lead or abs(strokes - m.due) <= m.width:
                found.append((m, left))
        if not found:
            return None
        return min(found, key=lambda x: (x[0].what != "trip", x[1]))
