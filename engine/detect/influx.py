"""Influx while pumping: more in the pits than can be explained, or more out than goes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.settings import InfluxSettings
from engine.detect.since_onset import SinceOnset
from engine.detect.volume_watch import VolumeWatch
from engine.detect.witnesses import Witnesses


@dataclass(slots=True, eq=False)
class Influx:
    """Call an influx by the pits, by the return gauge, or by both together.

    The unexplained volume and the unexplained flow each run into a leaky sum. Either alone makes
    a warning at its limit, and so do both together when each has come part of the way. Critical
    is five barrels, or a warning with a second witness: standpipe pressure falling, mud out
    warmer, gas. It cannot see without a pit volume, or without flow-in; without a return gauge
    it goes on by the pits and says so in its witnesses.
    """

    kinds: ClassVar[tuple[str, ...]] = ("influx",)
    rule: ClassVar[str] = (
        "Unexplained volume above a leak of 0.1 bbl/min adds up to 2 bbl, or unexplained return "
        "flow to 1.2 bbl, or both to a part; critical at 5 bbl or with a second witness."
    )
    settings: InfluxSettings
    settle_s: float
    watch: VolumeWatch = field(init=False)
    witnesses: Witnesses = field(default_factory=Witnesses)
    tanks: SinceOnset = field(default_factory=SinceOnset)

    def __post_init__(self) -> None:
        self.watch = VolumeWatch(self.settings, 1.0, self.settle_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        bins = seen.bins
        spoken = self.witnesses.process(seen)
        told = self.watch.process(seen, spoken.any_)
        sight, reasons = blind(bins, "pit_volume", "flow_in")
        pumping = seen.balance["pumping"] > 0
        sight[~pumping & (told.severity == 0)] = NOT_ON_WATCH
        excess = seen.balance["flow_excess"]
        changes = self.tanks.process(seen, told.onset)

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": number(told.volume[i]),
                "witnesses": [*own_witnesses(told.by_volume[i], told.by_flow[i]), *spoken.words(i)],
                "onset": number(told.onset[i]),
                "volume_sum_m3": number(told.by_volume[i]),
                "flow_sum_m3": number(told.by_flow[i]),
                "flow_excess_m3_s": number(excess[i]),
                **changes(i),
            }

        severity = told.severity.astype(np.int8)
        return {"influx": Verdict(bins.row, severity, sight, reasons, details)}


def own_witnesses(volume: float, flow: float) -> list[str]:
    """Name which of the two sums speak."""
    return [word for word, size in (("pit volume", volume), ("return flow", flow)) if size > 0]


def number(value: float) -> float | None:
    """Return `value` for a journal: rounded, None for what is not a number."""
    return round(float(value), 6) if np.isfinite(value) else None
