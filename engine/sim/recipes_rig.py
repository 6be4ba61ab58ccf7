"""How one event is made of troubles, and what looks like it: string, bit, pumps, sensors."""

from __future__ import annotations

from math import inf, log

from engine.sim.recipes import Parts, Recipe
from engine.sim.script import Trouble

LOST_NOZZLE = (20 / 15) ** 2 - 1
"""Area that a lost nozzle adds: its seat is wider by 5/32 in; common size, no source. [-]"""
TIGHT = (60.0, 170.0, 290.0)
"""Tight spots above the bottom. [m]"""


def _lasts(kind: str, at: float, size: float, rise: float = 60.0, hold: float = 1800.0) -> Trouble:
    return Trouble(kind, at, size, rise=rise, hold=hold, fall=rise)


def _washout(at: float, share: float) -> Parts:
    slower = _lasts("pump-rate", at, -share / 1.8, 1500.0, 1200.0)
    return Parts((Trouble("washout", at, 4.5e-4 * share, 1500.0, 1200.0, 1.0),), (slower,))


def _plugged(at: float, share: float) -> Parts:
    return Parts((_lasts("nozzles", at, -share, 1.0),), (_lasts("pump-rate", at, 0.06, 5.0),))


def _lost(at: float, share: float) -> Parts:
    more = share * LOST_NOZZLE
    return Parts((_lasts("nozzles", at, more, 1.0),), (_lasts("pump-rate", at, -0.03, 5.0),))


def _twist_off(at: float, share: float) -> Parts:
    return Parts(
        (Trouble("parted", at, share, 1.0, inf, 0.0),),
        (_lasts("pump-rate", at, -0.2, 10.0), _lasts("more-weight", at, 0.3, 10.0)),
    )


def _pack_off(at: float, pascal: float) -> Parts:
    return Parts(
        (_lasts("pack-off", at, pascal, 120.0, 900.0),),
        (_lasts("more-torque", at, 0.25, 120.0, 900.0), _lasts("pump-rate", at, 0.05, 120.0)),
    )


def _overpull(at: float, newton: float) -> Parts:
    spots = tuple(Trouble("tight", at, newton, 0.0, inf, 0.0, above=up) for up in TIGHT)
    return Parts(spots, plan={"left": 0.4, "trip": 16, "back": True})


def _take_weight(at: float, newton: float) -> Parts:
    spots = tuple(Trouble("ledge", at, newton, 0.0, inf, 0.0, above=up) for up in TIGHT)
    return Parts(spots, plan={"left": 0.4, "trip": 12, "back": True})


def _hook_load_lost(at: float, share: float) -> Parts:
    gone = Trouble("parted", at, share, 1.0, inf, 0.0)
    return Parts((gone,), plan={"left": 0.4, "trip": 16})


def _stick_slip(at: float, share: float) -> Parts:
    return Parts((_lasts("stick-slip", at, share),), (_lasts("more-torque", at, 0.2),))


def _break(at: float, times: float) -> Parts:
    return Parts((_lasts("soft-rock", at, log(times)),), (_lasts("more-weight", at, times - 1.0),))


def _pump_fault(at: float, share: float) -> Parts:
    return Parts((_lasts("pump-fault", at, share, 1.0),), (_lasts("pump-rate", at, -share, 10.0),))


def _not_measured(at: float, share: float) -> Parts:
    gone = Trouble("bypass", at, share, 5.0, 1800.0, 5.0, channel="flow_out")
    return Parts((gone,), plan={}, twin_plan={"stops": ((at - 30.0, 600.0),)})


def _surge(at: float, reading: float) -> Parts:
    wild = Trouble("over-range", at, reading, 0.0, 120.0, 0.0, channel="flow_out")
    return Parts((wild,), (_lasts("pump-rate", at, 0.15, 10.0, 300.0),))


RIG: dict[str, Recipe] = {
    "washout": Recipe(
        "A hole in the string grows slowly", "share of the pressure, about", 0.1, _washout
    ),
    "nozzle_plugged": Recipe("A nozzle plugs", "share of the nozzle area", 0.2, _plugged),
    "nozzle_lost": Recipe("A nozzle falls out", "share of the nozzles", 0.2, _lost),
    "twist_off": Recipe("The string parts", "share of its weight", 0.3, _twist_off),
    "pack_off": Recipe("Cavings close the annulus", "Pa", 4e6, _pack_off),
    "overpull": Recipe(
        "Tight spots on the way out and in", "N", 150e3, _overpull, (30.0, 30.0),
        ("trip_tank_volume",),
    ),
    "take_weight": Recipe(
        "Ledges on the way in", "N", 150e3, _take_weight, (30.0, 30.0), ("trip_tank_volume",)
    ),
    "hook_load_lost": Recipe(
        "Most of the string is lost on a trip", "share of its weight", 0.7, _hook_load_lost,
        (900.0, 1500.0), ("trip_tank_volume",),
    ),
    "stick_slip": Recipe("The torque swings", "share of the torque", 0.4, _stick_slip),
    "drilling_break": Recipe("The rock becomes easier", "times as fast", 1.8, _break),
    "pump_fault": Recipe(
        "A pump loses a valve", "share of the output", 1 / 6, _pump_fault
    ),
    "return_flow_not_measured": Recipe(
        "The returns go past the gauge", "share", 1.0, _not_measured
    ),
    "over_range": Recipe("The flow gauge reads beyond its range", "m3/s read", 0.3, _surge),
}  # fmt: skip
"""Recipes of events in string, bit and pumps, by kind."""
