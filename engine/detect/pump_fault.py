"""A lame pump: the strokes are the same, pressure and returns are not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.standpipe import Standpipe
from engine.detect.standpipe_call import Lame, evidence, lacks, sights


@dataclass(slots=True, eq=False)
class PumpFault:
    """Call a pump that moves less than its strokes say.

    Pressure and returns fall together, and as much as the same loss of flow would make both fall.
    What looks like it: a washout and a lost nozzle leave the returns alone; losses leave the
    pressure alone; when the strokes go down too, pressure and returns are as expected.

    Blind without pressure, flow-in or flow-out, and in the first five minutes of pumping. A call
    stands until the pressure is back, whatever the gauge of the returns has learnt since.
    """

    kinds: ClassVar[tuple[str, ...]] = ("pump_fault",)
    rule: ClassVar[str] = (
        "At the same strokes the pressure is down by 4 % or more and the returns by 3 % or more, "
        "in the proportion that less flow makes, for 30 s."
    )
    lame: Lame
    standpipe: Standpipe

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        ats = self.standpipe.process(seen)
        told = self.lame.process(ats)
        called = np.array([lame for lame, _ in told], np.bool_)
        severity = np.where(called, Severity.WARNING, Severity.NONE).astype(np.int8)
        lost = np.isnan(seen.bins["flow_out"]) & ~called
        sight, reasons = lacks(sights(self.standpipe.sight, severity), lost, "no flow_out")

        def details(i: int) -> dict[str, Any]:
            return evidence(ats[i], "standpipe pressure", "return flow", onset=number(told[i][1]))

        return {"pump_fault": Verdict(seen.bins.row, severity, sight, reasons, details)}
