"""Second witnesses of an influx: pressure, heat and gas, each against its own recent past."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, log, sqrt

import numpy as np

from engine.block import Mask
from engine.detect.bins import BIN_S
from engine.detect.call import Seen

SLOW_S, FAST_S = 900.0, 60.0
"""Time constants of the past each is compared with, and of the present. [s]"""
LEARNS = 180
"""Bins of steady pumping before a witness may speak: a quarter of an hour. [-]"""
WAVES = 5.0
"""It speaks beyond so many times its own spread. [-]"""
SPREAD_S = 1800.0
"""Time constant of that. [s]"""
OWN = 0.1
"""While one speaks, its past follows at this share of its pace. [-]"""
SLOW, FAST, SPREAD = (1 - exp(-BIN_S / s) for s in (SLOW_S, FAST_S, SPREAD_S))
"""What one bin weighs in each. [-]"""
SETTLED_S = 180.0
FLOW_POWER = 1.8
"""Pressure goes with this power of the flow, near enough for small changes. [-]"""
LEAST = (0.02, 3.0, log(3.0))
"""Fall of the pressure as a share (usual gauges are good for 0.3 to 1 %), rise of the heat in
K, of the gas as a logarithm. [-]"""
NAMES = ("standpipe pressure falling", "mud out warmer", "gas rising")


@dataclass(slots=True)
class Past:
    """One witness."""

    least: float
    slow: float = 0.0
    fast: float = 0.0
    variance: float = 0.0
    """Of the fast mean about the slow one."""
    seen: int = 0

    def process(self, xs: Sequence[float]) -> list[bool]:
        """Go on by a bin for each of `xs`, which rise as an influx comes; return if it speaks."""
        slow, fast, variance, seen, out = self.slow, self.fast, self.variance, self.seen, []
        for x in xs:
            seen += 1
            n = 1 / seen
            fast += (n if n > FAST else FAST) * (x - fast)
            above = fast - slow if seen > 1 else 0.0
            speaks = seen > LEARNS and above > self.least and above > WAVES * sqrt(variance)
            weight = n if n > SLOW else SLOW
            if speaks:
                slow += weight * OWN * (x - slow)
            else:
                slow += weight * (x - slow)
                variance += (n if n > SPREAD else SPREAD) * (above**2 - variance)
            out.append(speaks)
        self.slow, self.fast, self.variance, self.seen = slow, fast, variance, seen
        return out


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """Which witness speaks, shape (3, m). [-]"""

    masks: Mask

    @property
    def any_(self) -> Mask:
        """At least one does, shape (m,). [-]"""
        out: Mask = np.logical_or.reduce(self.masks, axis=0)
        return out

    def words(self, i: int) -> list[str]:
        """Names of those that speak in bin `i`."""
        return [name for name, mask in zip(NAMES, self.masks, strict=True) if mask[i]]


@dataclass(slots=True, eq=False)
class Witnesses:
    """Fast mean against slow mean, while pumps are steady.

    The pressure begins anew after each start of the pumps and each change of the flow: its law of
    flow is not good enough to compare across one.
    """

    pasts: tuple[Past, Past, Past] = field(
        default_factory=lambda: (Past(LEAST[0]), Past(LEAST[1]), Past(LEAST[2]))
    )

    def process(self, seen: Seen) -> Spoken:
        """Go on by the bins of a block."""
        bins, balance = seen.bins, seen.balance
        out = np.zeros((3, len(bins)), np.bool_)
        steady = (balance["settled"] > SETTLED_S) & (balance["pumping"] > 0)
        pressure, flow = bins["standpipe_pressure"], bins["flow_in"]
        heat, gas = bins["temperature_out"], bins["gas"]
        pressing, warm, gassy = self.pasts
        for a, b in _runs(steady):
            if a:
                pressing.seen = 0  # no steady flow until now
            known = a + np.flatnonzero((pressure[a:b] > 0) & (flow[a:b] > 0))
            pairs = zip(pressure[known].tolist(), flow[known].tolist(), strict=True)
            out[0, known] = pressing.process([FLOW_POWER * log(q) - log(p) for p, q in pairs])
        if steady.size and not steady[-1]:
            pressing.seen = 0
        known = np.flatnonzero(steady & np.isfinite(heat))
        out[1, known] = warm.process(heat[known].tolist())
        known = np.flatnonzero(steady & (gas > 0))
        out[2, known] = gassy.process([log(x) for x in gas[known].tolist()])
        return Spoken(out)


def _runs(mask: Mask) -> list[tuple[int, int]]:
    """Return first and end of each run of bins that are true."""
    edges = np.flatnonzero(np.diff(mask, prepend=False, append=False)).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))
