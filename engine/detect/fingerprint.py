"""The fingerprint of a connection: how much comes back into the tanks after the pumps stop.

Volumes above the last pumping level are kept at fixed times after the stop and compared with the
median of the newest accepted stops at about the same flow, in proportion to it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from math import inf, isfinite, nan, sqrt
from statistics import fmean, median

from engine.detect.pit_climb import PitClimb
from engine.detect.settings_connections import ConnectionSettings

MARKS = (30.0, 60.0, 90.0, 120.0, 180.0, 240.0)
"""Times after the stop. [s]"""
EMPTY = 4
"""From this mark on a flow line gives hardly any more. [-]"""
AFTER_S = 30.0
"""Past the last mark it is looked at so often. [s]"""
MEAN_S = 30.0
"""A mark is the mean of so long: four waves, and two marks running share none of it. [s]"""
WAVES_LEFT = 0.7
"""Of the noise of a bin in the difference of a mark and the level before: waves of 8 s leave 0.6
in the mean of half a minute and 0.35 in the minute before the stop. [-]"""
NEAR = 0.7
"""Of the limit: of two marks running, the lower one. [-]"""
REMEMBERED = 4
"""So many times what makes a reference is kept, for the flows that come again. [-]"""
PRIOR = 3
"""What is known of pits and crews counts as so many stops beside those that were seen. [-]"""
NOISE_S = 1800.0
"""Time constant of the level noise. [s]"""
LEAST_MARKS = 2
"""A shorter stop teaches nothing. [-]"""


@dataclass(frozen=True, slots=True)
class Curve:
    """One stop of the pumps."""

    at: float
    """When the pumps stopped. [s since 1970-01-01 UTC]"""
    flow: float
    """Before. [m3/s]"""
    volumes: tuple[float, ...] = ()
    """At each of `MARKS` that was reached, NaN where the pits were not known. [m3]"""
    z: tuple[float, ...] = ()
    """Deviation at each, in standard deviations; NaN without a reference. [-]"""
    refused: str = ""
    """Why it is no reference; empty if it is one."""
    lasted: float = 0.0
    """[s]"""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a stop shows at one mark."""

    off: float
    """Since the stop. [s]"""
    volume: float
    """[m3]"""
    excess: float
    """Above the reference, or without one above the third minute; NaN before that. [m3]"""
    z: float
    slope: float
    """Of the excess over the last mark step, in standard deviations. [-]"""


@dataclass(slots=True, eq=False)
class Fingerprints:
    """Learns from stop to stop what comes back, and measures the present one against it."""

    settings: ConnectionSettings
    accepted: deque[Curve] = field(default_factory=deque)
    now: Curve | None = None
    marks: list[Mark] = field(default_factory=list)
    """Of the present stop."""
    noise: float = 0.0
    """Standard deviation of the level while pumping. [m3]"""
    climb: PitClimb = field(default_factory=PitClimb)
    _ripples: int = 0
    """That `noise` was learnt from. [-]"""
    _like: list[Curve] = field(default_factory=list)
    """Accepted, at the flow of the present stop."""
    _recent: deque[tuple[float, float]] = field(default_factory=deque)
    _due: float = MARKS[0]

    def pumping(self, ripple: float, weight: float) -> None:
        """Learn the noise of the level from `ripple`, its distance from its own mean [m3]."""
        if isfinite(ripple):
            self._ripples += 1
            weight = max(weight, 1 / self._ripples)  # a plain mean at first, not from nothing
            kept = min(abs(ripple), 3 * max(self.noise, self.settings.floor))
            self.noise = sqrt(self.noise**2 + weight * (kept**2 - self.noise**2))

    def begin(self, at: float, flow: float, refused: str) -> None:
        """Begin a stop; `refused` says why it cannot be compared, empty if it can."""
        change = self.settings.flow_change
        like = [c for c in self.accepted if abs(flow / c.flow - 1) <= change]
        self._like = like[-self.settings.kept :]
        self.now = Curve(at, flow, refused=refused)
        self.marks = []
        self.climb = PitClimb()
        self._recent.clear()
        self._due = MARKS[0]

    def step(self, off: float, volume: float) -> Mark | None:
        """Go on by one bin of a stop; return the mark that it completes.

        Parameters
        ----------
        off : float
            Since the pumps stopped. [s]
        volume : float
            Above the last pumping level, NaN if not known. [m3]
        """
        now = self.now
        if now is None:
            return None
        self.climb.add(off, volume)
        self._recent.append((off, volume))
        while self._recent[0][0] <= off - MEAN_S + 1e-6:
            self._recent.popleft()
        self.now = now = replace(now, lasted=off)
        if off + 1e-6 < self._due:
            return None
        known = [v for _, v in self._recent if isfinite(v)]
        mark = self._mark(off, fmean(known) if known else nan)
        self.marks.append(mark)
        if len(now.volumes) < len(MARKS):
            self.now = replace(now, volumes=(*now.volumes, mark.volume), z=(*now.z, mark.z))
        later = next((m for m in MARKS if m > self._due), self._due + AFTER_S)
        self._due = later
        return mark

    def end(self, called: bool) -> Curve | None:
        """End the stop: it becomes a reference unless something speaks against it."""
        now, self.now = self.now, None
        if now is None:
            return None
        known = [v for v in now.volumes if isfinite(v)]
        refused = now.refused
        if not refused and called:
            refused = "called"
        elif not refused and len(known) < LEAST_MARKS:
            refused = "too short" if len(now.volumes) < LEAST_MARKS else "pits not known"
        elif not refused and any(abs(z) > self.settings.accepted_z for z in now.z if isfinite(z)):
            refused = "unlike the others"
        now = replace(now, refused=refused)
        if not refused:
            self.accepted.append(now)
            while len(self.accepted) > REMEMBERED * self.settings.kept:
                self.accepted.popleft()
        return now

    def reference(self, off: float) -> tuple[float, float]:
        """Return what should have come back, and its standard deviation, at `off` [s]. [m3]

        Both are NaN while too few stops are known at that mark.
        """
        index = next((i for i, m in enumerate(MARKS) if off < m + 1e-6), len(MARKS) - 1)
        if off > MARKS[index] and index + 1 < len(MARKS):
            index += 1
        past = self._at(index)
        # Stops that ended before: the newest mark that enough of them reached.
        while index and len(past) < self.settings.least:
            index -= 1
            past = self._at(index)
        if len(past) < self.settings.least:
            return nan, nan
        middle, n = median(past), len(past)
        after = self.settings.leak * max(0.0, off - MARKS[index])
        # The waves and the crew are worth as much as three stops that came out like that.
        known = self.settings.floor**2 + (WAVES_LEFT * self.noise) ** 2
        seen = sum((v - middle) ** 2 for v in past)
        return middle + after, sqrt((PRIOR * known + seen) / (PRIOR + n - 1))

    def _at(self, index: int) -> list[float]:
        now = self.now.flow if self.now is not None else nan
        values = (c.volumes[index] * now / c.flow for c in self._like if len(c.volumes) > index)
        return [v for v in values if isfinite(v)]

    def expected(self, off: float) -> tuple[float, float]:
        """Return the reference if the present stop can be compared with it, else NaN. [m3]"""
        fit = self.now is not None and not self.now.refused
        return self.reference(off) if fit else (nan, nan)

    def _mark(self, off: float, volume: float) -> Mark:
        expected, sd = self.expected(off)
        if isfinite(expected):
            excess = volume - expected
            before = self.marks[-1].excess if self.marks else nan
            return Mark(off, volume, excess, excess / sd, (excess - before) / (sqrt(2) * sd))
        if len(self.marks) <= EMPTY:
            return Mark(off, volume, nan, nan, nan)
        # Nothing to compare with, but a flow line that has run empty gives no more.
        base = self.marks[EMPTY]
        excess = volume - base.volume - self.settings.leak * (off - base.off)
        rate, sd = self.climb.fit(base.off, max(self.noise, self.settings.floor))
        return Mark(off, volume, excess, (rate - self.settings.leak) / sd, nan)

    def twice(self) -> bool:
        """Whether the two newest marks lie beyond the limit: their mean, and neither by far less.

        One mark alone may be a wave.
        """
        newest, before, limit = self._z(1), self._z(2), self.settings.z
        return newest + before > 2 * limit and min(newest, before) > NEAR * limit

    def _z(self, back: int) -> float:
        z = self.marks[-back].z if len(self.marks) >= back else nan
        return z if isfinite(z) else -inf
