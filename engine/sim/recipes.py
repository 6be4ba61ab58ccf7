"""How one event is made of troubles, and what looks like it and is not: mud and pressure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import inf, log
from typing import Any

from engine.sim.script import Trouble
from engine.units import BBL, PSI

BPM = BBL / 60
"""A barrel a minute. [m3/s]"""


@dataclass(frozen=True, slots=True)
class Parts:
    """What makes an event, for a run with it and for its twin without it."""

    troubles: tuple[Trouble, ...]
    decoys: tuple[Trouble, ...] = ()
    """Only in the twin."""
    plan: Mapping[str, Any] = field(default_factory=dict)
    """Fields of `Plan`; ``stops`` are added to those of a tour."""
    twin_plan: Mapping[str, Any] = field(default_factory=dict)
    """More of them, only in the twin."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """One kind of event."""

    text: str
    """What happens, in a few words."""
    unit: str
    """What the size measures: ``m3/s`` for a rate, else a severity."""
    usual: float
    """The size when none is given."""
    make: Callable[[float, float], Parts]
    """(start [s], size) to parts."""
    within: tuple[float, float] = (3000.0, 6000.0)
    """Between these it begins when no time is given. [s]"""
    gauges: tuple[str, ...] = ()

    @property
    def is_rate(self) -> bool:
        """Whether the size is a rate."""
        return self.unit == "m3/s"


def _stop(at: float, seconds: float) -> dict[str, Any]:
    """Return the plan of a crew whose pumps stand from a minute before `at`, for `seconds`."""
    return {"stops": ((at - 120.0, seconds),)}


def _influx(at: float, rate: float) -> Parts:
    return Parts(
        (Trouble("inflow", at, rate, rise=10.0, hold=1800.0),),
        (Trouble("transfer", at, rate, rise=10.0, hold=1800.0, declared=True),),
    )


def _growing(at: float, rate: float) -> Parts:
    # A tenth of a barrel a minute more every minute.
    rise = 60.0 * rate / (0.1 * BPM)
    return Parts(
        (Trouble("inflow", at, rate, rise=rise, hold=600.0),),
        (Trouble("transfer", at, rate, rise=rise, hold=600.0, declared=True),),
    )


def _at_connection(at: float, rate: float) -> Parts:
    bank = Trouble("breathing", at - 2000.0, 1.2, rise=0.0, hold=inf, fall=0.0)
    return Parts(
        (Trouble("static-inflow", at, rate, rise=0.0, hold=4 * 3600.0, fall=0.0),),
        (bank,),
        {"paced": (at + 60.0,)},
    )


def _pumps_off(at: float, rate: float) -> Parts:
    return Parts(
        (Trouble("inflow", at, rate, rise=10.0, hold=900.0),),
        (Trouble("swelling", at, 0.03 * BPM, rise=10.0, hold=900.0),),
        _stop(at, 1200.0),
    )


def _shut(at: float, seconds: float) -> Trouble:
    return Trouble("shut", at, 1.0, 1.0, seconds, 1.0, operation=True)


def _pressure_rise(at: float, rate: float) -> Parts:
    return Parts(
        (_shut(at, 1000.0), Trouble("pressure-source", at, rate, 1.0, 320.0, 1.0)),
        plan=_stop(at, 1000.0),
    )


def _rebuild(at: float, rate: float) -> Parts:
    bleed = Trouble("bleed", at + 400.0, 1.0, 1.0, 60.0, 1.0, operation=True)
    first = Trouble("pressure-source", at, rate, 1.0, 300.0, 1.0, operation=True)
    again = Trouble("pressure-source", at + 470.0, rate, 1.0, 300.0, 1.0)
    return Parts((_shut(at, 1200.0), first, bleed, again), plan=_stop(at, 1300.0))


def _swab(at: float, share: float) -> Parts:
    return Parts(
        (Trouble("swab", at, share, 0.0, inf, 0.0),), plan={"left": 0.4, "trip": 20, "back": True}
    )


def _loss(at: float, rate: float) -> Parts:
    return Parts(
        (Trouble("outflow", at, rate, rise=20.0, hold=1800.0, fall=120.0),),
        (Trouble("transfer", at, -rate, rise=20.0, hold=1800.0, fall=120.0, declared=True),),
    )


def _total_loss(at: float, size: float) -> Parts:
    return Parts(
        (Trouble("total-loss", at, 30e-9 * size, rise=20.0, hold=1800.0, fall=300.0),),
        twin_plan=_stop(at, 600.0),
    )


def _blind(at: float, size: float) -> Parts:
    return Parts((Trouble("total-loss", at, 30e-9 * size, rise=20.0, hold=inf, fall=0.0),))


def _ballooning(at: float, volume: float) -> Parts:
    return Parts(
        (Trouble("breathing", at, volume, rise=60.0, hold=inf, fall=0.0),),
        plan=_stop(at + 1800.0, 900.0),
    )


def _transfer(at: float, rate: float) -> Parts:
    return Parts(
        (Trouble("transfer", at, rate, rise=5.0, hold=600.0, fall=5.0),),
        (Trouble("transfer", at, rate, rise=5.0, hold=600.0, fall=5.0, declared=True),),
    )


def _heat(at: float, kelvin: float) -> Parts:
    # The twin has one warm slug after half an hour without pumps.
    return Parts(
        (Trouble("hot", at, kelvin, rise=300.0, hold=900.0, fall=900.0),),
        twin_plan=_stop(at, 1800.0),
    )


def _gas(at: float, share: float) -> Parts:
    return Parts(
        (Trouble("gas", at, share, rise=60.0, hold=3000.0),),
        (Trouble("soft-rock", at, log(1.4), rise=60.0, hold=3000.0),),
    )


def _annulus(at: float, pascal: float) -> Parts:
    return Parts(
        (Trouble("annulus-pressure", at, pascal, rise=1200.0, hold=1200.0),),
        (Trouble("annulus-pressure", at, 0.05 * pascal, rise=1200.0, hold=1200.0),),
    )


def _shut_in_fall(at: float, pascal: float) -> Parts:
    built = Trouble("annulus-pressure", at - 50.0, 4.3e6, 40.0, 1100.0, 40.0, operation=True)
    fall = Trouble("annulus-pressure", at, -pascal, rise=600.0, hold=500.0, fall=40.0)
    return Parts((_shut(at - 50.0, 1150.0), built, fall), plan=_stop(at - 60.0, 1200.0))


def _pair(at: float, rate: float) -> Parts:
    # Both sides of a closed well rise together; the line to one gauge plugs.
    rise = Trouble("annulus-pressure", at, 300.0 * rate, 300.0, 600.0, 60.0, operation=True)
    source = Trouble("pressure-source", at, rate, 1.0, 299.0, 1.0, operation=True)
    plug = Trouble("stuck", at, 1.0, 0.0, 900.0, 0.0, channel="annulus_pressure")
    return Parts((_shut(at, 1000.0), rise, source, plug), plan=_stop(at, 1000.0))


def _out_of_hole(at: float, rate: float) -> Parts:
    there = Trouble("to-trip-tank", at + 600.0, 0.008, 5.0, 295.0, 5.0)
    back = Trouble("to-trip-tank", at + 1200.0, -0.008, 5.0, 295.0, 5.0)
    return Parts(
        (Trouble("inflow", at, rate, rise=1200.0, hold=1200.0),), (there, back), {"out": True}
    )


_TANK, _ANNULUS = ("trip_tank_volume",), ("annulus_pressure",)
MUD: dict[str, Recipe] = {
    "influx": Recipe("Formation fluid flows in at a constant rate", "m3/s", BPM, _influx),
    "growing_influx": Recipe("Formation fluid flows in faster and faster", "m3/s", BPM, _growing),
    "influx_at_connection": Recipe(
        "It flows only while the pumps stand", "m3/s", BPM, _at_connection
    ),
    "flow_pumps_off": Recipe("It flows during a flow check", "m3/s", 0.5 * BPM, _pumps_off),
    "pressure_rise_pumps_off": Recipe(
        "A closed string gains pressure", "Pa/s", 45 * PSI / 60, _pressure_rise
    ),
    "bleed_rebuild": Recipe(
        "Pressure that was bled off comes back", "Pa/s", 100 * PSI / 60, _rebuild
    ),
    "swab": Recipe(
        "Pipe pulled is replaced by formation fluid, in part", "share", 0.45, _swab,
        within=(900.0, 1500.0), gauges=_TANK,
    ),
    "loss": Recipe("Mud goes into the rock at a constant rate", "m3/s", 2 * BPM, _loss),
    "seepage": Recipe("The same, slowly", "m3/s", 0.2 * BPM, _loss),
    "total_loss": Recipe("A void takes everything for half an hour", "times", 1.0, _total_loss),
    "blind_drilling": Recipe(
        "No returns from the first minute on", "times", 1.0, _blind, within=(60.0, 60.0)
    ),
    "ballooning": Recipe(
        "The rock takes mud and gives it back when the pumps stand", "m3", 2.5, _ballooning
    ),
    "undeclared_transfer": Recipe("Mud comes without a word", "m3/s", 3 * BPM, _transfer),
    "temperature_rise": Recipe("The returns become hot", "K", 20.0, _heat),
    "gas_at_surface": Recipe("Gas from the rock arrives", "share", 0.05, _gas),
    "annulus_pressure": Recipe(
        "An outer annulus gains pressure", "Pa", 2e6, _annulus, gauges=_ANNULUS
    ),
    "shut_in_pressure_fall": Recipe(
        "The pressure of a shut-in well falls", "Pa", 140 * PSI, _shut_in_fall, gauges=_ANNULUS
    ),
    "paired_pressure_mismatch": Recipe(
        "One of two gauges that should agree does not", "Pa/s", 5e3, _pair, gauges=_ANNULUS
    ),
    "out_of_hole_gain": Recipe(
        "It flows with the string out of the hole", "m3/s", BPM, _out_of_hole, gauges=_TANK
    ),
}  # fmt: skip
"""Recipes of events in mud and pressure, by kind."""
