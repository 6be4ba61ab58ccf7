"""What the crew does with its hands: drill, connect, stop, clear the hole, trip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from engine.sim.crew import LOW, SAFE, Announced, Hands, Work
from engine.sim.ground import Ground
from engine.sim.plan import Plan

__all__ = ["Crew", "Plan", "make_crew"]

OFF_BOTTOM = 3.0
"""Picked up before a connection, so that a load can be taken while lowering. [m]"""
MIXING = 0.006
"""New mud comes at this rate. [m3/s]"""
FULL = 0.3
"""The pits are full again when no more than this is short. [m3]"""
WATER = 0.06
"""Water comes at this rate when the pits run dry. [m3/s]"""
RUNNING_DRY = 25.0
"""Pit volume at which water is let in, returns or not. [m3]"""
LOWERING = 0.05
"""Speed of lowering to bottom. [m/s]"""


@dataclass(slots=True, eq=False)
class Crew(Hands):
    """Works a `Plan` for ever."""

    ground: Ground = field(kw_only=True)
    plan: Plan = field(kw_only=True)
    adding: float = 0.0
    """New mud on its way into the pits. [m3/s]"""
    additions: list[list[float]] = field(default_factory=list)
    """Beginning and, if it is over, end of each addition. [s]"""
    announced: list[Announced] = field(default_factory=list)
    repairs: list[float] = field(default_factory=list)
    """Times at which the string was in reach at a connection. [s]"""
    _in_use: float = 0.0
    _stops: list[tuple[float, float]] = field(default_factory=list)
    _extra: list[tuple[float, int]] = field(default_factory=list)
    """Reaming (0) and short trips (stands), by time."""
    _sound: int = 0
    """Seconds for which the returns have been sound. [s]"""

    def work(self) -> Work:
        """Do the plan, then drill stand after stand."""
        self._in_use = self.fluid.in_use()
        self._stops = sorted(self.plan.stops)
        self._extra = sorted([*((t, 0) for t in self.plan.reams), *self.plan.short_trips])
        paced: Sequence[float | None] = (*self.plan.paced,)
        if self.plan.out:
            yield from self.park()
        if self.plan.trip:
            yield from self.drill(None)
            yield from self.trip_out(self.plan.trip)
            if not self.plan.back:
                yield from self.park()
            yield from self.trip_in()
        stand = 0
        while True:
            yield from self.drill(paced[stand] if stand < len(paced) else None)
            yield from self.connect(quick=stand == self.plan.quick)
            stand += 1

    def drill(self, end: float | None) -> Work:
        """Drill until the stand is down, or until `end` [s] at the weight that this needs."""
        c, ground = self.controls, self.ground
        c.activity = 2
        wander = 0.0
        yield from self.lower_until_it_bites(LOWERING)
        c.feeding = True
        while self.now < end if end is not None else self.hoist.block > LOW:
            wander = 0.95 * wander + 0.025 * float(self.rng.normal())
            c.weight = ground.weight * (1 + wander)
            if end is not None:
                need = max(self.hoist.block - LOW, 0.0) / max(end - self.now, 20.0)
                weight = ground.weight_for(need, self.hoist.rotary, self.hoist.rock)
                c.weight = min(max(weight, 0.5 * ground.weight), 1.5 * ground.weight)
            yield from self.hold(5.0 if end is None or end - self.now > 6 else self.dt)
            if self._high():
                job = self.clear_hole()
            elif self._stops and self.now >= self._stops[0][0]:
                job = self.stop(self._stops.pop(0)[1])
            elif self._extra and self.now >= self._extra[0][0]:
                job = self.interrupt(self._extra.pop(0)[1])
            else:
                continue
            c.feeding = False
            yield from job
            yield from self.lower_until_it_bites(LOWERING)
            c.feeding = True
        c.feeding = False

    def off_bottom(self) -> Work:
        """Pick up with pumps and rotation on."""
        yield from self.move(OFF_BOTTOM, 0.15)

    def pumps_off(self) -> Work:
        """Stop turning, stop pumping, let the pressure go."""
        self.controls.rotary = 0.0
        yield from self.hold(6.0)
        self.controls.ramp = 10.0
        self.controls.flow = 0.0
        yield from self.hold(12.0)

    def pumps_on(self, ramp: float, settle: float) -> Work:
        """Bring the pumps up, turn, wait for the returns."""
        c = self.controls
        c.ramp = ramp
        c.flow = self.flow
        yield from self.hold(ramp)
        c.rotary = self.ground.rotary
        yield from self.hold(10.0)
        if self._high():
            yield from self.clear_hole()
        yield from self.hold(settle)

    def _high(self) -> bool:
        """Whether the pressure is such that the pipe must be worked."""
        return self.plan.reacts and self.fluid.pressure > SAFE * self.usual_pressure

    def interrupt(self, stands: int) -> Work:
        """Ream the stand once, or pull so many stands and run them in again."""
        c = self.controls
        if stands:
            yield from self.trip_out(stands)
            yield from self.trip_in()
        else:
            c.activity = 4
            room = min(12.0, LOW + self.stand - self.hoist.block)
            yield from self.move(room, 0.2)
            yield from self.hold(10.0)
            yield from self.move(OFF_BOTTOM - room, 0.15)
            yield from self.hold(10.0)
        c.activity = 2

    def clear_hole(self) -> Work:
        """Slow the pumps, turn and work the pipe until the pressure is back to usual."""
        c = self.controls
        c.ramp = 20.0
        c.flow = 0.6 * self.flow
        c.rotary = self.ground.rotary
        yield from self.move(1.0, 0.15)
        while True:
            yield from self.hold(20.0)
            share = self.fluid.through / self.flow
            if self.fluid.pressure < 1.04 * self.usual_pressure * share**1.8:
                break
            yield from self.move(2.0, 0.12)
            yield from self.move(-2.0, 0.12)
        c.flow = self.flow
        yield from self.hold(90.0)

    def stop(self, seconds: float) -> Work:
        """Stand off bottom without pumps, then go on."""
        self.controls.activity = 0
        yield from self.off_bottom()
        yield from self.hold(20.0)
        yield from self.pumps_off()
        yield from self.hold(seconds)
        yield from self.pumps_on(35.0, self.between(75.0, 110.0))
        self.controls.activity = 2

    def connect(self, quick: bool = False) -> Work:
        """Add a stand."""
        c = self.controls
        c.activity = 3
        in_slips = 180.0 if quick else self.between(180.0, 480.0)
        yield from self.off_bottom()
        yield from self.hold(1.0 if quick else self.between(20.0, 70.0))
        yield from self.pumps_off()
        yield from self.hold(0.0 if quick else self.between(4.0, 15.0))
        yield from self.set_slips()
        yield from self.make_up(17e3)
        yield from self.hold(20.0)
        length = self.stands.pop() if self.stands else self.new_stand()
        before = self.now
        yield from self.move(length, 0.8)
        c.hanging = length * self.hoist.geometry.pipe_weight
        raised = self.now - before
        yield from self.hold(in_slips - raised - 34.0)
        yield from self.make_up()
        c.hanging = 0.0
        yield from self.hold(6.0)
        self._add_pipe(length)
        self.repairs.append(self.now)
        yield from self.pull_slips()
        yield from self.move(0.3, 0.15)
        if quick:
            yield from self.pumps_on(20.0, self.between(60.0, 80.0))
        else:
            yield from self.pumps_on(self.between(30.0, 40.0), self.between(75.0, 110.0))

    def _add_pipe(self, length: float) -> None:
        bore = length * self.hoist.geometry.bore
        self.fluid.missing += bore
        self.fluid.filled += bore

    def tick(self) -> None:
        """Once a second: begin or end an addition to the pits."""
        fluid = self.fluid
        short = self._in_use - fluid.in_use()
        sound = fluid.flow_out > 0.96 * fluid.flow_in > 0
        self._sound = self._sound + 1 if sound else 0
        if not self.adding:
            if fluid.pit < RUNNING_DRY:
                self.adding = WATER
            elif short > self.plan.keep and self._sound > 120:
                self.adding = MIXING
            if self.adding:
                self.additions.append([self.now])
        elif short < FULL or (self.adding == MIXING and self._sound == 0):
            self.adding = 0.0
            self.additions[-1].append(self.now)
        if self.adding and not (self.announced and self.now < self.announced[-1].end):
            self.announced.append(Announced(self.now, max(short - FULL, FULL), self.adding))

    def trip_out(self, stands: int) -> Work:
        """Circulate, pull `stands` stands and rack them."""
        c = self.controls
        c.activity = 7
        yield from self.off_bottom()
        yield from self.hold(240.0)
        yield from self.pumps_off()
        yield from self.hold(60.0)
        c.activity, c.tripping, c.open_end = 9, True, True
        for i in range(stands):
            length = self.new_stand()
            top = LOW + length
            yield from self.move(top - self.hoist.block, 1.0)
            yield from self.set_slips()
            yield from self.make_up(17e3)
            yield from self.hold(self.between(15.0, 40.0))
            self.stands.append(length)
            yield from self.tend_trip_tank()
            if i == stands - 1:
                break
            yield from self.move(LOW - self.hoist.block, 1.5)
            yield from self.hold(self.between(12.0, 30.0))
            yield from self.pull_slips()

    def park(self) -> Work:
        """Stay in the slips; the trip is over for now."""
        self.controls.activity = 0
        while True:
            yield from self.hold(60.0)

    def trip_in(self) -> Work:
        """Run the racked stands back in, wash the last one down."""
        c = self.controls
        c.activity, c.open_end = 8, False
        yield from self.move(LOW - self.hoist.block, 1.5)
        yield from self.hold(self.between(200.0, 300.0))
        while self.stands:
            length = self.stands.pop()
            yield from self.move(LOW + length - self.hoist.block, 1.5)
            yield from self.hold(self.between(12.0, 30.0))
            yield from self.make_up()
            self._fill(length)
            yield from self.pull_slips()
            if not self.stands:
                break
            yield from self.move(LOW - self.hoist.block, 0.7)
            yield from self.set_slips()
            yield from self.tend_trip_tank()
            yield from self.hold(self.between(12.0, 30.0))
        c.tripping, c.activity = False, 4
        yield from self.pumps_on(40.0, 60.0)
        gap = self.hoist.bottom - self.hoist.bit
        yield from self.move(-max(gap - 3.0, 0.5), 0.15)
        yield from self.hold(20.0)

    def _fill(self, length: float) -> None:
        """Fill a stand from the trip tank while it hangs in the slips."""
        bore = length * self.hoist.geometry.bore
        self.fluid.tank -= bore
        self.fluid.given += bore
        self.fluid.filled += bore


def make_crew(hands: Hands, ground: Ground, plan: Plan, seed: np.random.SeedSequence) -> Crew:
    """Return a crew that works `plan` with the state that `hands` hold."""
    return Crew(
        hands.controls,
        hands.hoist,
        hands.fluid,
        np.random.default_rng(seed),
        hands.dt,
        hands.flow,
        hands.stand,
        hands.usual_pressure,
        ground=ground,
        plan=plan,
    )
