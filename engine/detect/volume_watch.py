"""What has come, or gone, by the pits and by the return gauge, and how grave that is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.balance import TRIP
from engine.detect.call import Seen
from engine.detect.flow_above import HANGS, FlowAbove
from engine.detect.flow_sum import FlowSums
from engine.detect.kinds import Severity
from engine.detect.pit_level import ANEW, COUNTS, PitLevel
from engine.detect.settings_volume import WatchSettings
from engine.detect.volume_sum import VolumeSum

ADVISED = 0.75
"""Share of a sum of the return gauge that makes an advice. [-]"""
CALM = 0.3
"""Below this share of the least limit, by pits and by flow, there is no need to grade. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """What a watch makes of m bins; arrays of shape (m,)."""

    severity: FloatArray
    volume: FloatArray
    """Come (gone) since the onset. [m3]"""
    by_volume: FloatArray
    """Sum by the pits. [m3]"""
    by_flow: FloatArray
    """Largest sum by the return gauge, as a share of its limit for a warning. [-]"""
    onset: FloatArray
    """[s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class VolumeWatch:
    """Both sums in one direction: +1 for what comes, -1 for what goes."""

    limits: WatchSettings
    sign: float
    settle_s: float
    """Before this after a change of flow, the return gauge is not used. [s]"""
    level: PitLevel = field(init=False)
    above: FlowAbove = field(init=False)
    volume: VolumeSum = field(init=False)
    flow: FlowSums = field(init=False)
    severity: int = Severity.NONE
    stopped: float = nan
    """Depth of the bit when the pumps stopped. [m]"""
    _calm: tuple[float, float] = field(init=False)
    """Volume on usual pits [m3] and share of the flow [-] that, both, are far from a call."""

    def __post_init__(self) -> None:
        limits = self.limits
        least = min(limits.back * limits.advice, limits.warning, limits.critical)
        self._calm = CALM * least, CALM * limits.back
        self.level = PitLevel(limits, self.sign)
        self.above = FlowAbove(limits, self.sign)
        self.volume = VolumeSum(limits)
        self.flow = FlowSums(limits)

    def process(self, seen: Seen, witness: Mask, hidden: Mask | None = None) -> Watched:
        """Go on by the bins of a block.

        Parameters
        ----------
        seen : Seen
        witness : ndarray
            Whether a second witness speaks, shape (m,). [-]
        hidden : ndarray, optional
            Bins in which nothing can be seen, shape (m,): both sums wait. [-]
        """
        bins, b = seen.bins, seen.balance
        pumping, settled = b["pumping"] > 0, b["settled"]
        skipped = self._skipped(bins["bit_depth"], pumping, hidden)
        scale = self.level.scale
        levels = self.level.process(b["unexplained"], pumping, settled, skipped)
        used = pumping & (settled >= self.settle_s) & ~skipped
        flows = self.above.process(bins["flow_out"], b["flow_excess"], b["flow_expected"], used)
        rows = zip(
            bins.t.tolist(), pumping.tolist(), witness.tolist(), skipped.tolist(), *levels, *flows,
            strict=True,
        )  # fmt: skip
        return self._walk(rows, scale)

    def _walk(self, rows: Iterator[tuple[Any, ...]], before: float) -> Watched:
        """Go on by the bins; `before` is the scale of the pits until now."""
        volume, flow, limits = self.volume, self.flow, self.limits
        suspicion, (little, few) = limits.back * limits.advice, self._calm
        severities, come, sizes, shares, onsets = [], [], [], [], []
        for t, pumps, witness, skip, use, level, scale, flows, fresh, above, noise in rows:
            if skip:
                volume.last = nan
            elif use == COUNTS:
                volume.see(level, scale)
                # With a suspicion that stands, the level counts while the pumps stand too.
                if pumps or volume.size >= suspicion * before:
                    volume.count(t, level, scale)
            elif use == ANEW:
                volume.mark = nan
            if fresh:
                flow.fresh()
            if flows == COUNTS:
                flow.count(above, noise)
            elif flows == HANGS:
                flow.hangs()
            if self.severity and volume.quiet >= limits.over_s and flow.share < 1:
                volume.empty(t, level)
                flow.empty()
            before = scale
            size, share = volume.size, flow.share
            if self.severity or size > little * scale or share > few:
                self.severity = self._grade(size / scale, share, witness)
            severities.append(self.severity)
            come.append(volume.come)
            sizes.append(size)
            shares.append(share)
            onsets.append(volume.onset)
        return Watched(
            *(np.array(x, np.float64) for x in (severities, come, sizes, shares, onsets))
        )

    def _skipped(self, bit: FloatArray, pumping: Mask, hidden: Mask | None) -> Mask:
        """Where nothing can be seen, or the bit has gone far since the pumps stopped: on a trip."""
        skipped = []
        unseen = np.zeros(bit.size, np.bool_) if hidden is None else hidden
        for depth, pumps, skip in zip(bit.tolist(), pumping.tolist(), unseen.tolist(), strict=True):
            if not skip:
                if pumps or not isfinite(self.stopped):
                    self.stopped = depth
                skip = abs(depth - self.stopped) > TRIP
            skipped.append(skip)
        return np.array(skipped, np.bool_)

    def _grade(self, volume: float, flow: float, witness: bool) -> int:
        """Grade a volume on usual pits [m3] and a flow sum as a share of its limit [-]."""
        limits, before = self.limits, self.severity
        both = limits.combine * (volume / limits.warning + flow)
        warned = volume >= limits.warning or flow >= 1.0 or both >= 1.0
        if volume >= limits.critical or (warned and witness):
            return Severity.CRITICAL
        if warned:
            return max(Severity.WARNING, before)
        if volume < limits.back * limits.advice and flow < limits.back:
            return Severity.NONE
        advised = volume >= limits.advice or flow >= ADVISED
        return max(before, Severity.ADVICE) if advised or before else Severity.NONE
