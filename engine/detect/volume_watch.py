r"""The leaky volume: how much has come, or gone, faster than what is never called.

.. math:: S = \max(0, S + \Delta U - k\,\Delta t)

in volume and not in standard deviations, so that its limits are those a driller speaks of. It is
the cumulative sum of Page with a reference value k.

References
----------
.. [1] E. S. Page, Continuous inspection schemes, Biometrika 41, 1954, 100-115.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite, nan

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.call import Seen
from engine.detect.kinds import Severity
from engine.detect.settings import WatchSettings

LINE_S = 90.0
"""After a start of the pumps, volumes count again: the flow line is modelled, and what is left of
its error is small by then. [s]"""
CAP = 1.5
"""The sum stops at this many times the gravest limit, so that it can come back in an hour. [-]"""


@dataclass(frozen=True, slots=True)
class Sums:
    """Where both sums stand."""

    volume: float = 0.0
    """By the pits. [m3]"""
    flow: float = 0.0
    """By the return gauge. [m3]"""
    last: float = nan
    """Newest filtered volume that counted. [m3]"""
    last_at: float = nan
    """[s]"""
    onset: float = nan
    """When the volume sum was last 0. [s]"""
    from_volume: float = nan
    """Filtered volume at that time. [m3]"""
    severity: int = Severity.NONE


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """What a watch makes of m bins; arrays of shape (m,)."""

    severity: FloatArray
    volume: FloatArray
    """Come (gone) since the onset. [m3]"""
    by_volume: FloatArray
    """Sums. [m3]"""
    by_flow: FloatArray
    onset: FloatArray
    """[s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class VolumeWatch:
    """Both sums in one direction: +1 for what comes, -1 for what goes."""

    limits: WatchSettings
    sign: float
    settle_s: float
    """Before this after a change of flow, the return gauge is not used. [s]"""
    state: Sums = field(default_factory=Sums)

    def process(self, seen: Seen, witness: Mask) -> Watched:
        """Go on by the bins of a block.

        Parameters
        ----------
        seen : Seen
        witness : ndarray
            Whether a second witness speaks, shape (m,). [-]
        """
        b = seen.balance
        rows = zip(
            seen.bins.t.tolist(), b["filtered"].tolist(), b["flow_excess"].tolist(),
            b["pumping"].tolist(), b["settled"].tolist(), b["flow_noise"].tolist(),
            witness.tolist(), strict=True,
        )  # fmt: skip
        out = np.array(list(self._walk(rows))).reshape(len(seen.bins), 5).T
        return Watched(*out)

    def _walk(self, rows: Iterator[tuple[float, ...]]) -> Iterator[tuple[float, ...]]:
        limits, s = self.limits, self.state
        volume, flow, last, last_at = s.volume, s.flow, s.last, s.last_at
        onset, start, severity = s.onset, s.from_volume, s.severity
        most = CAP * limits.critical
        for t, filtered, excess, pumping, settled, noise, witness in rows:
            flow_limit = max(limits.flow_volume, limits.flow_volume_s * noise)
            if pumping and settled >= LINE_S and isfinite(filtered):
                if isfinite(last):
                    step = self.sign * (filtered - last) - limits.leak * min(t - last_at, LINE_S)
                    volume = min(max(0.0, volume + step), most)
                last, last_at = filtered, t
                if volume == 0.0:
                    onset, start = t, filtered
            if pumping and settled >= self.settle_s and isfinite(excess):
                leak = max(limits.flow_leak, limits.flow_leak_noise * noise)
                flow = max(0.0, flow + (self.sign * excess - leak) * BIN_S)
                flow = min(flow, CAP * flow_limit)
            severity = self._grade(volume, flow / flow_limit, severity, bool(witness))
            come = self.sign * (last - start) if isfinite(last) and isfinite(start) else nan
            yield severity, come, volume, flow, onset
        self.state = Sums(volume, flow, last, last_at, onset, start, severity)

    def _grade(self, volume: float, flow: float, before: int, witness: bool) -> int:
        """Grade a volume [m3] and a flow sum as a share of its limit [-]."""
        limits = self.limits
        share = limits.combine * (volume / limits.warning + flow)
        warned = volume >= limits.warning or flow >= 1.0 or share >= 1.0
        if volume >= limits.critical or (warned and witness):
            return Severity.CRITICAL
        if warned:
            return max(Severity.WARNING, before)
        if volume < limits.back * limits.advice and flow < limits.back:
            return Severity.NONE
        advised = volume >= limits.advice or flow >= 0.6
        return max(before, Severity.ADVICE) if advised or before else Severity.NONE
