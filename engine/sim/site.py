"""What a well file does not say about a rig, but mud and sensors depend on."""

from __future__ import annotations

from dataclasses import dataclass

from engine.sim.fluid import DEAD_S, LINE_S
from engine.sim.ground import Ground


@dataclass(frozen=True, slots=True)
class Site:
    """Ground, tanks and flow line of a rig; the defaults are those of the example well."""

    ground: Ground | None = None
    """None: the scenario's."""
    noise: str | None = None
    """Key of `engine.sim.noise.CLASSES`; None: the scenario's."""
    pits: float = 60.0
    """Mud in the active pits at the start. [m3]"""
    trip_tank: float = 5.0
    """[m3]"""
    dead_s: float = DEAD_S
    """From the bell nipple to the return sensor. [s]"""
    line_s: float = LINE_S
    """Flow line and trough: outflow = contents / this. [s]"""
