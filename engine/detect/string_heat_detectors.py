"""Detectors of string, rock, heat and gas, made from a well file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.detect.call import Detector
from engine.detect.drilling_break import DrillingBreak
from engine.detect.gas_at_surface import GasAtSurface
from engine.detect.hook_load_lost import HookLoadLost
from engine.detect.overpull import Overpull
from engine.detect.stick_slip import StickSlip
from engine.detect.temperature_rise import TemperatureRise

if TYPE_CHECKING:
    from engine.config import WellConfig


def string_heat_detectors(config: WellConfig) -> tuple[Detector, ...]:
    """Return those that look at hook load, torque, rate of penetration, heat and gas."""
    d = config.detect
    return (
        Overpull(config, d.overpull),
        HookLoadLost(config, d.hook_load_lost),
        StickSlip(d.stick_slip),
        DrillingBreak(d.drilling_break),
        TemperatureRise(d.temperature_rise),
        GasAtSurface(d.gas_at_surface, config.rig.stand_length),
    )
