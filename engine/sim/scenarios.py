"""Every scenario by name: rock, plan, noise and the trouble that physics is given."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from engine.errors import InputError
from engine.sim.jobs import Plan


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that goes wrong, from nothing up to `size`, and back."""

    kind: str
    """Key of `engine.sim.trouble.EFFECTS`, or ``stuck`` or ``dropout`` for a sensor or feed."""
    start: float
    """[s] from the start of the run"""
    size: float
    """What it measures is said where the kind is defined."""
    rise: float = 60.0
    hold: float = 600.0
    fall: float = 60.0
    channel: str = ""
    """Channel of a stuck sensor."""
    operation: bool = False
    """The crew means to do it: it stays in the twin without trouble."""
    at_connection: bool = False
    """The crew finds and mends it at the first connection after it has reached its size."""

    @property
    def end(self) -> float:
        """When it is over. [s] from the start of the run"""
        return self.start + self.rise + self.hold + self.fall

    def level(self, t: float) -> float:
        """Return how much of it there is at `t` [s], from 0 to `size`."""
        after = t - self.start
        if after <= 0 or t >= self.end:
            return 0.0
        if after < self.rise:
            return self.size * after / self.rise
        if after < self.rise + self.hold:
            return self.size
        return self.size * (self.end - t) / self.fall


DRILL = Plan()
"""Stand after stand."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole run, but for the seed."""

    name: str
    text: str
    """One line that says what happens."""
    ground: str = "hard"
    noise: str = "calm"
    plan: Plan = DRILL
    troubles: tuple[Trouble, ...] = ()

    def twin(self) -> Scenario:
        """Return the same operations and the same noise without the trouble."""
        kept = tuple(t for t in self.troubles if t.operation)
        return replace(
            self, name=f"{self.name}-twin", text=f"As {self.name}, without it", troubles=kept
        )


_AT = 3000.0
"""The trouble of a single-trouble scenario starts here, well after the first connection. [s]"""
_STOP = Plan(stops=((_AT, 900.0),))

_QUIET = (
    Scenario("quiet", "Hard rock, nothing goes wrong"),
    Scenario("quiet-soft", "Soft rock, a connection an hour, nothing goes wrong", ground="soft"),
    Scenario("trip-out", "Twelve stands out of the hole", plan=Plan(left=0.4, trip=12)),
    Scenario(
        "trip-in",
        "A round trip: twelve stands out and in again, wash to bottom, drill on",
        plan=Plan(left=0.4, trip=12, back=True),
    ),
    Scenario(
        "long-trip",
        "Sixty stands out and in again; the trip tank is topped up and emptied on the way",
        plan=Plan(left=0.4, trip=60, back=True),
    ),
)

_TROUBLED = (
    Scenario(
        "kick",
        "A pocket of hot brine flows while drilling, about 200 L/min",
        troubles=(Trouble("influx", _AT, 1.7e6, rise=90.0, hold=2400.0),),
    ),
    Scenario(
        "masked-kick",
        "The same pocket while mud is moved out of the active pits without a word",
        troubles=(
            Trouble("influx", _AT, 1.7e6, rise=90.0, hold=2400.0),
            Trouble("transfer", _AT, -0.0035, rise=30.0, hold=1500.0, fall=30.0, operation=True),
        ),
    ),
    Scenario(
        "partial-loss",
        "A fracture takes a quarter of the returns",
        troubles=(Trouble("loss", _AT, 14e-9, rise=20.0, hold=1500.0, fall=300.0),),
    ),
    Scenario(
        "total-loss",
        "A void takes everything: no returns, the level falls",
        troubles=(Trouble("total-loss", _AT, 30e-9, rise=20.0, hold=1800.0, fall=300.0),),
    ),
    Scenario(
        "washout",
        "A hole in the string grows slowly",
        troubles=(Trouble("washout", _AT, 9e-5, rise=2400.0, hold=1800.0, fall=1.0),),
    ),
    Scenario(
        "pack-off",
        "Cavings close the annulus while drilling",
        troubles=(Trouble("pack-off", _AT, 5.5e6, rise=120.0, hold=300.0, fall=120.0),),
    ),
    Scenario(
        "pressure-rise-pumps-off",
        "The pumps stand and the shut-in string warms up",
        plan=_STOP,
        troubles=(Trouble("shut", _AT, 1.0, rise=1.0, hold=1100.0, fall=1.0),),
    ),
    Scenario(
        "stuck-sensor",
        "The standpipe gauge freezes for a quarter of an hour",
        troubles=(Trouble("stuck", _AT, 1.0, 0.0, 900.0, 0.0, channel="standpipe_pressure"),),
    ),
    Scenario(
        "short-fill",
        "Each stand pulled swabs some of the formation in: the hole takes too little",
        plan=Plan(left=0.4, trip=44),
        troubles=(Trouble("swab", _AT, 0.45, rise=1.0, hold=inf, fall=1.0),),
    ),
    Scenario(
        "feed-dropout",
        "Nothing comes down the line for 90 s",
        troubles=(Trouble("dropout", _AT, 1.0, rise=0.0, hold=90.0, fall=0.0),),
    ),
)

DEMO_HISTORY = 7200.0
"""History of the demo before anyone looks. [s]"""
_H = DEMO_HISTORY
_DEMO = Scenario(
    "demo",
    "Twelve hours in altered tuff: a bridge at a connection, losses, hot returns, a washout",
    ground="altered",
    plan=Plan(left=2.6, paced=(600.0, _H + 23.0), quick=1, keep=2.5),
    troubles=(
        # Cavings settle while the pipe stands in the slips; the pressure comes with the pumps.
        Trouble("pack-off", _H + 160.0, 9.0e6, rise=60.0, hold=110.0, fall=90.0),
        Trouble("loss", _H + 900.0, 15e-9, rise=30.0, hold=540.0, fall=240.0),
        Trouble("hot", _H + 2400.0, 21.0, rise=300.0, hold=900.0, fall=900.0),
        Trouble(
            "washout", _H + 9000.0, 1.7e-4, rise=4800.0, hold=inf, fall=1.0, at_connection=True
        ),
        Trouble("hot", _H + 20000.0, 20.0, rise=400.0, hold=1200.0, fall=1200.0),
        Trouble("loss", _H + 27500.0, 15e-9, rise=60.0, hold=900.0, fall=400.0),
        Trouble("pack-off", _H + 35000.0, 5.5e6, rise=90.0, hold=200.0, fall=120.0),
    ),
)

SCENARIOS: dict[str, Scenario] = {
    s.name: s for s in (*_QUIET, _DEMO, *_TROUBLED, *(t.twin() for t in _TROUBLED))
}
"""Every scenario by name."""


def scenario(name: str) -> Scenario:
    """Return the scenario called `name`; `InputError` lists them if there is none."""
    found = SCENARIOS.get(name)
    if found is None:
        raise InputError(f"scenario: no scenario {name!r}; there are {', '.join(SCENARIOS)}")
    return found
