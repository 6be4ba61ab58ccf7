"""Losses while pumping: less comes back than was pumped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.influx import number, own_witnesses
from engine.detect.settings import LossSettings
from engine.detect.since_onset import SinceOnset
from engine.detect.volume_watch import VolumeWatch


@dataclass(slots=True, eq=False)
class Losses:
    """Call losses by the pits, by the return gauge, or by both: the mirror of the influx.

    It cannot see without a pit volume or flow-in.
    """

    kinds: ClassVar[tuple[str, ...]] = ("loss",)
    rule: ClassVar[str] = (
        "Unexplained loss of volume above a leak of 0.1 bbl/min adds up to 3 bbl, or missing "
        "return flow to 1.5 bbl, or both to a part."
    )
    settings: LossSettings
    settle_s: float
    watch: VolumeWatch = field(init=False)
    tanks: SinceOnset = field(default_factory=SinceOnset)

    def __post_init__(self) -> None:
        self.watch = VolumeWatch(self.settings, -1.0, self.settle_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        bins, balance = seen.bins, seen.balance
        told = self.watch.process(seen, np.zeros(len(bins), np.bool_))
        changes = self.tanks.process(seen, told.onset)
        pumping = balance["pumping"] > 0
        sight, reasons = blind(bins, "pit_volume", "flow_in")
        sight[~pumping & (told.severity == 0)] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": number(told.volume[i]),
                "witnesses": own_witnesses(told.by_volume[i], told.by_flow[i]),
                "onset": number(told.onset[i]),
                "volume_sum_m3": number(told.by_volume[i]),
                "flow_sum_m3": number(told.by_flow[i]),
                "flow_excess_m3_s": number(balance["flow_excess"][i]),
                **changes(i),
            }

        loss = Verdict(bins.row, told.severity.astype(np.int8), sight, reasons, details)
        return {"loss": loss}
