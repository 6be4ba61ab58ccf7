"""Every scenario by name: rock, plan, noise and the trouble that physics is given."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from engine.errors import InputError
from engine.sim.events import all_events
from engine.sim.plan import Plan
from engine.sim.script import Scenario, Trouble
from engine.sim.tours import quiet

__all__ = ["DEMO_HISTORY", "SCENARIOS", "Scenario", "Trouble", "scenario"]

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
    replace(quiet(1, 12.0), name="tour"),
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

_EVENTS = tuple(s for s in all_events() if s.name not in {t.name for t in _TROUBLED})
_PAIRED = (*_TROUBLED, *_EVENTS)
SCENARIOS: dict[str, Scenario] = {
    s.name: s for s in (*_QUIET, _DEMO, *_PAIRED, *(t.twin() for t in _PAIRED))
}
"""Every scenario by name."""


def scenario(name: str) -> Scenario:
    """Return the scenario called `name`; `InputError` lists them if there is none."""
    found = SCENARIOS.get(name)
    if found is None:
        raise InputError(f"scenario: no scenario {name!r}; there are {', '.join(SCENARIOS)}")
    return found
