"""Faults that show against another source: two that disagree, one that drifts away.

References
----------
.. [1] J. M. Lucas, M. S. Saccucci, Exponentially weighted moving average control schemes,
   Technometrics 32, 1990, 1-12: weight 0.03 with limit 2.44.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import log, sqrt
from statistics import fmean, stdev

import numpy as np

from engine.block import FloatArray, Mask, Table
from engine.detect.call import Seen
from engine.detect.influx import number
from engine.detect.sensor_rows import Change, turns
from engine.detect.settings_sensors import SensorSettings
from engine.ops.flow import FLOWING
from engine.ops.primitives import Delay
from engine.ops.table import pick, times

LEAST_FLOW = 5 * FLOWING
"""Below it a meter and a stroke counter cannot be compared. [m3/s]"""
SETTLED_S = 180.0
"""Since the last change of flow: both have come to rest. [s]"""
MINUTE_BINS = 12
LEARN = 30
"""Minutes that tell what the two are like when all is well. [-]"""
DEPTHS = (("reported_bit_depth", "bit_depth"), ("reported_hole_depth", "hole_depth"))


@dataclass(slots=True, eq=False)
class Apart:
    """Two sources of one quantity that differ for a minute; neither is corrected."""

    settings: SensorSettings
    delays: dict[str, Delay] = field(default_factory=dict)

    def process(self, rows: Table) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        if not times(rows).size:
            return
        meter, own = (pick(rows, c).usable() for c in ("flow_in_measured", "flow_in"))
        most = np.maximum(meter, own)
        far = (most > LEAST_FLOW) & (np.abs(meter - own) > self.settings.apart * most)
        yield from self._held(rows, "flow_in_measured", far, meter, own, "m3_s")
        for sent, ours in DEPTHS:
            if sent in rows and ours in rows:
                a, b = rows[sent].usable(), rows[ours].usable()
                far = np.abs(a - b) > self.settings.depth_apart
                yield from self._held(rows, sent, far, a, b, "m")

    def _held(
        self, rows: Table, channel: str, far: Mask, a: FloatArray, b: FloatArray, unit: str
    ) -> Iterable[Change]:
        set_ = self.settings
        delay = self.delays.setdefault(channel, Delay(set_.apart_s, set_.apart_s))
        before = delay.state.on
        if not before and delay.state.run.code is False and not far.any():
            return
        on, _ = delay.process(times(rows), far)
        for row in turns(on, before).tolist():
            said = {f"reading_{unit}": number(a[row]), f"other_{unit}": number(b[row])}
            yield row, channel, "disagrees", said if on[row] else None


@dataclass(slots=True, eq=False)
class Drift:
    """The flow meter against the strokes, minute by minute, from where they once were."""

    settings: SensorSettings
    minute: list[float] = field(default_factory=list)
    """Logarithms of the ratio in the bins of the minute at hand. [-]"""
    first: tuple[float, ...] = ()
    level: float = 0.0
    noise: float = 0.0
    mean: float = 0.0
    """Moving mean of what the ratio is off. [-]"""
    standing: bool = False

    def process(self, seen: Seen) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        bins = seen.bins
        meter, own = bins["flow_in_measured"], bins["flow_in"]
        least = np.minimum(meter, own)  # NaN if one is
        fit = (least > LEAST_FLOW) & (seen.balance["settled"] > SETTLED_S)
        at = np.flatnonzero(fit & np.isfinite(meter) & np.isfinite(own))
        ratios = zip(bins.row[at].tolist(), (meter[at] / own[at]).tolist(), strict=True)
        for row, ratio in ratios:
            self.minute.append(log(ratio))
            if len(self.minute) == MINUTE_BINS:
                mean, self.minute = fmean(self.minute), []
                yield from self._minute(row, mean)

    def _minute(self, row: int, ratio: float) -> Iterable[Change]:
        set_ = self.settings
        if len(self.first) < LEARN:
            self.first = (*self.first, ratio)
            if len(self.first) == LEARN:
                self.level, self.noise = fmean(self.first), stdev(self.first)
            return
        weight = set_.drift_weight
        self.mean += weight * (ratio - self.level - self.mean)
        limit = set_.drift_limit * self.noise * sqrt(weight / (2 - weight))
        off = abs(self.mean)
        if not self.standing and off > max(limit, set_.drift):
            self.standing = True
            said = {"off_share": number(self.mean), "limit_share": number(max(limit, set_.drift))}
            yield row, "flow_in_measured", "drifts", said
        elif self.standing and off < 0.5 * max(limit, set_.drift):
            self.standing = False
            yield row, "flow_in_measured", "drifts", None
