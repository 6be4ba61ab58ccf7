"""How long an alarm may take from the sensor to the ear, part by part (R-19)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engine.config_alarm import Alarm
from engine.config_feed import Feed
from engine.detect.kinds import CALL_CHANNELS

WELL_CONTROL_S = 20.0
"""Longest for a well-control alarm. IOGP Well Control Incident Lesson Sharing 21-6: an influx hid
between two points 20 s apart. [s]"""
REFRESH_S = 0.5
"""From the row to the horn and the screen: 0.2 s to the disk, 0.2 s to the page, rounded up. [s]"""
CALL_S = 5.0
"""A detector looks at means of so long; how large a thing must be for it to call is its own. [s]"""
FILTER_S = {
    "pressure_residual": 30.0,
    "rop": 30.0,
    "specific_energy": 30.0,
    "d_exponent": 30.0,
    "corrected_d_exponent": 30.0,
    **dict.fromkeys(CALL_CHANNELS, CALL_S),
}
"""Channels that are means, and over how long; all others are as old as their samples. [s]"""


@dataclass(frozen=True, slots=True)
class Reaction:
    """The parts, each at its longest."""

    sample_s: float
    """Age of the sample: the longest interval of a live feed. [s]"""
    filter_s: float
    """[s]"""
    delay_s: float
    """On-delay of the alarm. [s]"""
    refresh_s: float
    """[s]"""

    @property
    def total_s(self) -> float:
        """All of it. [s]"""
        return self.sample_s + self.filter_s + self.delay_s + self.refresh_s


def reaction(alarm: Alarm, feeds: Sequence[Feed]) -> Reaction:
    """Return how long `alarm` may take; feeds without a port are files and do not count."""
    sample = max((feed.interval_s for feed in feeds if feed.port), default=1.0)
    return Reaction(sample, FILTER_S.get(alarm.channel, 0.0), alarm.on_delay_s, REFRESH_S)


def too_slow(alarm: Alarm, feeds: Sequence[Feed]) -> str:
    """Say why a well-control alarm is too slow, empty if it is not or is of another kind."""
    parts = reaction(alarm, feeds)
    if not alarm.well_control or parts.total_s <= WELL_CONTROL_S:
        return ""
    return (
        f"a well-control alarm answers within {WELL_CONTROL_S:g} s; this one may take "
        f"{parts.total_s:g} s: sample {parts.sample_s:g}, filter {parts.filter_s:g}, "
        f"on-delay {parts.delay_s:g}, refresh {parts.refresh_s:g}"
    )
