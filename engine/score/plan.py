"""What is run for an evaluation: every kind at several sizes, its twins, good tours, other rigs.

Noise is dealt out in turn, so that few runs already meet every class of sensors.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, product

from engine.errors import InputError
from engine.score.families import window
from engine.sim.events import CALLED, RECIPES, event
from engine.sim.ground import GROUNDS
from engine.sim.noise import CLASSES
from engine.sim.plan import Plan
from engine.sim.recipes import BPM
from engine.sim.rigs import other_rigs
from engine.sim.script import Scenario
from engine.sim.sensor_events import FAULT_NAMES
from engine.sim.tours import quiet
from engine.units import PSI

TUNING = range(1, 1000)
"""Seeds that limits may be set on. [-]"""
REPORTING = range(10000, 11000)
"""Seeds kept for reports: nobody looks at them while setting limits. [-]"""
USUAL = "usual"
"""The rig of the example well."""
KINDS: tuple[str, ...] = (*RECIPES, "sensor_fault")
AFTER_S = 900.0
"""A run goes on so long after the time in which a call is right. [s]"""
TRIP = Plan(left=0.4, trip=60, back=True)
"""Sixty stands out and in; the trip tank is tended on the way."""
TRIP_H = 8.0
"""Long enough for it. [h]"""
TRIP_EVERY = 4
"""One trip for so many tours. [-]"""
_TANK = ("trip_tank_volume",)
LONG_S = {"swab": 3600.0, "overpull": 1800.0, "ballooning": 600.0}
"""What begins later than it is told to, or with stops of its own, needs so much more. [s]"""

SIZES: dict[str, tuple[float, ...]] = {
    "influx": (0.3 * BPM, BPM, 4 * BPM),
    "growing_influx": (0.5 * BPM, 2 * BPM),
    "influx_at_connection": (0.5 * BPM, 2 * BPM),
    "flow_pumps_off": (0.2 * BPM, 0.5 * BPM, BPM),
    "pressure_rise_pumps_off": (20 * PSI / 60, 45 * PSI / 60, 90 * PSI / 60),
    "bleed_rebuild": (50 * PSI / 60, 100 * PSI / 60),
    "swab": (0.25, 0.45, 0.8),
    "loss": (0.5 * BPM, 2 * BPM, 5 * BPM),
    "seepage": (0.2 * BPM,),
    "total_loss": (0.7, 1.0, 1.5),
    "blind_drilling": (1.0,),
    "undeclared_transfer": (BPM, 3 * BPM, -3 * BPM),
    "shut_in_pressure_fall": (70 * PSI, 140 * PSI),
    "out_of_hole_gain": (0.5 * BPM, BPM),
    "washout": (0.03, 0.1, 0.2),
    "nozzle_plugged": (0.2, 0.4),
    "nozzle_lost": (0.2, 0.4),
    "twist_off": (0.1, 0.3, 0.6),
    "overpull": (60e3, 150e3, 250e3),
    "drilling_break": (1.5, 1.8, 2.5),
    "pump_fault": (1 / 6, 1 / 3),
    "return_flow_not_measured": (0.6, 1.0),
    "over_range": (0.3,),
}
"""Rates and severities in the unit that each recipe names; the rest have half, once and twice the
usual. The usual of `engine.sim.events` is the one that most often is met."""
_REST = (0.5, 1.0, 2.0)
MORE = {"influx": 4, "influx_at_connection": 6}
"""Kinds with so many times the runs: of what matters most a share of 98 % is to be shown. [-]"""
KNOWN = ("influx_at_connection",)
"""Kinds that are judged by what stops of the pumps gave before: every other run has `STOPS`."""
STOPS = ((900.0, 420.0), (2100.0, 360.0), (3300.0, 480.0))
"""When the crew stops the pumps in such a run, and for how long. [s]"""
KNOWN_AT = 6000.0
"""When the event begins in it. [s]"""
OTHER_SIZE = 1.2
"""On other rigs the usual size times this: one that limits were not set on. [-]"""


@dataclass(frozen=True, slots=True)
class Case:
    """One run. `role` is ``clean``, ``event`` or ``twin``."""

    role: str
    seed: int
    rig: str = USUAL
    """`USUAL`, or the name of a rig of `engine.sim.rigs.other_rigs`."""
    noise: str = ""
    """Key of `engine.sim.noise.CLASSES`; on another rig empty: its own."""
    ground: str = "altered"
    kind: str = ""
    """Of `KINDS`; of a clean tour empty."""
    size: float | None = None
    fault: str = ""
    hours: float = 12.0
    """Of a clean run; an event lasts as long as it needs. [h]"""
    known: bool = False
    """The pumps have stopped three times before it, so that what comes back then is known."""
    job: str = "tour"
    """What a clean run is: ``tour``, drilling with all that belongs to it, or ``trip``."""

    @property
    def called(self) -> str:
        """What a detector should call the kind."""
        return CALLED.get(self.kind, self.kind)

    def scenario(self) -> Scenario:
        """Return the run's script."""
        noise = self.noise or "calm"
        if self.job == "trip":
            return Scenario("trip", "Out and in again", self.ground, noise, TRIP, gauges=_TANK)
        if self.role == "clean":
            return quiet(self.seed, self.hours, self.ground, noise)
        flows = self.kind in RECIPES and RECIPES[self.kind].is_rate
        short = 1500.0 if self.rig != USUAL and self.kind == "influx_at_connection" else None
        what = event(
            self.kind, seed=self.seed, ground=self.ground, noise=noise, fault=self.fault,
            rate=self.size if flows else None, severity=None if flows else self.size,
            at=KNOWN_AT if self.known else short,
        )  # fmt: skip
        if self.known:
            what = replace(what, plan=replace(what.plan, stops=STOPS))
        return what if self.role == "event" else what.twin()

    def seconds(self) -> float:
        """Return how long it runs. [s]"""
        if self.role == "clean":
            return self.hours * 3600.0
        what = self.scenario()
        stays = window(self.called) + LONG_S.get(self.kind, 0.0) + AFTER_S
        return float(round(what.at + stays))


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person asked for."""

    seeds: range
    runs: int = 2
    """Runs of every kind and size, each with its twin; `MORE` has kinds that get more. [-]"""
    hours: float = 12.0
    """Length of a clean tour; there is one for each seed. [h]"""
    noise: tuple[str, ...] = tuple(CLASSES)
    kinds: tuple[str, ...] = KINDS
    others: bool = True
    """Whether other rigs are run as well."""

    def __post_init__(self) -> None:
        if unknown := [k for k in self.kinds if k not in KINDS]:
            raise InputError(f"evaluate: no kind {unknown[0]!r}; there are {', '.join(KINDS)}")
        if unknown := [n for n in self.noise if n not in CLASSES]:
            raise InputError(f"evaluate: no noise {unknown[0]!r}; there are {', '.join(CLASSES)}")
        if not len(self.seeds):
            raise InputError("evaluate: no seed; give the first and the last, such as 1-20")
        if self.runs < 0:
            raise InputError(f"evaluate: runs must be 0 or more, got {self.runs}")


def cases(wanted: Wanted) -> list[Case]:
    """Return every run, the longest first."""
    out = [*_tours(wanted), *_events(wanted), *(_others(wanted) if wanted.others else ())]
    return sorted(out, key=lambda c: -c.seconds())


def _tours(wanted: Wanted) -> Iterator[Case]:
    grounds = list(GROUNDS)
    for i, seed in enumerate(wanted.seeds):
        noise = wanted.noise[i % len(wanted.noise)]
        # One step further in each round, so that every noise meets every ground.
        ground = grounds[(i + i // len(wanted.noise)) % len(grounds)]
        yield Case("clean", seed, noise=noise, ground=ground, hours=wanted.hours)
        if i % TRIP_EVERY == 0:
            noise = wanted.noise[(i // TRIP_EVERY) % len(wanted.noise)]
            hours = min(TRIP_H, wanted.hours)
            yield Case("clean", seed, noise=noise, ground=ground, hours=hours, job="trip")


def _events(wanted: Wanted) -> Iterator[Case]:
    dealt = count()
    for number, kind in enumerate(wanted.kinds):
        for j, (size, fault) in enumerate(sizes(kind)):
            for i in range(wanted.runs * MORE.get(kind, 1)):
                # A seed draws the start as well, so each event gets the next one.
                seed = wanted.seeds[next(dealt) % len(wanted.seeds)]
                noise = wanted.noise[(i + j + number) % len(wanted.noise)]
                known = kind in KNOWN and i // len(wanted.noise) % 2 == 1
                for role in ("event", "twin"):
                    yield Case(
                        role, seed, noise=noise, kind=kind, size=size, fault=fault, known=known
                    )


def _others(wanted: Wanted) -> Iterator[Case]:
    rigs = [model.name for model in other_rigs()]
    for name, seed in zip(rigs, _around(wanted.seeds, len(rigs)), strict=True):
        yield Case("clean", seed, rig=name, hours=wanted.hours)
    turns = product(range((wanted.runs + 1) // 2), enumerate(wanted.kinds))
    for i, (number, kind) in turns:
        seed = wanted.seeds[(i + number) % len(wanted.seeds)]
        fault = FAULT_NAMES[i % len(FAULT_NAMES)] if kind == "sensor_fault" else ""
        size = None if kind == "sensor_fault" else OTHER_SIZE * RECIPES[kind].usual
        rig = rigs[(i + number) % len(rigs)]
        yield Case("event", seed, rig=rig, kind=kind, size=size, fault=fault)


def _around(seeds: Sequence[int], n: int) -> list[int]:
    return [seeds[-1 - i % len(seeds)] for i in range(n)]


def sizes(kind: str) -> list[tuple[float | None, str]]:
    """Return (size, fault) of each variant of a kind."""
    if kind == "sensor_fault":
        return [(None, fault) for fault in FAULT_NAMES]
    usual = RECIPES[kind].usual
    return [(size, "") for size in SIZES.get(kind, tuple(share * usual for share in _REST))]


def unit_of(kind: str) -> str:
    """Return what the size of a kind measures, as its recipe says."""
    return RECIPES[kind].unit if kind in RECIPES else "fault"


def which_seeds(seeds: range) -> str:
    """Say in words what the seeds may be used for."""
    for name, those in (("tuning", TUNING), ("reporting", REPORTING)):
        if seeds[0] in those and seeds[-1] in those:
            return name
    return "neither tuning nor reporting"
