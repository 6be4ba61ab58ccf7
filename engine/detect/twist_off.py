"""Twist-off: the string has parted, and takes pressure, hook load and torque with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_standpipe import TwistOffSettings
from engine.detect.standpipe import Standpipe
from engine.detect.standpipe_call import evidence, lacks, parted, percent, sights
from engine.detect.standpipe_steps import NEVER, Step


@dataclass(slots=True, eq=False)
class TwistOff:
    """Call a parted string from three steps within half a minute while pumping.

    Pressure and hook load step down by 5 per cent and more and less than 60 per cent of the
    torque is left; if both fall by 10 per cent, 90 per cent of the torque (off bottom the bit has
    none to lose); where no torque is known, two do. Near the bit a string loses no more weight than
    the bit gives back: there 30 per cent of the pressure are enough with the torque, as long as the
    string turns. What looks like it: a lost nozzle leaves hook load and torque, weight put on the
    bit leaves the pressure, a motor that is lifted off bottom takes less of it, slips and stops of
    the pumps change the flow and are not compared, and with strokes that come late stop the
    rotation too.

    Blind without pressure, flow-in or hook load, and in the first five minutes of pumping. A call
    stands until the pressure is back, or the bit has been out of the hole.
    """

    kinds: ClassVar[tuple[str, ...]] = ("twist_off",)
    rule: ClassVar[str] = (
        "Standpipe pressure and hook load step down by 5 % or more together at the same flow, and "
        "less than 60 % of the torque is left (90 % if both fall by 10 %); or the pressure by 30 % "
        "with the torque alone while the string still turns."
    )
    settings: TwistOffSettings
    standpipe: Standpipe
    judged: Step = NEVER
    called: Step = NEVER

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        ats = self.standpipe.process(seen)
        told = []
        for at in ats:
            if at.step is not self.judged:
                if at.step.seen_at != self.judged.seen_at and parted(at.step, self.settings):
                    self.called = at.step
                self.judged = at.step
            if self.called.size and at.shift > 0.5 * self.called.size:
                self.called = NEVER
            told.append(self.called)
        called = np.array([step.size != NEVER.size for step in told], np.bool_)
        severity = np.where(called, Severity.CRITICAL, Severity.NONE).astype(np.int8)
        lost = np.isnan(seen.bins["hook_load"]) & ~called
        sight, reasons = lacks(sights(self.standpipe.sight, severity), lost, "no hook_load")

        def details(i: int) -> dict[str, Any]:
            step = told[i]
            words = ["standpipe pressure"]
            words += ["hook load"] if step.hook_load < 1 - self.settings.hook_load else []
            words += ["torque"] if step.torque < self.settings.torque else []
            return evidence(
                ats[i], *words, onset=number(step.at), step_percent=percent(step.size),
                hook_load_left_percent=number(100 * step.hook_load),
                torque_left_percent=number(100 * step.torque),
            )  # fmt: skip

        return {"twist_off": Verdict(seen.bins.row, severity, sight, reasons, details)}
