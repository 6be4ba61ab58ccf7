"""Second witnesses of an influx: pressure, heat and gas, each against its own recent past."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, isfinite, log, nan

import numpy as np

from engine.block import Mask
from engine.detect.bins import BIN_S
from engine.detect.call import Seen

SLOW_S = 900.0
"""Time constant of the past each is compared with. [s]"""
FAST_S = 30.0
PRESSURE_FALL = 0.02
"""Of the pressure at the same flow; usual gauges are good for 0.3 to 1 %. [-]"""
WARMER_K = 3.0
GAS_TIMES = 3.0
NAMES = ("standpipe pressure falling", "mud out warmer", "gas rising")


@dataclass(frozen=True, slots=True)
class Pasts:
    """Slow and fast means: pressure (log, less 1.8 log flow), heat, gas (log)."""

    slow: tuple[float, float, float] = (nan, nan, nan)
    fast: tuple[float, float, float] = (nan, nan, nan)


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
    """Fast mean against slow mean, while pumps are steady; the slow one waits while one speaks."""

    state: Pasts = field(default_factory=Pasts)

    def process(self, seen: Seen) -> Spoken:
        """Go on by the bins of a block."""
        bins, balance = seen.bins, seen.balance
        rows = zip(
            bins["standpipe_pressure"].tolist(), bins["flow_in"].tolist(),
            bins["temperature_out"].tolist(), bins["gas"].tolist(),
            (balance["settled"] > 180).tolist(), (balance["pumping"] > 0).tolist(), strict=True,
        )  # fmt: skip
        slow, fast = list(self.state.slow), list(self.state.fast)
        quick, lazy = 1 - exp(-BIN_S / FAST_S), 1 - exp(-BIN_S / SLOW_S)
        out = np.zeros((3, len(bins)), np.bool_)
        for i, (pressure, flow, heat, gas, settled, pumping) in enumerate(rows):
            if not (settled and pumping):
                continue
            now = (
                log(pressure) - 1.8 * log(flow) if pressure > 0 and flow > 0 else nan,
                heat,
                log(gas) if gas > 0 else nan,
            )
            for k, x in enumerate(now):
                if not isfinite(x):
                    continue
                fast[k] = x if not isfinite(fast[k]) else fast[k] + quick * (x - fast[k])
                above = fast[k] - slow[k] if isfinite(slow[k]) else 0.0
                speaks = (above < -PRESSURE_FALL, above > WARMER_K, above > log(GAS_TIMES))[k]
                out[k, i] = speaks
                step = lazy * (0.1 if speaks else 1.0)
                slow[k] = x if not isfinite(slow[k]) else slow[k] + step * (x - slow[k])
        a, b, c = slow
        d, e, f = fast
        self.state = Pasts((a, b, c), (d, e, f))
        return Spoken(out)
