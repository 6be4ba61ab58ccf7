"""The synthetic rig: crew, hoist and mud go on together, sensors look at them once a second.

One seed gives the same numbers to the last bit, however the run is cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import exp, pi, sin, sqrt

import numpy as np

from engine.block import FloatArray, Mask
from engine.config import WellConfig
from engine.errors import InputError
from engine.sim.crew import LOW, Hands, Work
from engine.sim.fluid import Fluid
from engine.sim.geometry import Geometry
from engine.sim.ground import GROUNDS, Ground
from engine.sim.hoist import Controls, Hoist
from engine.sim.jobs import Crew, make_crew
from engine.sim.noise import CLASSES
from engine.sim.scenarios import Scenario, scenario
from engine.sim.sensors import SPAN, Sensors
from engine.sim.trouble import Event, Fate
from engine.sim.truth import Connection, Witness
from engine.well.pumps import stroke_volume
from engine.well.sheaves import hoisting_factor, lowering_factor

STEPS = 10
"""Steps of the hidden state in a second. [-]"""
SHEAVE = 0.98
"""Efficiency of a sheave; 0.98 is custom. [-]"""
FIRST_STROKE = 100_000
"""What the stroke counter shows at the start. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """A span of whole seconds; every array has the shape (n,), numbers are SI."""

    second: FloatArray
    """Whole seconds from the start of the run: the times of `truth`. [s]"""
    t: FloatArray
    """When the sample was taken. [s since 1970-01-01 UTC]"""
    at: FloatArray
    """When its packet leaves. [s since 1970-01-01 UTC]"""
    sent: Mask
    doubled: Mask
    sensors: dict[str, FloatArray]
    """Channel id to readings; NaN: the sender has no value."""
    truth: dict[str, FloatArray]
    """See `engine.sim.truth.COLUMNS`."""


class Rig:
    """A whole synthetic rig that goes on for as long as it is asked to.

    Parameters
    ----------
    config : WellConfig
        Rig, pumps, string, hole and mud.
    what : str or Scenario
        Name of a scenario, or one of one's own.
    seed : int
        Same seed, same bytes. Crew, rock and noise draw from it separately, so a twin has the
        same noise.
    start : float
        Time of second 0. [s since 1970-01-01 UTC]

    Raises
    ------
    InputError
        If the scenario is unknown, or the well file has no hole or no pump lined up.
    """

    def __init__(self, config: WellConfig, what: str | Scenario, seed: int, start: float) -> None:
        self.scenario = scenario(what) if isinstance(what, str) else what
        self.config, self.seed, self.start = config, seed, start
        self.ground: Ground = GROUNDS[self.scenario.ground]
        geometry = Geometry.of(config)
        self._pumps = [p.lined_up for p in config.pumps]
        self._volumes = [stroke_volume(p) for p in config.pumps]
        if not any(self._pumps):
            raise InputError("synthetic rig: no pump is lined up; set lined_up = true for one")
        flow = self.ground.flow
        if self.scenario.ground != "soft" and config.profile.flow_normal:
            flow = config.profile.flow_normal
        depth = config.start.hole_depth or config.start.bit_depth or self.ground.depth
        rng = np.random.default_rng(np.random.SeedSequence([seed, 0]))
        self._phases = [float(p) for p in rng.uniform(0, 2 * pi, 3)]
        squeeze = self.ground.weight / geometry.stiffness(depth)
        plan = self.scenario.plan
        self.controls = Controls(feeding=True, flow=flow, rotary=self.ground.rotary)
        self.hoist = Hoist(
            geometry, self.ground, config.rig.block_weight, config.mud.density,
            hoisting_factor(config.rig.lines, SHEAVE), lowering_factor(config.rig.lines, SHEAVE),
            block=LOW + plan.left, bit=depth, bottom=depth - squeeze, hole=depth,
            rotary=self.ground.rotary, weight=self.ground.weight, rock=self._rock(depth),
        )  # fmt: skip
        self.fluid = Fluid(geometry, self.ground, config.mud.density, flow, depth)
        self.fluid.start(depth, self.ground.rop, 1 / STEPS)
        hands = Hands(
            self.controls, self.hoist, self.fluid, rng, 1 / STEPS, flow, config.rig.stand_length,
            self.fluid.standpipe(flow, depth),
        )  # fmt: skip
        self._crew: Crew = make_crew(hands, self.ground, plan, np.random.SeedSequence([seed, 1]))
        self._work: Work = self._crew.work()
        self._sensors = Sensors(CLASSES[self.scenario.noise], seed, self.scenario.troubles)
        self._fate = Fate(self.scenario.troubles)
        self._witness = Witness()
        self._asked = 0.0
        self._steps = 0
        self._made = 0.0
        self._strokes = [0.0] * len(self._volumes)
        self._repairs = 0
        self._seen: list[tuple[float, ...]] = []

    @property
    def events(self) -> list[Event]:
        """Everything that has gone wrong so far, and additions to the pits, in order of time."""
        added = [
            Event("addition", a[0], a[1] if len(a) > 1 else None) for a in self._crew.additions
        ]
        return sorted([*self._fate.events, *added], key=lambda e: e.start)

    @property
    def connections(self) -> list[Connection]:
        """Every time in the slips so far, trips included."""
        return self._witness.connections

    def _rock(self, depth: float) -> float:
        """Drillability along the hole: layers of 40, 9 and 2.6 m."""
        waves = zip((40.0, 9.0, 2.6), self._phases, strict=True)
        total = sum(sin(2 * pi * depth / length + phase) for length, phase in waves)
        return exp(self.ground.variation * total / sqrt(1.5))

    def advance(self, seconds: float) -> Chunk:
        """Go on by `seconds` and return the whole seconds that this completes."""
        if not seconds >= 0:
            raise InputError(f"synthetic rig: cannot go on by {seconds} s; time only goes forward")
        first = self._steps // STEPS + 1
        self._asked += seconds
        for _ in range(int(self._asked * STEPS + 1e-6) - self._steps):
            self._step()
        return self._chunk(first)

    def _step(self) -> None:
        steps, crew, hoist, fluid = self._steps, self._crew, self.hoist, self.fluid
        dt = 1 / STEPS
        if steps % STEPS == 0:
            self._second_begins(steps / STEPS)
        crew.now = steps / STEPS
        next(self._work)
        hoist.step(self.controls, dt)
        fluid.step(self.controls, hoist, dt)
        self._steps = steps = steps + 1
        self._witness.step(steps / STEPS, hoist)
        if steps % STEPS == 0:
            self._second_ends(steps // STEPS)

    def _second_begins(self, t: float) -> None:
        crew, hoist, fluid = self._crew, self.hoist, self.fluid
        crew.tick()
        if len(crew.repairs) > self._repairs:
            self._repairs = len(crew.repairs)
            self._fate.mend(t)
        self._fate.before(t, crew.adding, fluid, hoist)
        hoist.rock = self._rock(hoist.bottom)
        hoist.balance = fluid.imbalance() - self.ground.annulus - max(fluid.excess, 0.0)
        hoist.stiffness = hoist.geometry.stiffness(hoist.bit)
        hoist.share = fluid.through / fluid.usual
        hoist.empty = fluid.drained / hoist.geometry.gap

    def _second_ends(self, second: int) -> None:
        hoist, fluid = self.hoist, self.fluid
        fluid.second(hoist, (hoist.made - self._made) * hoist.geometry.hole)
        self._made = hoist.made
        self._fate.after(float(second), fluid)
        self._witness.second(hoist, fluid)
        rates = self._pump_rates()
        for i, rate in enumerate(rates):
            self._strokes[i] += rate
        back = fluid.returns
        self._seen.append(
            (
                hoist.block, hoist.hook, hoist.torque, hoist.rotary, fluid.pressure,
                fluid.flow_out, fluid.pit, fluid.tank, back.density_out,
                back.temperature_in, back.temperature_out, back.gas, hoist.speed,
                float(self.controls.activity), FIRST_STROKE + sum(self._strokes),
                *rates,
            )
        )  # fmt: skip

    def _pump_rates(self) -> list[float]:
        """Share the flow out so that all pumps lined up make equal strokes. [1/s]"""
        total = sum(v for v, on in zip(self._volumes, self._pumps, strict=True) if on)
        rate = self.fluid.flow_in / total
        return [rate if on else 0.0 for on in self._pumps]

    def _chunk(self, first: int) -> Chunk:
        truth = self._witness.take()
        if not self._seen:
            none, no = np.empty(0), np.empty(0, np.bool_)
            return Chunk(none, none, none, no, no, {}, truth)
        seen = np.array(self._seen, np.float64)
        self._seen = []
        n = len(seen)
        cuts = [c for c in range(n + 1) if c in (0, n) or (first + c) % SPAN == 0]
        parts = [
            self._look(first + a, seen[a:b], {k: v[a:b] for k, v in truth.items()})
            for a, b in pairwise(cuts)
        ]
        return _join(parts, truth)

    def _look(self, first: int, seen: FloatArray, truth: dict[str, FloatArray]) -> Chunk:
        n = len(seen)
        jitter, sent, doubled, delay = self._sensors.clock(first, n)
        (block, hook, torque, rotary, pressure, out, pit, tank, density, warm_in, warm_out, gas,
         speed, activity, strokes, *rates) = (seen[:, i] for i in range(seen.shape[1]))  # fmt: skip
        true = {
            "block_position": block + speed * jitter,
            "hook_load": hook,
            "standpipe_pressure": pressure,
            "flow_out": out,
            "pit_volume": pit,
            "rotary": rotary,
            "torque": torque,
            "density_in": np.full(n, self.config.mud.density),
            "density_out": density,
            "temperature_in": warm_in,
            "temperature_out": warm_out,
            "gas": gas,
        }
        true |= {f"pump_{i + 1}_rate": rate for i, rate in enumerate(rates)}
        if self.scenario.plan.trip:
            true["trip_tank_volume"] = tank
        read = self._sensors.read(first, true, speed)
        pumped = sum(
            (read[f"pump_{i + 1}_rate"] * v for i, v in enumerate(self._volumes) if self._pumps[i]),
            np.zeros(n),
        )
        read |= {
            "flow_in_measured": pumped,
            "pump_strokes": np.floor(strokes),
            "reported_bit_depth": np.round(truth["bit_depth"], 2),
            "reported_hole_depth": np.round(truth["hole_depth"], 2),
            "reported_activity": activity,
        }
        second = np.arange(first, first + n, dtype=np.float64)
        t = self.start + second + jitter
        return Chunk(second, t, t + delay, sent, doubled, read, truth)


def _join(parts: list[Chunk], truth: dict[str, FloatArray]) -> Chunk:
    return Chunk(
        np.concatenate([p.second for p in parts]),
        np.concatenate([p.t for p in parts]),
        np.concatenate([p.at for p in parts]),
        np.concatenate([p.sent for p in parts]),
        np.concatenate([p.doubled for p in parts]),
        {k: np.concatenate([p.sensors[k] for p in parts]) for k in parts[0].sensors},
        truth,
    )
