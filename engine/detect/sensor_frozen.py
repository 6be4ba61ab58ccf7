"""Sensors that hold one reading while the rig works: by fixed rules, and by what was learnt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from engine.block import Quality
from engine.detect.bins import BIN_S
from engine.detect.call import Seen
from engine.detect.influx import number
from engine.detect.sensor_rows import Change
from engine.detect.settings_sensors import SensorSettings
from engine.ops.checks import FROZEN_RULES
from engine.ops.primitives import previous
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
            rows = zip(
                bins.row.tolist(), bins[channel].tolist(), bins[witness].tolist(), strict=True
            )
            run = self.runs[channel]
            for row, x, moves in rows:
                if moves > least and x == x:  # NaN is neither
                    yield from self._step(channel, run, row, x)

    def _step(self, channel: str, run: Run, row: int, x: float) -> Iterable[Change]:
        set_ = self.settings
        run.worked += BIN_S
        if x != run.value:
            if run.standing:
                run.standing = False
                yield row, channel, "frozen", None
            else:
                run.longest = max(run.longest, run.length)
            run.value, run.length, run.changes = x, 0.0, run.changes + 1
            return
        run.length += BIN_S
        limit = max(set_.frozen_least_s, set_.frozen_times * run.longest)
        known = run.worked >= set_.learn_s and run.changes >= ALIVE
        if known and run.length > limit and not run.standing:
            run.standing = True
            said = {"reading": number(x), "for_s": run.length, "longest_before_s": run.longest}
            yield row, channel, "frozen", {"by": "longest run", **said}
