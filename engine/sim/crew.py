"""The crew: what hands do, one step of time at each ``yield``."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field
from math import sqrt

import numpy as np

from engine.sim.fluid import Fluid
from engine.sim.hoist import Controls, Hoist

Work = Generator[None, None, None]
"""Yields once a step."""

LOW = 1.5
"""Block height at which a stand is drilled down. [m]"""
SAFE = 1.35
"""Standpipe pressure, in usual ones, at which the crew gives up drilling and works the pipe. [-]"""
TANK_LOW, TANK_FULL = 1.2, 5.0
"""The trip tank is topped up from the pits below the one, up to the other. [m3]"""
TANK_HIGH, TANK_EMPTIED = 7.5, 3.0
"""It is emptied into the pits above the one, down to the other. [m3]"""
TOPPING = 0.012
"""How fast. [m3/s]"""


@dataclass(frozen=True, slots=True)
class Announced:
    """An addition to the pits, as the crew tells the driller when it begins."""

    at: float
    """[s] from the start"""
    volume: float
    """Planned. [m3]"""
    rate: float
    """[m3/s]"""

    @property
    def end(self) -> float:
        """When it should be done. [s] from the start"""
        return self.at + self.volume / self.rate


@dataclass(slots=True, eq=False)
class Hands:
    """The moves every job is made of."""

    controls: Controls
    hoist: Hoist
    fluid: Fluid
    rng: np.random.Generator
    dt: float
    flow: float
    stand: float
    """Nominal stand. [m]"""
    usual_pressure: float = 0.0
    now: float = 0.0
    """[s] from the start"""
    stands: list[float] = field(default_factory=list)
    """Stands standing in the derrick, the last racked at the end. [m]"""

    def between(self, low: float, high: float) -> float:
        """Return a seeded number between two."""
        return float(self.rng.uniform(low, high))

    def hold(self, seconds: float) -> Work:
        """Touch nothing for a while."""
        for _ in range(round(seconds / self.dt)):
            yield

    def move(self, travel: float, speed: float, acceleration: float = 0.35) -> Work:
        """Move the block by `travel` [m], up positive, with a trapezoid of speed."""
        c, dt = self.controls, self.dt
        way = abs(travel)
        top = min(speed, sqrt(way * acceleration))
        ramp = top / acceleration
        flat = way / top - ramp
        total = flat + 2 * ramp
        sign = 1.0 if travel > 0 else -1.0
        done, t = 0.0, 0.0
        while t < total - 1e-9:
            t += dt
            if t < ramp:
                at = 0.5 * acceleration * t**2
            elif t < ramp + flat:
                at = top * (t - 0.5 * ramp)
            else:
                at = way - 0.5 * acceleration * max(total - t, 0.0) ** 2
            c.travel = sign * (at - done)
            done = at
            yield
            c.travel = 0.0

    def lower_until_it_bites(self, speed: float) -> Work:
        """Lower at `speed` [m/s] until the bit takes weight."""
        c, dt = self.controls, self.dt
        pace = 0.0
        while self.hoist.weight < 3e3 and not self.hoist.parted:
            pace = min(speed, pace + 0.1 * dt)
            c.travel = -pace * dt
            yield
        c.travel = 0.0

    def set_slips(self) -> Work:
        """Put the string in the slips."""
        self.controls.slips = True
        yield from self.hold(1.5)

    def pull_slips(self) -> Work:
        """Take the string on the hook again."""
        self.controls.slips = False
        yield from self.hold(1.0)

    def tend_trip_tank(self) -> Work:
        """Top the trip tank up from the pits, or empty it into them, and let the levels settle."""
        fluid, step = self.fluid, TOPPING * self.dt
        if TANK_LOW <= fluid.tank <= TANK_HIGH:
            return
        end = TANK_FULL if fluid.tank < TANK_LOW else TANK_EMPTIED
        yield from self.hold(60.0)
        while abs(end - fluid.tank) > step:
            moved = step if end > fluid.tank else -step
            fluid.tank += moved
            fluid.pit -= moved
            yield
        yield from self.hold(90.0)

    def make_up(self, torque: float = 20e3) -> Work:
        """Torque a connection up or break it out."""
        self.controls.wrench = torque
        yield from self.hold(3.0)
        self.controls.wrench = 0.0

    def new_stand(self) -> float:
        """Return the length of a stand: pipe is never quite equal. [m]"""
        return self.stand + float(np.clip(self.rng.normal(0.0, 0.03), -0.1, 0.1))
