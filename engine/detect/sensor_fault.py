"""Sensors that are not to be believed: one detector, one call, all that stands in its details."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from engine.channels import CHANNELS, Kind
from engine.detect.call import SEES, Seen, Verdict
from engine.detect.kinds import Severity
from engine.detect.sensor_frozen import Frozen
from engine.detect.sensor_pairs import Apart, Drift
from engine.detect.sensor_rows import Counted, Dropouts, Ranges, Spikes
from engine.detect.settings_sensors import SensorSettings

if TYPE_CHECKING:
    from engine.config import WellConfig

GRAVE = frozenset({
    "hook_load", "block_position", "standpipe_pressure", "pit_volume", "trip_tank_volume",
    "annulus_pressure", "pump_1_rate", "pump_2_rate", "pump_3_rate",
})  # fmt: skip
"""Sensors on which well control stands: not believing one is a warning. The return gauge has a call
of its own, with a graver word than this one's."""
SLOW = frozenset({"spikes", "drifts", "disagrees"})
"""Faults that leave the reading fit for use, or that must be asked about: advice only."""
Fault = tuple[str, str]
"""Channel and kind of fault."""


def gravity(fault: Fault) -> Severity:
    """Return how grave a fault is, by what depends on the sensor."""
    channel, kind = fault
    return Severity.WARNING if channel in GRAVE and kind not in SLOW else Severity.ADVICE


@dataclass(slots=True, eq=False)
class SensorFault:
    """Call sensors that are frozen, saturated, out of range, spiky, lost often, adrift or apart.

    Frozen: by the rules of `engine.ops.checks`, or three times the longest run of equal readings
    ever seen while what moves it runs; a sensor that always sends one number is not judged. Out of
    range for two seconds, or at the very end of its range: the reading is kept and never zeroed.
    Five single spikes, or five losses, in ten minutes; two samples in a row are data, a line that
    is down has its own alarm. Flow-in metered and by strokes 10 % apart for a minute, or their
    ratio adrift by 3 %; depths as sent and our own 10 m apart. A warning where well control stands
    on the sensor, else advice. New sensors are told while the call stands. It is never blind:
    a sensor that sends nothing for two minutes is a fault itself; one that never sent is none.
    """

    kinds: ClassVar[tuple[str, ...]] = ("sensor_fault",)
    rule: ClassVar[str] = (
        "A sensor is frozen while its rig works, out of or at the end of its range, spiky or lost "
        "five times in ten minutes, or two that should agree do not for a minute."
    )
    config: WellConfig
    settings: SensorSettings
    ranges: Ranges = field(init=False)
    dropouts: Dropouts = field(init=False)
    spikes: Spikes = field(init=False)
    frozen: Frozen = field(init=False)
    apart: Apart = field(init=False)
    drift: Drift = field(init=False)
    standing: dict[Fault, Mapping[str, Any]] = field(default_factory=dict)
    edition: int = 0

    def __post_init__(self) -> None:
        s = self.settings
        tops = {c.id: c.high for c in CHANNELS.values() if c.kind is Kind.RAW}
        own = {one.channel: one.high for one in self.config.ranges if one.high is not None}
        self.ranges = Ranges(s, tops | own, frozenset(own))
        self.dropouts = Dropouts(Counted("lost often", s.dropouts, s.count_s), s.silent_s)
        self.spikes = Spikes(s, Counted("spikes", s.spikes, s.count_s))
        self.frozen, self.apart, self.drift = Frozen(s), Apart(s), Drift(s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict at the rows at which a fault begins or ends."""
        changes = [
            *self.ranges.process(seen.rows), *self.dropouts.process(seen),
            *self.spikes.process(seen), *self.frozen.process(seen),
            *self.apart.process(seen.rows), *self.drift.process(seen),
        ]  # fmt: skip
        changes.sort(key=lambda change: change[:3])
        rows: list[int] = []
        told: list[tuple[int, int]] = []
        said: list[dict[str, Any]] = []
        for row, channel, kind, numbers in changes:
            if numbers is None:
                self.standing.pop((channel, kind), None)
            else:
                self.standing[channel, kind] = numbers
            self.edition += 1
            worst = max((gravity(fault) for fault in self.standing), default=Severity.NONE)
            if rows and rows[-1] == row:
                del rows[-1], told[-1], said[-1]
            rows.append(row)
            told.append((int(worst), self.edition))
            said.append(self._evidence())
        severity, edition = np.array(told, np.intp).reshape(len(rows), 2).T
        verdict = Verdict(
            np.array(rows, np.intp), severity.astype(np.int8),
            np.full(len(rows), SEES, np.int8), details=lambda i: said[i], edition=edition,
        )  # fmt: skip
        return {"sensor_fault": verdict}

    def _evidence(self) -> dict[str, Any]:
        faults = [{"channel": c, "fault": kind, **n} for (c, kind), n in self.standing.items()]
        words = [f"{CHANNELS[c].label.lower()} {kind}" for c, kind in self.standing]
        return {"volume_m3": None, "witnesses": words, "faults": faults}
