"""A sensor that fails: frozen, wild, drifting, gone, at its end, or far beyond it."""

from __future__ import annotations

import numpy as np

from engine.errors import InputError
from engine.sim.recipes import Parts, Recipe
from engine.sim.script import Trouble

_RANGE: dict[str, float] = {
    "standpipe_pressure": 1.15e7, "hook_load": 1.0e6, "flow_out": 0.045, "pit_volume": 60.0,
    "torque": 7.0e3, "temperature_out": 339.0,
}  # fmt: skip
"""What a channel usually reads in altered tuff. [SI]"""

FAULT_NAMES = ("stuck", "spikes", "drift", "blank", "saturated", "over-range", "dead")
"""Faults of a sensor, `event`'s ``fault``."""


def _trouble(fault: str, channel: str, at: float, size: float) -> Trouble:
    usual = _RANGE[channel]
    if fault == "drift":
        return Trouble("gain", at, 0.2 * size, 1800.0, 1800.0, 1.0, channel=channel)
    level = {"spikes": 2.0 * size, "saturated": usual, "over-range": 8 * usual * size}
    return Trouble(fault, at, level.get(fault, 1.0), 0.0, 1800.0, 0.0, channel=channel)


def sensor_fault(rng: np.random.Generator, channel: str, fault: str) -> Recipe:
    """Return the recipe of one fault; what is left empty is drawn."""
    channel = channel or str(rng.choice(list(_RANGE)))
    fault = fault or str(rng.choice(FAULT_NAMES))
    if channel not in _RANGE:
        raise InputError(f"sensor fault: no channel {channel!r}; there are {', '.join(_RANGE)}")
    if fault not in FAULT_NAMES:
        raise InputError(f"sensor fault: no fault {fault!r}; there are {', '.join(FAULT_NAMES)}")

    def make(at: float, size: float) -> Parts:
        return Parts((_trouble(fault, channel, at, size),))

    return Recipe(f"{channel}: {fault}", "times the usual", 1.0, make)
