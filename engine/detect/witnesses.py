"""Second witnesses of an influx: pressure, heat and gas, each against its own recent past."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, isfinite, log, sqrt

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

    def step(self, x: float) -> bool:
        """Go on by a bin with `x`, which rises as an influx comes; return whether it speaks."""
        self.seen += 1
        n = 1 / self.seen
        self.fast += max(FAST, n) * (x - self.fast)
        above = self.fast - self.slow if self.seen > 1 else 0.0
        learnt = self.seen > LEARNS
        speaks = learnt and above > max(self.least, WAVES * sqrt(self.variance))
        pace = OWN if speaks else 1.0
        self.slow += max(SLOW, n) * pace * (x - self.slow)
        if not speaks:
            self.variance += max(SPREAD, n) * (above**2 - self.variance)
        return speaks


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
        rows = zip(
            bins["standpipe_pressure"].tolist(), bins["flow_in"].tolist(),
            bins["temperature_out"].tolist(), bins["gas"].tolist(),
            (balance["settled"] > SETTLED_S).tolist(), (balance["pumping"] > 0).tolist(),
            strict=True,
        )  # fmt: skip
        out = np.zeros((3, len(bins)), np.bool_)
        pressing, warm, gassy = self.pasts
        for i, (pressure, flow, heat, gas, settled, pumping) in enumerate(rows):
            if not (settled and pumping):
                pressing.seen = 0
                continue
            if pressure > 0 and flow > 0:
                out[0, i] = pressing.step(FLOW_POWER * log(flow) - log(pressure))
            if isfinite(heat):
                out[1, i] = warm.step(heat)
            if gas > 0:
                out[2, i] = gassy.step(log(gas))
        return Spoken(out)
