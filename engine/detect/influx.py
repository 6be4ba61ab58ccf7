"""Influx while pumping: more in the pits than can be explained, or more out than goes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind, number
from engine.detect.no_bins import nothing_new
from engine.detect.settings_volume import InfluxSettings, LossSettings
from engine.detect.since_onset import SinceOnset
from engine.detect.total_loss import BLIND_DRILLING, NoReturns
from engine.detect.volume_watch import VolumeWatch
from engine.detect.witnesses import Witnesses

__all__ = ["Influx", "number", "own_witnesses"]

NO_RETURNS = "no returns: what comes into the hole does not come out, watch level, pressure, heat"
"""With all of the mud lost, what the pits gain was brought there. [-]"""


@dataclass(slots=True, eq=False)
class Influx:
    """Call an influx by the pits, by the return gauge, or by both together.

    The unexplained volume runs into a leaky sum, the unexplained flow into three: for slow, middle
    and fast ones. Any of them alone makes a warning at its limit, and so do pits and gauge together
    when each has come part of the way. Critical is five barrels, or a warning with a second
    witness: standpipe pressure falling, mud out warmer, gas.

    A connection, a start of the pumps or another rate makes the sums wait, not begin anew: what
    came meanwhile counts with the level after it, and at once if there was a suspicion before.
    What comes during a trip is the trip sheet's. A gauge that hangs, drifts or is noisy leaves the
    call to the pits. A single wild reading is none. The call ends when nothing more has come for
    15 min, flowing or shut in; nobody's zero ends it, and no test that was passed widens it.

    It cannot see without a pit volume or flow-in, while all the returns are lost, nor where the
    well file says that none are expected; without a return gauge it goes on by the pits.
    """

    kinds: ClassVar[tuple[str, ...]] = ("influx",)
    rule: ClassVar[str] = (
        "Unexplained volume above a leak of 0.1 bbl/min adds up to 2 bbl, or unexplained return "
        "flow above 0.6, 1 or 1.5 bbl/min to 1.8, 0.8 or 0.38 bbl, or both to a part; critical at "
        "5 bbl or with a second witness."
    )
    settings: InfluxSettings
    settle_s: float
    losses: LossSettings = field(default_factory=LossSettings)
    blind_drilling: bool = False
    watch: VolumeWatch = field(init=False)
    returns: NoReturns = field(init=False)
    witnesses: Witnesses = field(default_factory=Witnesses)
    tanks: SinceOnset = field(default_factory=SinceOnset)

    def __post_init__(self) -> None:
        self.watch = VolumeWatch(self.settings, 1.0, self.settle_s)
        self.returns = NoReturns(self.losses)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        spoken = self.witnesses.process(seen)
        lost = self.returns.process(seen)[0] | self.blind_drilling
        told = self.watch.process(seen, spoken.any_, lost)
        sight, reasons = blind(bins, "pit_volume", "flow_in")
        reasons = (*reasons, BLIND_DRILLING if self.blind_drilling else NO_RETURNS)
        sight[lost] = len(reasons)
        pumping = seen.balance["pumping"] > 0
        sight[~pumping & (told.severity == 0) & ~lost] = NOT_ON_WATCH
        excess = seen.balance["flow_excess"]
        changes = self.tanks.process(seen, told.onset)

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": number(told.volume[i]),
                "witnesses": [*own_witnesses(told.by_volume[i], told.by_flow[i]), *spoken.words(i)],
                "onset": number(told.onset[i]),
                "volume_sum_m3": number(told.by_volume[i]),
                "flow_share": number(told.by_flow[i]),
                "flow_excess_m3_s": number(excess[i]),
                **changes(i),
            }

        severity = told.severity.astype(np.int8)
        return {"influx": Verdict(bins.row, severity, sight, reasons, details)}


def own_witnesses(volume: float, flow: float) -> list[str]:
    """Name which of the two sums speak."""
    return [word for word, size in (("pit volume", volume), ("return flow", flow)) if size > 0]
