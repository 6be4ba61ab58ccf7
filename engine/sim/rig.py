"""The synthetic rig: crew, hoist and mud go on together, sensors look at them time and again.

One seed gives the same numbers to the last bit, however the run is cut.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, pi, sin, sqrt

import numpy as np

from engine.block import FloatArray
from engine.config import WellConfig
from engine.errors import InputError
from engine.sim.chunk import Chunk, join
from engine.sim.crew import LOW, Announced, Hands, Work
from engine.sim.fluid import Fluid
from engine.sim.geometry import Geometry
from engine.sim.ground import GROUNDS, Ground
from engine.sim.hoist import Controls, Hoist
from engine.sim.jobs import Crew, make_crew
from engine.sim.noise import CLASSES
from engine.sim.outside import stand_out
from engine.sim.scenarios import scenario
from engine.sim.script import Scenario
from engine.sim.sensors import SPAN, Sensors
from engine.sim.site import Site
from engine.sim.trouble import Event, Fate
from engine.sim.truth import Connection, Witness
from engine.well.pumps import stroke_volume
from engine.well.sheaves import hoisting_factor, lowering_factor

__all__ = ["Chunk", "Rig"]

STEPS = 10
"""Steps of the hidden state in a second. [-]"""
SHEAVE = 0.98
"""Efficiency of a sheave; 0.98 is custom. [-]"""
FIRST_STROKE = 100_000
"""What the stroke counter shows at the start. [-]"""


def steps_of(interval: float) -> int:
    """Return the steps from sample to sample of a feed that sends every `interval` [s]."""
    steps = round(interval * STEPS)
    if steps < 1 or abs(steps - interval * STEPS) > 1e-6:
        raise InputError(
            f"synthetic rig: it moves in steps of 0.1 s; interval_s must be a multiple of that, "
            f"got {interval:g}"
        )
    return steps


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
    noise : str, optional
        Key of `engine.sim.noise.CLASSES`; goes before the site's and the scenario's.
    site : Site, optional
        Ground and tanks of another rig than the usual.

    Raises
    ------
    InputError
        If the scenario or the class of noise is unknown, or the well file has no hole, no pump
        lined up, or a first feed with an interval that is no multiple of 0.1 s.
    """

    def __init__(
        self, config: WellConfig, what: str | Scenario, seed: int, start: float,
        noise: str | None = None, site: Site | None = None,
    ) -> None:  # fmt: skip
        self.scenario = scenario(what) if isinstance(what, str) else what
        self.config, self.seed, self.start = config, seed, start
        self.site = site or Site()
        self.noise = noise or self.site.noise or self.scenario.noise
        if self.noise not in CLASSES:
            known = ", ".join(CLASSES)
            raise InputError(f"synthetic rig: no noise class {self.noise!r}; there are {known}")
        self.ground: Ground = self.site.ground or GROUNDS[self.scenario.ground]
        self.interval = config.feeds[0].interval_s if config.feeds else 1.0
        self._every = steps_of(self.interval)
        geometry = Geometry.of(config)
        self._pumps = [p.lined_up for p in config.pumps]
        self._volumes = [stroke_volume(p) for p in config.pumps]
        if not any(self._pumps):
            raise InputError("synthetic rig: no pump is lined up; set lined_up = true for one")
        flow = self.ground.flow
        if self.ground.name != "soft" and config.profile.flow_normal:
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
        place = self.site
        self.fluid = Fluid(
            geometry, self.ground, config.mud.density, flow, depth, place.pits, place.trip_tank,
            place.dead_s, place.line_s,
        )  # fmt: skip
        self.fluid.start(depth, self.ground.rop, 1 / STEPS)
        hands = Hands(
            self.controls, self.hoist, self.fluid, rng, 1 / STEPS, flow, config.rig.stand_length,
            self.fluid.standpipe(flow, depth),
        )  # fmt: skip
        self._crew: Crew = make_crew(hands, self.ground, plan, np.random.SeedSequence([seed, 1]))
        if plan.out:
            stand_out(self.controls, self.hoist, self.fluid)
        self._work: Work = self._crew.work()
        self._sensors = Sensors(
            CLASSES[self.noise], seed, self.scenario.troubles, self.interval, {"flow_out": flow}
        )
        self._fate = Fate(self.scenario.troubles, start_depth=depth)
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
    def announced(self) -> list[Announced]:
        """What the crew has said so far of its additions to the pits, in order of time."""
        return self._crew.announced

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
        """Go on by `seconds` and return the samples that this completes."""
        if not seconds >= 0:
            raise InputError(f"synthetic rig: cannot go on by {seconds} s; time only goes forward")
        first = self._steps // self._every + 1
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
        if steps % self._every == 0:
            self._sample()

    def _second_begins(self, t: float) -> None:
        crew, hoist, fluid = self._crew, self.hoist, self.fluid
        crew.tick()
        if crew.plan.reacts and len(crew.repairs) > self._repairs:
            self._repairs = len(crew.repairs)
            self._fate.mend(t)
        self._fate.before(t, crew.adding, fluid, hoist)
        hoist.rock = self._rock(hoist.bottom)
        if hoist.ease:
            hoist.rock *= exp(hoist.ease)
        hoist.balance = fluid.imbalance() - self.ground.annulus - max(fluid.excess, 0.0)
        hoist.stiffness = hoist.geometry.stiffness(hoist.bit)
        hoist.share = fluid.through / fluid.usual
        hoist.empty = fluid.drained / hoist.geometry.gap

    def _second_ends(self, second: int) -> None:
        hoist, fluid = self.hoist, self.fluid
        fluid.second(hoist, (hoist.made - self._made) * hoist.geometry.hole)
        self._made = hoist.made
        self._fate.after(float(second), fluid, hoist)
        self._witness.second(hoist)
        for i, rate in enumerate(self._pump_rates()):
            self._strokes[i] += rate

    def _sample(self) -> None:
        hoist, fluid = self.hoist, self.fluid
        self._witness.sample(hoist, fluid)
        back = fluid.returns
        self._seen.append(
            (
                hoist.block, hoist.hook, hoist.torque, hoist.rotary, fluid.pressure,
                fluid.flow_out, fluid.pit, fluid.tank, back.density_out,
                back.temperature_in, back.temperature_out, back.gas, hoist.speed,
                float(self.controls.activity), FIRST_STROKE + sum(self._strokes),
                fluid.upsets.annulus, *self._pump_rates(),
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
        return join(parts, truth)

    def _look(self, first: int, seen: FloatArray, truth: dict[str, FloatArray]) -> Chunk:
        n = len(seen)
        jitter, sent, doubled, delay = self._sensors.clock(first, n)
        (block, hook, torque, rotary, pressure, out, pit, tank, density, warm_in, warm_out, gas,
         speed, activity, strokes, annulus, *rates) = seen.T  # fmt: skip
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
        gauges = self.scenario.gauges
        if self.scenario.plan.trip or "trip_tank_volume" in gauges:
            true["trip_tank_volume"] = tank
        if "annulus_pressure" in gauges:
            true["annulus_pressure"] = annulus
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
        second = np.arange(first, first + n, dtype=np.float64) * self.interval
        t = self.start + second + jitter
        return Chunk(second, t, t + delay, sent, doubled, read, truth)
