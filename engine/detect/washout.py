"""Washout: pressure is lost slowly at the same strokes, and nothing else changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.settings_standpipe import PumpFaultSettings, WashoutSettings
from engine.detect.standpipe import REASONS, At, Standpipe
from engine.detect.standpipe_call import Lame, evidence, percent, sights


@dataclass(slots=True, eq=False)
class Washout:
    """Call a washout by the cumulative sum of the pressure that is missing at this flow.

    Blocks of 30 s are compared with the reference in standard deviations of their own noise; the
    limit of the sum follows from the wanted false alarms and from how far neighbouring blocks
    hang together. What looks like it: a lame pump, a loss and an influx show in returns or pits
    and are not summed; a lost nozzle and a parted string are steps and are taken out; another
    rate is expected by its exponent; another mud begins a new reference. Mud that thins by half
    a per cent and more within an hour, at the same density, is not told from a washout.

    Blind without pressure or flow-in, for the first five minutes of pumping, for five minutes at
    a rate that is new, and while another mud goes round. A call stands until the pressure is
    back, another mud is round, or the bit has been out of the hole.
    """

    kinds: ClassVar[tuple[str, ...]] = ("washout",)
    rule: ClassVar[str] = (
        "Standpipe pressure missing at the same flow, in blocks of 30 s, adds up (k 0.5) to the "
        "limit of 0.05 false alarms in 12 h, and is 0.6 % or more; returns and pits unchanged."
    )
    settings: WashoutSettings
    pump: PumpFaultSettings
    standpipe: Standpipe
    lame: Lame = field(init=False)
    watched: int = 0
    """Bins on watch so far. [-]"""
    calls: int = 0
    called: bool = False

    def __post_init__(self) -> None:
        self.lame = Lame(self.pump)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        ats = self.standpipe.process(seen)
        severity, told = [], []
        for at in ats:
            now = self._grade(at)
            if now >= Severity.WARNING and not self.called:
                self.calls += 1
            self.called = now >= Severity.WARNING
            self.watched += at.sight == 0
            severity.append(now)
            told.append((self.watched, self.calls))
        sight = sights(ats, severity, at_new_rate=True)

        def details(i: int) -> dict[str, Any]:
            at, (watched, calls) = ats[i], told[i]
            fall = at.fall
            return evidence(
                at, "standpipe pressure", onset=number(fall.onset),
                fall_percent=percent(-fall.size), noise_percent=number(100 * at.noise),
                sum=number(fall.sum_), limit=number(fall.limit),
                correlation=number(fall.correlation),
                false_alarms_wanted_per_12_h=self.settings.false_alarms_per_tour,
                watched_h=number(watched * 5 / 3600), calls_so_far=calls,
            )  # fmt: skip

        return {
            "washout": Verdict(seen.bins.row, np.array(severity, np.int8), sight, REASONS, details)
        }

    def _grade(self, at: At) -> int:
        fall, set_ = at.fall, self.settings
        if self.lame.next(at):
            return Severity.NONE
        if fall.called:
            return Severity.WARNING
        likely = fall.sum_ > set_.advice * fall.limit and fall.size >= set_.least
        return Severity.ADVICE if likely else Severity.NONE
