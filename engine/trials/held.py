"""What casing and preventer tests share: pumped up to a pressure, shut in, watched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, nan
from typing import ClassVar

from engine.alarms.entries import number
from engine.ops.flow import FLOWING
from engine.trials.trial import Trial

PUMPED = 0.01
"""A rise by this share of the test pressure was pumped: heat does not do it. [-]"""


@dataclass(slots=True)
class Held(Trial):
    """A pressure that is pumped up and must hold."""

    job: ClassVar[str] = "pressure_test"
    waiting: ClassVar[str] = "the test pressure was never reached"

    start: float = nan
    """Pressure when the time began. [Pa]"""
    newest: float = nan
    """[Pa]"""
    low: float = nan
    """Lowest since. [Pa]"""

    @property
    def gauge(self) -> str:
        """The pressure that is tested: the first that is named, else the standpipe."""
        return self.watch[0] if self.watch else "standpipe_pressure"

    def needs(self) -> tuple[str, ...]:
        """Return the gauge and what else is named."""
        return tuple(dict.fromkeys((self.gauge, *self.watch)))

    def begin(self, t: float, pressure: float) -> None:
        """Let the time that counts begin."""
        self.clock, self.start, self.low = t, pressure, pressure

    def pumped_again(self, values: Mapping[str, float]) -> bool:
        """Whether somebody raised the pressure since the time began."""
        risen = self.newest - self.low > PUMPED * self.limits["pressure"]
        return risen or values["flow_in"] > FLOWING

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Follow the gauge."""
        pressure = values[self.gauge]
        if not isfinite(pressure):
            return
        self.newest = pressure
        if isfinite(self.clock):
            self.low = min(self.low, pressure)
            self.hold(t, pressure, values)
        elif pressure >= self.limits["pressure"] and not values["flow_in"] > FLOWING:
            self.begin(t, pressure)

    def hold(self, t: float, pressure: float, values: Mapping[str, float]) -> None:
        """Judge a bin while the time counts."""
        raise NotImplementedError

    def numbers(self) -> dict[str, float | None]:
        """Return start, end and the decline between them."""
        decline = (self.start - self.newest) / self.start if self.start else nan
        return {
            "start_pressure_Pa": number(self.start),
            "end_pressure_Pa": number(self.newest) if isfinite(self.clock) else None,
            "decline_fraction": number(decline),
        }
