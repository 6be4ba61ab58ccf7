"""One limit with deadband and delays, a row at a time (the rules of OPC 10000-9, B.1.5)."""

from __future__ import annotations

from engine.config import Alarm
from tests.benchmarks.per_frame_small import NAN


class Limit:
    """Trips after the on-delay beyond the limit, clears after the off-delay inside the deadband.

    Time in which there is no value counts for nothing and changes nothing.
    """

    def __init__(self, alarm: Alarm) -> None:
        self.id, self.channel = alarm.id, alarm.channel
        high = alarm.high is not None
        limit = alarm.high if high else alarm.low
        assert limit is not None
        self._sign = 1.0 if high else -1.0
        self._limit = limit * self._sign
        self._back = self._limit - alarm.deadband
        self._on_delay, self._off_delay = alarm.on_delay_s - 1e-6, alarm.off_delay_s - 1e-6
        self._zone = 0
        self._clock = self._since = 0.0
        self._at = NAN
        """Time of the row before, NaN if it had no value."""
        self._abnormal = False

    def step(self, t: float, value: float) -> str:
        """Return "trip", "clear" or nothing."""
        if value != value:
            self._at = NAN
            return ""
        if self._at == self._at:
            self._clock += t - self._at
        self._at = t
        signed = value * self._sign
        zone = 1 if signed > self._limit else -1 if signed < self._back else 0
        if zone != self._zone:
            self._zone, self._since = zone, self._clock
        lasted = self._clock - self._since
        if zone > 0 and not self._abnormal and lasted >= self._on_delay:
            self._abnormal = True
            return "trip"
        if zone < 0 and self._abnormal and lasted >= self._off_delay:
            self._abnormal = False
            return "clear"
        return ""
