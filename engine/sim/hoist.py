"""Hoist, string, slips and bit: how the block moves and what that does to loads and depth.

References
----------
.. [1] G. R. Luke and H. C. Juvkam-Wold, "The Determination of True Hook-and-Line Tension Under
   Dynamic Conditions", SPE Drilling & Completion, 1993: sheave friction by direction.
.. [2] P. R. Dahl, "A Solid Friction Model", 1968: friction turns over within a short travel.
.. [3] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986: buoyancy, bit torque.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot, pi, sin

from engine.sim.geometry import Geometry
from engine.sim.ground import Ground
from engine.units import G0
from engine.well.capacities import STEEL

SLIPS_S = 0.5
"""The slips take or give the weight in this time. [s]"""
TURNOVER = 0.005
"""Block travel over which sheave friction changes its side. [m]"""
RELAX_S = 60.0
"""Vibration frees the sheaves of a block that stands still in this time. [s]"""
DRAG = 0.035
"""Wall drag of a nearly vertical well as a share of the string's weight. [-]"""
LIFT = 8e3
"""What hose and pump pressure take off the hook at the usual flow. [N]"""


@dataclass(slots=True, eq=False)
class Controls:
    """What the crew's hands hold; the crew writes it, hoist and fluid obey."""

    travel: float = 0.0
    """Block movement in this step, up positive. [m]"""
    feeding: bool = False
    """The automatic driller lowers the block to keep the weight."""
    weight: float = 0.0
    """Weight it keeps. [N]"""
    rotary: float = 0.0
    """Asked rotary speed. [rad/s]"""
    flow: float = 0.0
    """Asked pump rate. [m3/s]"""
    ramp: float = 35.0
    """Time in which the pumps go from nothing to the usual flow. [s]"""
    slips: bool = False
    hanging: float = 0.0
    """Weight of a stand that hangs on the block beside the string. [N]"""
    wrench: float = 0.0
    """Torque of making up or breaking out. [N m]"""
    tripping: bool = False
    """The hole is filled from, and returns to, the trip tank."""
    open_end: bool = False
    """The string drains through the bit as it is pulled."""
    activity: int = 2
    """WITS activity code that the sender has been told. [-]"""


def stick_slip_period(depth: float) -> float:
    """Return the torsional period of 5 in pipe with collars, at `depth` [m]. [s]

    A straight line through a two-disc model: 2.2, 3.5, 4.7, 5.9 s at 1, 2, 3, 4 km.
    """
    return 1.0 + 1.23e-3 * depth


@dataclass(slots=True, eq=False)
class Hoist:
    """Hidden state of everything that moves or carries load."""

    geometry: Geometry
    ground: Ground
    block_weight: float
    mud: float
    """Density of the mud. [kg/m3]"""
    up: float
    """Hoisting and lowering factors of the sheaves. [-]"""
    down: float
    block: float
    """Block above the floor. [m]"""
    bit: float
    """Depth of the bit of an unstretched string, the driller's depth. [m]"""
    bottom: float
    """Depth at which the bit just touches. [m]"""
    hole: float
    """Deepest driller's depth of a bit on bottom. [m]"""
    held: float = 0.0
    """Share of the string's weight that the slips hold. [-]"""
    speed: float = 0.0
    """Block speed, up positive. [m/s]"""
    side: float = -1.0
    """Sheave friction: 1 all against hoisting, -1 all against lowering. [-]"""
    weight: float = 0.0
    """Weight on bit. [N]"""
    rate: float = 0.0
    """Rate of penetration now. [m/s]"""
    made: float = 0.0
    """Hole made since the start. [m]"""
    rotary: float = 0.0
    torque: float = 0.0
    hook: float = 0.0
    """Hook load as the dead line shows it. [N]"""
    rock: float = 1.0
    balance: float = 0.0
    stiffness: float = 1.0
    grip: float = 0.0
    """Extra drag of a packed-off hole. [N]"""
    bite: float = 0.0
    """Extra torque of a packed-off hole. [N m]"""
    tight: float = 0.0
    """Drag of a tight spot that the bit passes. [N]"""
    ledge: float = 0.0
    """The same, only on the way down. [N]"""
    parted: float = 0.0
    """Share of the string's weight that has come off. [-]"""
    jerk: float = 0.0
    """Stick-slip: swing of the torque as a share. [-]"""
    ease: float = 0.0
    """Logarithm by which the rock is easier than the hole has it. [-]"""
    push: float = 0.0
    """Weight that the driller adds, as a share. [-]"""
    strain: float = 0.0
    """Torque that the rock or the wall takes more, as a share. [-]"""
    empty: float = 0.0
    """Depth of the mud level below the bell nipple. [m]"""
    share: float = 0.0
    """Flow as a share of the usual, for the lift of hose and pressure. [-]"""
    _buoyancy: float = field(init=False)
    _even: float = 0.0
    """Torque without stick-slip. [N m]"""
    _turn: float = 0.0
    """Where stick-slip is in its period. [rad]"""

    def __post_init__(self) -> None:
        self._buoyancy = 1 - self.mud / STEEL
        self.stiffness = self.geometry.stiffness(self.bit)

    def step(self, c: Controls, dt: float) -> None:
        """Go on by `dt` seconds."""
        travel = c.travel
        if c.feeding:
            pull = (c.weight * (1 + self.push) - self.weight) / (self.stiffness * 6.0)
            travel = 0.0 if self.parted else -min(max(self.rate + pull, 0.0), 0.02) * dt
        before = self.speed
        self.speed = speed = travel / dt
        self.block += travel
        if self.held == 0.0:
            self.bit -= travel
        if c.slips:
            self.held = min(1.0, self.held + dt / SLIPS_S)
        elif self.held:
            self.held = max(0.0, self.held - dt / SLIPS_S)
        # Ten seconds from nothing to the usual speed, up or down.
        slew = self.ground.rotary * dt / 10.0
        self.rotary += min(max(c.rotary - self.rotary, -slew), slew)
        self._drill(dt)
        self._load(c, travel, (speed - before) / dt, dt)

    def _drill(self, dt: float) -> None:
        press = self.bit - self.bottom
        self.rate = self.weight = 0.0
        if press > 0 and self.held == 0.0 and not self.parted:
            self.weight = weight = self.stiffness * press
            self.rate = self.ground.rate(weight, self.rotary, self.rock, self.balance)
            self.bottom += self.rate * dt
            self.made += self.rate * dt
            if self.bit > self.hole:
                self.hole = self.bit

    def _load(self, c: Controls, travel: float, acceleration: float, dt: float) -> None:
        # Sheaves: friction turns over with travel, fades while nothing moves.
        if travel > 0:
            self.side += (1 - self.side) * min(1.0, travel / TURNOVER)
        elif travel < 0:
            self.side += (-1 - self.side) * min(1.0, -travel / TURNOVER)
        else:
            self.side -= self.side * dt / RELAX_S
        speed, free = self.speed, 1 - self.held
        string = self.geometry.weight(self.bit) * (1 - self.parted)
        # The pipe between floor and elevators hangs in air and rubs on nothing.
        above = self.geometry.pipe_weight * max(self.block, 0.0)
        around = 0.0635 * self.rotary  # of the pipe's wall; turning takes drag off the axis [m/s]
        along = speed / (hypot(speed, around) + 0.005)
        drag = (DRAG * string + self.grip + self.tight) * along
        if self.ledge and along < 0:
            drag += self.ledge * along
        afloat = string * self._buoyancy + self.mud * G0 * self.geometry.steel * self.empty
        load = self.block_weight + c.hanging
        load += free * (afloat + above + drag - self.weight - LIFT * self.share**2)
        # The string's own waves hide its inertia in part; block and half the string are taken.
        load += acceleration * (self.block_weight + 0.5 * free * string) / G0
        side = self.side
        factor = 1 + side * (self.up - 1) if side > 0 else 1 - side * (self.down - 1)
        self.hook = load / factor
        turning = min(1.0, self.rotary / 1.0) if self.rotary > 0 else 0.0
        bit = self.ground.bit_friction * self.weight * self.geometry.diameter / 3
        around_it = bit + self.ground.string_torque * (1 - self.parted) + self.bite
        target = turning * free * around_it * (1 + self.strain) + c.wrench
        self._even += (target - self._even) * min(1.0, dt / 0.8)
        self.torque = self._even
        if self.jerk and self.weight > 0:
            self._turn += 2 * pi * dt / stick_slip_period(self.bit)
            self.torque *= 1 + self.jerk * sin(self._turn)
