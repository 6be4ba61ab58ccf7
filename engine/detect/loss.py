"""Losses while pumping: less comes back than was pumped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind, number
from engine.detect.influx import own_witnesses
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_volume import LossSettings
from engine.detect.since_onset import SinceOnset
from engine.detect.total_loss import BLIND_DRILLING
from engine.detect.volume_watch import VolumeWatch


@dataclass(slots=True, eq=False)
class Losses:
    """Call losses by the pits, by the return gauge, or by both: the mirror of the influx.

    The rate since the onset has a word from the table of grades. The slowest of them, seepage, is
    advice however long it goes on: rock that soaks, solids control, mud on cuttings. What the
    crew lets out of the pits looks the same, and is told by what the return gauge says: nothing.

    It cannot see without a pit volume or flow-in, nor where the well file says that no returns
    are expected.
    """

    kinds: ClassVar[tuple[str, ...]] = ("loss",)
    rule: ClassVar[str] = (
        "Unexplained loss of volume above a leak of 0.1 bbl/min adds up to 3 bbl, or missing "
        "return flow above 0.6, 1 or 1.5 bbl/min to 2, 0.9 or 0.43 bbl, or both to a part; "
        "advice as long as it only seeps."
    )
    settings: LossSettings
    settle_s: float
    blind_drilling: bool = False
    watch: VolumeWatch = field(init=False)
    tanks: SinceOnset = field(default_factory=SinceOnset)
    standing: bool = False
    """A loss faster than seepage has been called and stands."""

    def __post_init__(self) -> None:
        self.watch = VolumeWatch(self.settings, -1.0, self.settle_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins, balance = seen.bins, seen.balance
        hidden = np.full(len(bins), self.blind_drilling)
        told = self.watch.process(seen, np.zeros(len(bins), np.bool_), hidden)
        changes = self.tanks.process(seen, told.onset)
        span = np.maximum(bins.t - told.onset, 1.0)
        rate = np.where(told.volume > 0, told.volume / span, np.nan)
        severity = self._graded(told.severity, rate, told.by_flow)
        pumping = balance["pumping"] > 0
        sight, reasons = blind(bins, "pit_volume", "flow_in")
        sight[~pumping & (severity == 0)] = NOT_ON_WATCH
        if self.blind_drilling:
            sight[:], reasons = 1, (BLIND_DRILLING,)

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": number(told.volume[i]),
                "rate_m3_s": number(rate[i]),
                "grade": self.grade(rate[i]),
                "witnesses": own_witnesses(told.by_volume[i], told.by_flow[i]),
                "onset": number(told.onset[i]),
                "volume_sum_m3": number(told.by_volume[i]),
                "flow_share": number(told.by_flow[i]),
                "flow_excess_m3_s": number(balance["flow_excess"][i]),
                **changes(i),
            }

        return {"loss": Verdict(bins.row, severity.astype(np.int8), sight, reasons, details)}

    def grade(self, rate: float) -> str | None:
        """Return the word for a rate [m3/s]; None if it is not known."""
        if not np.isfinite(rate):
            return None
        fits = (grade.name for grade in self.settings.grades if rate <= grade.up_to)
        return next(fits, self.settings.most)

    def _graded(self, severity: FloatArray, rate: FloatArray, flow: FloatArray) -> FloatArray:
        """Return the severities with seepage as advice, unless more was called and stands."""
        slowest = self.settings.grades[0].up_to if self.settings.grades else 0.0
        out = severity.copy()
        if not (severity >= Severity.WARNING).any():
            self.standing = self.standing and bool((severity > Severity.NONE).all())
            return out
        for i, grave in enumerate(severity.tolist()):
            if grave < Severity.WARNING:
                self.standing = self.standing and grave > Severity.NONE
            elif not self.standing:
                self.standing = not rate[i] <= slowest or flow[i] >= 1.0
                out[i] = grave if self.standing else Severity.ADVICE
        return out
