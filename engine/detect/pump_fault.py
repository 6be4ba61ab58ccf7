"""A lame pump: the strokes are the same, pressure and returns are not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.settings_standpipe import PumpFaultSettings
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
    settings: PumpFaultSettings
    standpipe: Standpipe
    lame: Lame = field(init=False)

    def __post_init__(self) -> None:
        self.lame = Lame(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        ats = self.standpipe.process(seen)
        severity, onsets = [], []
        for at in ats:
            severity.append(Severity.WARNING if self.lame.next(at) else Severity.NONE)
            onsets.append(self.lame.since)
        lost = np.isnan(seen.bins["flow_out"]) & (np.array(severity) == 0)
        sight, reasons = lacks(sights(ats, severity), lost.tolist(), "no flow_out")

        def details(i: int) -> dict[str, Any]:
            return evidence(ats[i], "standpipe pressure", "return flow", onset=number(onsets[i]))

        row = seen.bins.row
        return {"pump_fault": Verdict(row, np.array(severity, np.int8), sight, reasons, details)}
