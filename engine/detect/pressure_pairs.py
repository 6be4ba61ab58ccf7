"""Pressures that should agree because the fluid between their gauges is connected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.channels import CHANNELS
from engine.config_pressures import PressurePair
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.pressure_bins import FORGET_S, Middle, busy
from engine.states import RigState

BACK = 0.8
"""Below this share of the limit they agree again: the readings play about it. [-]"""
GRAVE = 3.0
"""At so many times the limit it is critical. [-]"""


@dataclass(slots=True)
class Pair:
    """Two gauges of the well file."""

    config: PressurePair
    middles: tuple[Middle, Middle] = field(default_factory=lambda: (Middle(3), Middle(3)))
    since: float = nan
    """They have differed since then. [s]"""
    at: float = nan
    """Newest bin with both readings. [s]"""
    difference: float = nan
    """First less second, less the offset. [Pa]"""
    said: int = Severity.NONE

    def step(self, t: float, first: float, second: float) -> None:
        """Go on by a bin in which they are connected."""
        a, b = self.middles[0].step(t, first), self.middles[1].step(t, second)
        if not (isfinite(a) and isfinite(b)):
            return
        if not t - self.at <= FORGET_S:
            self.since = nan
        self.at, limit = t, self.config.limit
        self.difference = a - b - self.config.offset
        apart = abs(self.difference)
        if apart > limit:
            self.since = self.since if isfinite(self.since) else t
        elif apart < BACK * limit:
            self.since, self.said = nan, Severity.NONE
        if isfinite(self.since) and t - self.since >= self.config.seconds:
            grave = self.said == Severity.CRITICAL or apart >= GRAVE * limit
            self.said = Severity.CRITICAL if grave else Severity.WARNING

    def rest(self) -> None:
        """They are not connected: nothing can be said."""
        self.since, self.said, self.difference = nan, Severity.NONE, nan
        for middle in self.middles:
            middle.clear()


@dataclass(slots=True, eq=False)
class PairedPressures:
    """Call two gauges of ``[[pressure_pairs]]`` that differ by more than their limit for a minute.

    Only while they are connected: in the rig states of the pair, or while a pressure test is
    declared if the pair says so. What the pumps lose between two gauges is none of it, unless a
    state with pumps is named. Three times the limit is critical. It is blind where one of two
    connected gauges is not read; without a pair, or none connected, there is nothing to watch.
    """

    kinds: ClassVar[tuple[str, ...]] = ("paired_pressure_mismatch",)
    rule: ClassVar[str] = (
        "Two connected pressures of the well file differ by more than their limit for their time."
    )
    listed: Sequence[PressurePair]
    pairs: tuple[Pair, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.pairs = tuple(Pair(one) for one in self.listed)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins, m = seen.bins, len(seen.bins)
        severity, sight = np.zeros(m, np.int8), np.full(m, NOT_ON_WATCH, np.int8)
        which, apart = np.zeros(m, np.intp), np.full(m, nan)
        if not self.pairs:
            return {self.kinds[0]: Verdict(bins.row, severity, sight)}
        gauges = [[bins[c].tolist() for c in one.config.channels] for one in self.pairs]
        for i, (t, state) in enumerate(zip(bins.t.tolist(), bins["rig_state"].tolist(),
                                           strict=True)):  # fmt: skip
            name = RigState(int(state)).id if isfinite(state) else ""
            test = busy(seen.jobs, t, "pressure_test", "inflow_test")
            for k, (pair, (first, second)) in enumerate(zip(self.pairs, gauges, strict=True)):
                if not (name in pair.config.connected or (test and pair.config.in_test)):
                    pair.rest()
                    continue
                pair.step(t, first[i], second[i])
                if not isfinite(first[i] + second[i]):
                    sight[i] = k + 1
                elif sight[i] == NOT_ON_WATCH:
                    sight[i] = 0
            said = [pair.said for pair in self.pairs]
            severity[i], which[i] = max(said), said.index(max(said))
            apart[i] = self.pairs[which[i]].difference

        def details(i: int) -> dict[str, Any]:
            pair = self.listed[which[i]]
            return {
                "volume_m3": None,
                "witnesses": [CHANNELS[c].label.lower() for c in pair.channels],
                "pair": pair.name,
                "difference_Pa": number(apart[i]),
                "limit_Pa": number(pair.limit),
            }

        reasons = tuple(f"no reading of the pair {one.name}" for one in self.listed)
        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details, which)}
