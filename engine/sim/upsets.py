"""What can upset the mud: flows in and out of the hole and the pits, pumps, nozzles, gauges.

A script sets the levels once a second; `Fluid` lets them act. Every cubic metre is booked, so that
the volume balance of `Fluid.held_volume` stays closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin

BREATHE_IN_S = 600.0
"""A breathing fracture fills in this time while the pumps press. [s]"""
BREATHE_OUT_S = 360.0
"""It gives back in this time when they stand; 3 to 15 min is common, no source. [s]"""
STATIC = 0.4
"""Share of the usual flow below which friction no longer holds the formation back. [-]"""
BLEED_S = 15.0
"""A bleed valve lets the pressure go in this time. [s]"""
STRING_STIFFNESS = 1.0e8
"""Pressure for each cubic metre pressed into a closed string of 22 m3 of mud. [Pa/m3]"""
KNOCK = 0.04
"""Pressure swing of a pump that lost a valve, as a share. [-]"""


@dataclass(slots=True)
class Upsets:
    """Levels now, and what has flowed because of them. Flows [m3/s], volumes [m3]."""

    inflow: float = 0.0
    """Of formation fluid into the hole, whatever the pumps do."""
    static_inflow: float = 0.0
    """The same, only while the pumps stand."""
    swab: float = 0.0
    """Share of the steel pulled that formation fluid replaces. [-]"""
    outflow: float = 0.0
    """Of mud into the rock at the usual flow; 0.3 of it with the pumps off."""
    breathing: float = 0.0
    """What a breathing fracture holds when it is full. [m3]"""
    swelling: float = 0.0
    """Growth of the mud in the pits as it warms."""
    stripping: float = 0.0
    """What solids control throws out of the pits."""
    to_tank: float = 0.0
    """From the active pits to the trip tank."""
    pace: float = 0.0
    """Change of the pump rate that the driller asks for, as a share. [-]"""
    slip: float = 0.0
    """Share of the strokes that moves nothing: a pump lost a valve. [-]"""
    nozzles: float = 0.0
    """Change of the open nozzle area, as a share. [-]"""
    parted: float = 0.0
    """Share of the string that has come off below the break. [-]"""
    source: float = 0.0
    """Pressure that builds in a closed string. [Pa/s]"""
    bleed: float = 0.0
    """1: the standpipe is open to the pits. [-]"""
    annulus: float = 0.0
    """Pressure on the annulus gauge. [Pa]"""
    gas: float = 0.0
    """Gas in the mud at the bit, as a share. [-]"""
    # What has happened.
    breath: float = 0.0
    """Into the breathing fracture, now; negative: out of it."""
    bank: float = 0.0
    """What it holds."""
    stored: float = 0.0
    """Pressed into the closed string."""
    swollen: float = 0.0
    stripped: float = 0.0
    beat: float = 0.0
    """Where the lame pump is in its turn. [rad]"""

    def influx(self, share: float, pulling: float) -> float:
        """Return formation fluid that comes in at `share` of the usual flow. [m3/s]

        ``pulling`` is the volume of steel that leaves the hole in a second. [m3/s]
        """
        held = max(0.0, 1 - share / STATIC)
        return self.inflow + self.static_inflow * held + self.swab * max(pulling, 0.0)

    def loss(self, share: float) -> float:
        """Return mud that goes into the rock at `share` of the usual flow. [m3/s]"""
        return self.outflow * (0.3 + 0.7 * min(share, 1.0))

    def breathe(self, share: float) -> None:
        """Set `breath` for the next second: fill under friction, give back without it."""
        if share > STATIC:
            room = self.breathing - self.bank
            self.breath = room * share / BREATHE_IN_S if self.breathing else 0.0
        else:
            self.breath = -self.bank / BREATHE_OUT_S

    def press(self, shut: bool) -> float:
        """Return what is pressed into a closed string in this second. [m3]"""
        pressed = self.source / STRING_STIFFNESS if shut else 0.0
        self.stored += pressed
        return pressed

    def let_go(self, share: float) -> float:
        """Return what comes back of what was pressed into the closed string. [m3]"""
        back = self.stored * share
        self.stored -= back
        return back

    def in_the_pits(self) -> float:
        """Return by how much the pits change in this second. [m3]"""
        self.swollen += self.swelling
        self.stripped += self.stripping
        return self.swelling - self.stripping - self.to_tank

    def knock(self, flow: float, dt: float) -> float:
        """Return the factor of a lame pump on the standpipe pressure. [-]"""
        self.beat += 2 * pi * 25.0 * flow * dt  # a turn for each 40 L of the usual pumps
        return 1 + KNOCK * sin(self.beat)
