"""Inflow (negative) test: pressure taken off on purpose, and nothing may come back."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import ClassVar

from engine.alarms.entries import number
from engine.config_pressures import PressurePair
from engine.detect.kinds import Severity
from engine.trials.criteria import Criterion
from engine.trials.trial import PRESSURES, VOLUMES, Trial
from engine.units import BBL, PSI

MEAN_BINS = 12
"""Volumes are means of a minute: waves are no mud. [-]"""


@dataclass(slots=True)
class Tank:
    """The first minute of a tank and its newest."""

    early: list[float] = field(default_factory=list)
    late: deque[float] = field(default_factory=lambda: deque(maxlen=MEAN_BINS))

    def see(self, volume: float) -> float:
        """Take a reading, return the gain, NaN before there is one. [m3]"""
        if isfinite(volume):
            if len(self.early) < MEAN_BINS:
                self.early.append(volume)
            self.late.append(volume)
        if len(self.early) < MEAN_BINS:
            return nan
        return sum(self.late) / len(self.late) - sum(self.early) / MEAN_BINS


@dataclass(slots=True)
class InflowTest(Trial):
    """Every pressure may rise by so much above its lowest, every tank gain so much, no more.

    All gauges that are read are judged, not one that somebody picks: a line that is plugged shows
    no pressure and no flow. Pairs of the well file are compared as in `engine.detect`. A
    pressure that falls is no breach: it is bled.
    """

    name: ClassVar[str] = "inflow-test"
    rule: ClassVar[str] = (
        "30 min or more; not met if any pressure rises above its lowest by more than the limit, "
        "if a tank gains more than the limit, or if two gauges that should agree come apart. "
        "Criteria approved beforehand: 30 CFR 250.721(g); 30 min: common practice, no source."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("minutes", "time", "how long it lasts", 1800.0, 1800.0),
        Criterion("rise", "pressure", "the most a pressure may rise", 50 * PSI, 1.0),
        Criterion("gain", "volume", "the most a tank may gain", 1.0 * BBL, 1e-6),
    )
    least_s: ClassVar[float] = 1800.0
    job: ClassVar[str] = "inflow_test"
    severity: ClassVar[Severity] = Severity.CRITICAL
    waiting: ClassVar[str] = "nothing was read"

    pairs: tuple[PressurePair, ...] = ()
    apart: dict[str, float] = field(default_factory=dict)
    """Since when two gauges differ. [s since 1970-01-01 UTC]"""
    tanks: dict[str, Tank] = field(default_factory=dict)
    gains: dict[str, float] = field(default_factory=dict)

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Judge all gauges."""
        if not isfinite(self.clock):
            self.clock = self.began
        for name in PRESSURES:
            rise, limit = values[name] - self.seen[name].lowest, self.limits["rise"]
            if rise > limit:
                self.beyond(name, "risen by", rise, limit, "Pa")
        for name in VOLUMES:
            gain = self.gains[name] = self.tanks.setdefault(name, Tank()).see(values[name])
            if gain > self.limits["gain"]:
                self.beyond(name, "gained", gain, self.limits["gain"], "m3")
        for pair in self.pairs:
            if pair.in_test:
                self._compare(pair, t, values)

    def _compare(self, pair: PressurePair, t: float, values: Mapping[str, float]) -> None:
        first, second = (values[name] for name in pair.channels)
        differ = abs(first - second - pair.offset)
        if not differ > pair.limit:
            self.apart.pop(pair.name, None)
        elif t - self.apart.setdefault(pair.name, t) >= pair.seconds:
            self.beyond(pair.name, "apart by", differ, pair.limit, "Pa")

    def needs(self) -> tuple[str, ...]:
        """Return what is named; else the pressures that were ever read."""
        return self.watch or tuple(n for n in PRESSURES if self.seen[n].known)

    def finish(self) -> None:
        """A test without a gauge proves nothing."""
        if not any(self.seen[name].known for name in PRESSURES):
            self.doubts["no pressure was read"] = None

    def numbers(self) -> dict[str, float | None]:
        """Return what each tank gained."""
        return {f"{name}_gain_m3": number(gain) for name, gain in self.gains.items()}
