"""Sensors that hold one reading while the rig works: by fixed rules, and by what was learnt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, Quality
from engine.detect.bins import BIN_S
from engine.detect.call import Seen
from engine.detect.influx import number
from engine.detect.sensor_rows import Change
from engine.detect.settings_sensors import SensorSettings
from engine.ops.checks import FROZEN_RULES
from engine.ops.primitives import IntArray, previous
from engine.units import UNITS

TURNS = UNITS["rpm"].to_si(10.0)
RULED = tuple(dict.fromkeys(rule.channel for rule in FROZEN_RULES))
"""Channels that `engine.ops.checks` marks; their limits come from a computation."""
LEARNT = {
    "torque": "rotary", "temperature_out": "flow_in", "density_out": "flow_in",
    "temperature_in": "flow_in", "density_in": "flow_in",
}  # fmt: skip
"""Others, each with what must run for it to move. [-]"""
ALIVE = 20
"""Readings that differ before a run can be long: some sensors send one number for hours. [-]"""


@dataclass(slots=True)
class Run:
    """One channel; all of it while its witness runs."""

    value: float = float("nan")
    length: float = 0.0
    """Of the run at hand. [s]"""
    longest: float = 0.0
    """[s]"""
    changes: int = 0
    worked: float = 0.0
    """[s]"""
    standing: bool = False


@dataclass(slots=True, eq=False)
class Frozen:
    """Both kinds, bin by bin."""

    settings: SensorSettings
    marked: set[str] = field(default_factory=set)
    runs: dict[str, Run] = field(default_factory=lambda: {c: Run() for c in LEARNT})

    def process(self, seen: Seen) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        bins = seen.bins
        for channel in RULED:
            frozen = (bins.quality[channel] & np.uint16(Quality.FROZEN)) != 0
            changes = np.flatnonzero(frozen != previous(frozen, channel in self.marked))
            for i in changes.tolist():
                self.marked ^= {channel}
                said = {"by": "rule"} if frozen[i] else None
                yield int(bins.row[i]), channel, "frozen", said
        for channel, witness in LEARNT.items():
            least = TURNS if witness == "rotary" else 0.0
            at = np.flatnonzero((bins[witness] > least) & ~np.isnan(bins[channel]))
            if at.size:
                yield from self._runs(channel, bins.row[at], bins[channel][at])

    def _runs(self, channel: str, rows: IntArray, x: FloatArray) -> Iterable[Change]:
        """Go on by the bins in which the witness runs: only where readings are equal is work."""
        set_, run = self.settings, self.runs[channel]
        same = x == previous(x, run.value)
        changes = run.changes + np.cumsum(~same)
        worked = run.worked + BIN_S * np.arange(1, x.size + 1)
        known = (worked >= set_.learn_s) & (changes >= ALIVE)
        for i in np.flatnonzero(same | previous(same, True)).tolist():
            if not same[i]:
                if run.standing:
                    run.standing = False
                    yield int(rows[i]), channel, "frozen", None
                else:
                    run.longest = max(run.longest, run.length)
                run.length = 0.0
                continue
            run.length += BIN_S
            limit = max(set_.frozen_least_s, set_.frozen_times * run.longest)
            if run.length > limit and known[i] and not run.standing:
                run.standing = True
                said = {
                    "reading": number(float(x[i])), "for_s": run.length,
                    "longest_before_s": run.longest,
                }  # fmt: skip
                yield int(rows[i]), channel, "frozen", {"by": "longest run", **said}
        run.value, run.changes, run.worked = float(x[-1]), int(changes[-1]), float(worked[-1])
