"""What has come, or gone, by the pits and by the return gauge, and how grave that is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite, nan

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.balance import TRIP
from engine.detect.call import Seen
from engine.detect.flow_sum import FlowSums
from engine.detect.kinds import Severity
from engine.detect.settings_volume import WatchSettings
from engine.detect.volume_sum import VolumeSum

ADVISED = 0.75
"""Share of a sum of the return gauge that makes an advice. [-]"""


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
    volume: VolumeSum = field(init=False)
    flow: FlowSums = field(init=False)
    severity: int = Severity.NONE
    stopped: float = nan
    """Depth of the bit when the pumps stopped. [m]"""

    def __post_init__(self) -> None:
        self.volume = VolumeSum(self.limits, self.sign)
        self.flow = FlowSums(self.limits, self.sign)

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
        b, m = seen.balance, len(seen.bins)
        rows = zip(
            seen.bins.t.tolist(), b["unexplained"].tolist(), (b["pumping"] > 0).tolist(),
            b["settled"].tolist(), seen.bins["flow_out"].tolist(), b["flow_excess"].tolist(),
            b["flow_expected"].tolist(), seen.bins["bit_depth"].tolist(), witness.tolist(),
            (np.zeros(m, np.bool_) if hidden is None else hidden).tolist(), strict=True,
        )  # fmt: skip
        return Watched(*np.array(list(self._walk(rows))).reshape(m, 5).T)

    def _walk(self, rows: Iterator[tuple[float, ...]]) -> Iterator[tuple[float, ...]]:
        volume, flow = self.volume, self.flow
        for t, level, pumping, settled, out, excess, expected, bit, witness, hidden in rows:
            if hidden or self._trips(bit, bool(pumping)):
                volume.skip()
            else:
                suspect = volume.size >= self.limits.back * self.limits.advice * volume.scale
                volume.step(t, level, bool(pumping), settled, suspect)
                if pumping and settled >= self.settle_s:
                    flow.step(out, excess, expected)
            if self.severity and volume.progress.quiet >= self.limits.over_s and flow.share < 1:
                volume.empty(t)
                flow.empty()
            share = flow.share
            self.severity = self._grade(volume.size / volume.scale, share, bool(witness))
            yield self.severity, volume.come, volume.size, share, volume.onset

    def _trips(self, bit: float, pumping: bool) -> bool:
        """Whether the string is on a trip: it has gone far since the pumps stopped."""
        if pumping or not isfinite(self.stopped):
            self.stopped = bit
        return abs(bit - self.stopped) > TRIP

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
