"""The detectors of pressures that nobody pumps, and of the return gauge, made from a well file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.detect.annuli import AnnulusPressure
from engine.detect.bleed_rebuild import BleedRebuild
from engine.detect.call import Detector
from engine.detect.pressure_off import PressureRisePumpsOff
from engine.detect.pressure_pairs import PairedPressures
from engine.detect.returns_watch import ReturnsNotMeasured
from engine.detect.shut_in import ShutInFall

if TYPE_CHECKING:
    from engine.config import WellConfig


def pressure_detectors(config: WellConfig) -> tuple[Detector, ...]:
    """Return them with the settings of `config`."""
    d = config.detect
    return (
        PressureRisePumpsOff(d.pressure_off),
        BleedRebuild(d.bleed),
        AnnulusPressure(d.annulus, config.annuli),
        ShutInFall(d.shut_in),
        PairedPressures(config.pressure_pairs),
        ReturnsNotMeasured(d.returns, config.profile.flow_normal),
    )
