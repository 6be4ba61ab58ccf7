"""All detectors that go by the standpipe pressure, around the one reference they share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.detect.call import Detector
from engine.detect.nozzles import Nozzles
from engine.detect.pack_off import PackOff
from engine.detect.pump_fault import PumpFault
from engine.detect.standpipe import Standpipe
from engine.detect.standpipe_call import Lame
from engine.detect.standpipe_fall import Fall
from engine.detect.twist_off import TwistOff
from engine.detect.washout import Washout

if TYPE_CHECKING:
    from engine.detect.settings import Detect


def standpipe_detectors(d: Detect) -> tuple[Detector, ...]:
    """Return them with the settings of a well file."""
    least = min(d.nozzle.lost, d.nozzle.slight, d.nozzle.plugged, d.twist_off.pressure)
    standpipe = Standpipe(d.standpipe, Fall(d.washout), least)
    lame = Lame(d.pump_fault)
    return (
        Washout(d.washout, lame, standpipe),
        Nozzles(d.nozzle, d.pump_fault, d.pack_off, d.twist_off, standpipe),
        PumpFault(lame, standpipe),
        PackOff(d.pack_off, standpipe),
        TwistOff(d.twist_off, standpipe),
    )
