"""One event of any size in any tour, for whoever measures detectors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from engine.errors import InputError
from engine.sim.plan import Plan
from engine.sim.recipes import MUD, Parts, Recipe
from engine.sim.recipes_rig import RIG
from engine.sim.script import Scenario, Trouble
from engine.sim.sensor_events import FAULT_NAMES, sensor_fault

RECIPES: dict[str, Recipe] = MUD | RIG
"""Every kind of event but ``sensor_fault``; most are of `engine.detect.kinds.EVENT_KINDS`."""
CALLED: dict[str, str] = {
    "growing_influx": "influx", "seepage": "loss", "blind_drilling": "total_loss",
    "over_range": "sensor_fault",
}  # fmt: skip
"""What a detector should call a kind that has another name here."""
SHORT_TRIP = 14
"""Stands that are pulled, in a tour, for an event that needs a trip. [-]"""


def event(
    kind: str,
    *,
    seed: int,
    rate: float | None = None,
    severity: float | None = None,
    at: float | None = None,
    tour: Scenario | None = None,
    ground: str = "altered",
    noise: str = "calm",
    reacts: bool = False,
    channel: str = "",
    fault: str = "",
) -> Scenario:
    """Return a run in which one thing goes wrong.

    Parameters
    ----------
    kind : str
        Key of `RECIPES`, or ``sensor_fault``; hyphens do for underscores.
    seed : int
        Draws the start, and what is open about a sensor fault.
    rate : float, optional
        Of what flows. [m3/s]
    severity : float, optional
        Size of what is no flow, in the unit that the recipe names.
    at : float, optional
        Start. [s from the start of the run]
    tour : Scenario, optional
        Run to put it in, such as one of `quiet`; its ground and noise are kept. Events that need a
        stop of the pumps or a trip add one; ``influx_at_connection`` waits for the next
        connection.
    ground, noise : str
        Where there is no tour: keys of `GROUNDS` and `CLASSES`.
    reacts : bool
        Whether the crew works the pipe when the pressure is high.
    channel, fault : str
        Of a ``sensor_fault``; empty: drawn.

    Returns
    -------
    Scenario
        ``twin()`` is the same run with something that looks like the event in its place.

    Raises
    ------
    InputError
        If the kind is unknown, the size is not of its kind, or it does not fit into a tour.
    """
    name = kind.replace("-", "_")
    rng = np.random.default_rng(np.random.SeedSequence([seed, 5]))
    if name == "sensor_fault":
        recipe = sensor_fault(rng, channel, fault)
    elif channel or fault:
        raise InputError(f"event {name}: channel and fault are for a sensor_fault")
    elif name in RECIPES:
        recipe = RECIPES[name]
    else:
        known = ", ".join((*RECIPES, "sensor_fault"))
        raise InputError(f"event: no kind {kind!r}; there are {known}")
    size = _size(name, recipe, rate, severity)
    low, high = recipe.within
    start = float(round(rng.uniform(low, high))) if at is None else at
    parts = recipe.make(start, size)
    base = tour or Scenario("tour", "", ground=ground, noise=noise)
    if tour is None:
        plan = _alone(base.plan, parts.plan)
    elif "out" in parts.plan:
        raise InputError(f"event {name}: the string is out of the hole; it fits into no tour")
    else:
        plan = _within(base.plan, parts.plan, start)
    called = CALLED.get(name, name)
    own = tuple(t if t.operation else replace(t, event=called) for t in parts.troubles)
    return replace(
        base,
        name=name.replace("_", "-"),
        text=recipe.text,
        plan=replace(plan, reacts=reacts),
        troubles=(*base.troubles, *own),
        decoys=parts.decoys,
        twin_stops=tuple(parts.twin_plan.get("stops", ())),
        gauges=tuple(dict.fromkeys((*base.gauges, *recipe.gauges))),
        event=called,
        at=start,
        size=size,
    )


def _size(name: str, recipe: Recipe, rate: float | None, severity: float | None) -> float:
    wrong = severity if recipe.is_rate else rate
    if wrong is not None:
        use = "rate" if recipe.is_rate else "severity"
        raise InputError(f"event {name}: give its {use} ({recipe.unit}), not the other")
    given = rate if recipe.is_rate else severity
    size = recipe.usual if given is None else given
    if not np.isfinite(size) or size == 0:
        raise InputError(f"event {name}: a size of {size:g} is no event")
    return size


def _alone(plan: Plan, changes: Mapping[str, Any]) -> Plan:
    """Return the plan of a run that is there for its event only."""
    rest = dict(changes)
    if "paced" in rest:
        # The first stand must last until then at a usual rate: 16 m/h in altered tuff.
        rest["left"] = min(26.9, max(1.6, rest["paced"][0] * 16.0 / 3600))
    return replace(plan, **rest)


def _within(plan: Plan, changes: Mapping[str, Any], at: float) -> Plan:
    """Put the stops and the trip of an event into the plan of a tour."""
    trips = plan.short_trips
    if changes.get("trip"):
        trips = (*trips, (at - 60.0, SHORT_TRIP))
    return replace(plan, stops=(*plan.stops, *changes.get("stops", ())), short_trips=trips)


def all_events() -> tuple[Scenario, ...]:
    """Return every kind of event at 3000 s, or where it belongs, with its usual size."""
    kinds = (*RECIPES, "sensor_fault")
    return tuple(
        event(k, seed=1, at=3000.0 if k not in RECIPES or RECIPES[k].within[0] >= 3000 else None)
        for k in kinds
    )


__all__ = ["CALLED", "FAULT_NAMES", "RECIPES", "Parts", "Trouble", "all_events", "event"]
