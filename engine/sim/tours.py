"""Clean tours: everything that happens on a good day and must not raise an alarm."""

from __future__ import annotations

import numpy as np

from engine.commands import DeclareTransfer
from engine.sim.plan import Plan
from engine.sim.recipes import BPM
from engine.sim.script import Scenario, Trouble

AHEAD_S = 20.0
"""A transfer is declared so long before it begins. [s]"""
SLACK = 1.5
"""A declaration lasts so much longer than the transfer needs. [-]"""
_KINDS = ("add", "dump", "to tank", "from tank", "pace", "pace", "ream", "stop", "trip", "solids",
          "warmth", "harder")  # fmt: skip


def quiet(
    seed: int, hours: float, ground: str = "altered", noise: str = "calm", busy: float = 1500.0
) -> Scenario:
    """Return a tour without trouble but with all its innocent disturbances.

    Parameters
    ----------
    seed : int
        Draws what happens when.
    hours : float
        Disturbances go on for so long. [h]
    ground, noise : str
        Keys of `GROUNDS` and `CLASSES`.
    busy : float
        Mean time from one disturbance to the next; connections come besides. [s]

    Returns
    -------
    Scenario
        Mud added, dumped and moved to and from the trip tank, all declared (`declarations`);
        other pump rates; reaming; flow checks; a short trip; solids control; mud that warms;
        harder rock.
    """
    rng = np.random.default_rng(np.random.SeedSequence([seed, 6]))
    troubles: list[Trouble] = []
    stops: list[tuple[float, float]] = []
    reams: list[float] = []
    trips: list[tuple[float, int]] = []
    tank, t = 0.0, float(rng.uniform(900, 1800))
    bag: list[str] = []
    while t < hours * 3600 - 1800:
        bag = bag or [str(k) for k in rng.permutation(_KINDS)]
        kind = bag.pop()
        at = float(round(t))
        length = float(round(rng.uniform(400, 1500)))
        if kind in ("add", "dump"):
            rate = float(rng.uniform(1.0, 4.0)) * BPM * (1 if kind == "add" else -1)
            troubles.append(_moved("transfer", at, rate, length / 2))
        elif kind in ("to tank", "from tank"):
            # Forth and back by turns, so that neither runs dry.
            volume = float(rng.uniform(0.8, 1.6)) if tank == 0.0 else -tank
            tank += volume
            troubles.append(_moved("to-trip-tank", at, volume / 300.0, 290.0))
        elif kind == "pace":
            share = float(rng.choice([-0.25, -0.15, -0.08, 0.05, 0.1]))
            troubles.append(Trouble("pump-rate", at, share, 20.0, length, 20.0, operation=True))
        elif kind == "ream":
            reams.append(at)
        elif kind == "stop":
            stops.append((at, float(rng.uniform(300, 700))))
        elif kind == "trip":
            trips.append((at, int(rng.integers(2, 6))))
            t += 1500.0
        elif kind == "solids":
            rate = float(rng.uniform(0.03, 0.08)) * BPM
            troubles.append(Trouble("stripping", at, rate, 5.0, 3 * length, 5.0, operation=True))
        elif kind == "warmth":
            rate = float(rng.uniform(-0.04, 0.05)) * BPM
            troubles.append(Trouble("swelling", at, rate, 600.0, 2 * length, 600.0, operation=True))
        else:
            share = float(rng.uniform(0.05, 0.2))
            troubles.append(Trouble("more-torque", at, share, 60.0, length, 60.0, operation=True))
        t += length / 3 + float(rng.exponential(busy))
    plan = Plan(
        left=float(rng.uniform(1.6, 6.0)), stops=tuple(stops), reams=tuple(reams),
        short_trips=tuple(trips),
    )  # fmt: skip
    return Scenario(
        f"tour-{seed}", "A good tour with everything that belongs to it", ground, noise, plan,
        tuple(troubles), gauges=("trip_tank_volume", "annulus_pressure"),
    )  # fmt: skip


def _moved(kind: str, at: float, rate: float, hold: float) -> Trouble:
    return Trouble(kind, at, rate, 5.0, hold, 5.0, operation=True, declared=True)


def declarations(what: Scenario) -> tuple[tuple[float, DeclareTransfer], ...]:
    """Return what a person says about transfers, and when, in order. [s from the start]

    The volume is that of the whole transfer; what goes to the trip tank leaves the active pits.
    """
    said = []
    for t in what.troubles:
        if not t.declared:
            continue
        tank = t.kind == "to-trip-tank"
        volume = t.size * (t.rise / 2 + t.hold + t.fall / 2) * (-1 if tank else 1)
        other = "trip tank" if tank else "reserve"
        text = f"active to {other}" if volume < 0 else f"{other} to active"
        minutes = (AHEAD_S + SLACK * (t.end - t.start)) / 60
        said.append((max(t.start - AHEAD_S, 0.0),
                     DeclareTransfer(text, volume, abs(t.size), minutes)))  # fmt: skip
    return tuple(sorted(said, key=lambda pair: pair[0]))
