"""Washout: pressure is lost slowly at the same strokes, and nothing else changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import SEES, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_standpipe import WashoutSettings
from engine.detect.standpipe import REASONS, Standpipe
from engine.detect.standpipe_call import Lame, evidence, percent, sights
from engine.detect.standpipe_fall import Fallen


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
    lame: Lame
    standpipe: Standpipe
    watched: int = 0
    """Bins on watch so far. [-]"""
    calls: int = 0
    called: bool = False

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        ats = self.standpipe.process(seen)
        grades, calls = [], []
        fall, grade = None, 0
        for at, (lame, _) in zip(ats, self.lame.process(ats), strict=True):
            if at.fall is not fall:  # it changes once in a block of 30 s
                fall = at.fall
                grade = self._grade(fall)
            now = 0 if lame else grade
            if (now >= Severity.WARNING) != self.called:
                self.called = not self.called
                self.calls += self.called
            grades.append(now)
            calls.append(self.calls)
        severity = np.array(grades, np.int8)
        watched = self.watched + np.cumsum(self.standpipe.sight == SEES)
        self.watched = int(watched[-1]) if watched.size else self.watched

        def details(i: int) -> dict[str, Any]:
            at = ats[i]
            fall = at.fall
            return evidence(
                at, "standpipe pressure", onset=number(fall.onset),
                fall_percent=percent(-fall.size), noise_percent=number(100 * at.noise),
                sum=number(fall.sum_), limit=number(fall.limit),
                correlation=number(fall.correlation),
                false_alarms_wanted_per_12_h=self.settings.false_alarms_per_tour,
                watched_h=number(watched[i] * 5 / 3600), calls_so_far=calls[i],
            )  # fmt: skip

        sight = sights(self.standpipe.sight, severity, at_new_rate=True)
        return {"washout": Verdict(seen.bins.row, severity, sight, REASONS, details)}

    def _grade(self, fall: Fallen) -> int:
        if fall.called:
            return int(Severity.WARNING)
        set_ = self.settings
        likely = fall.sum_ > set_.advice * fall.limit and fall.size >= set_.least
        return int(Severity.ADVICE) if likely else 0
