"""Losses while pumping: less comes back than was pumped, or nothing does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.influx import number, own_witnesses
from engine.detect.kinds import Severity
from engine.detect.settings import LossSettings
from engine.detect.volume_watch import VolumeWatch
from engine.ops.primitives import Delay, DelayState


@dataclass(slots=True, eq=False)
class Losses:
    """Call losses by the pits, by the return gauge, or both, and a total loss in 20 s.

    The mirror of the influx. A total loss is returns below 5 % of flow-in for 20 s, once the
    flow line has had 90 s to fill after a start of the pumps. It cannot see without a pit
    volume or flow-in; the total loss needs a return gauge. Where a section is drilled without
    returns on purpose (``blind_drilling`` of the well file) both say that they are blind.
    """

    kinds: ClassVar[tuple[str, ...]] = ("loss", "total_loss")
    rule: ClassVar[str] = (
        "Unexplained loss of volume above a leak of 0.1 bbl/min adds up to 3 bbl, or missing "
        "return flow to 1.5 bbl, or both to a part. Total: returns below 5 % of flow-in for 20 s."
    )
    settings: LossSettings
    settle_s: float
    watch: VolumeWatch = field(init=False)
    none: DelayState = field(default_factory=DelayState)

    def __post_init__(self) -> None:
        self.watch = VolumeWatch(self.settings, -1.0, self.settle_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        bins, balance = seen.bins, seen.balance
        told = self.watch.process(seen, np.zeros(len(bins), np.bool_))
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
                "unexplained_m3": number(balance["unexplained"][i]),
                "flow_excess_m3_s": number(balance["flow_excess"][i]),
            }

        loss = Verdict(bins.row, told.severity.astype(np.int8), sight, reasons, details)
        return {"loss": loss, "total_loss": self._total(seen, told.volume)}

    def _total(self, seen: Seen, lost: FloatArray) -> Verdict:
        bins, balance = seen.bins, seen.balance
        out, expected = bins["flow_out"], balance["flow_expected"]
        due = (balance["pumping"] > 0) & (balance["settled"] > 90)
        gone = due & (out < self.settings.total_share * expected)
        delay = Delay(self.settings.total_s - 2.5, 10.0, self.none)
        on, _ = delay.process(bins.t, gone)
        self.none = delay.state
        sight, reasons = blind(bins, "flow_out", "flow_in")
        sight[~due & ~on] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": number(lost[i]),
                "witnesses": ["return flow"],
                "flow_in_m3_s": number(bins["flow_in"][i]),
                "flow_out_m3_s": number(out[i]),
            }

        severity = np.where(on, Severity.CRITICAL, Severity.NONE).astype(np.int8)
        return Verdict(bins.row, severity, sight, reasons, details)
