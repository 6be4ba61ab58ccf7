"""Times of a connection and of a trip: slip to slip, weight to weight, over target, per stand.

Figures of a crew and a shift, never of a person. Surveys, flow checks and circulating inside a
connection are set apart: a connection with one, or with an alarm, never counts against a target.

References
----------
.. [1] Definitions: oilauthority.com/glossary/connection ; the six marks and the arithmetic are
   common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite

from engine.units import HOUR
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.sheet import numbers

ORDER = ("weight_off", "pumps_off", "slips_set", "slips_out", "pumps_on", "weight_on")
"""Marks of a connection as they usually follow; pumps may be off before the weight is."""


@dataclass(frozen=True, slots=True)
class Connection:
    """When each thing happened, back-dated to where it began; None: not seen. [s]"""

    weight_off: float | None
    pumps_off: float | None
    slips_set: float | None
    slips_out: float | None
    pumps_on: float | None
    weight_on: float | None
    apart: bool = False
    """With an alarm, a flow check or a survey, or the first after a trip: no target applies."""


@dataclass(frozen=True, slots=True)
class ConnectionTimes:
    """How long its parts took. [s]"""

    slip_to_slip: Answer
    weight_to_weight: Answer
    pumps_off: Answer
    pre_slip: Answer
    """Weight off to slips set."""
    post_slip: Answer
    """Slips out to weight on."""


def connection_times(marks: Connection) -> ConnectionTimes:
    """Return the parts of a connection; each is `Unknown` where one of its marks is."""
    return ConnectionTimes(
        _between(marks, "slips_set", "slips_out"),
        _between(marks, "weight_off", "weight_on"),
        _between(marks, "pumps_off", "pumps_on"),
        _between(marks, "weight_off", "slips_set"),
        _between(marks, "slips_out", "weight_on"),
    )


def _between(marks: Connection, first: str, last: str) -> Answer:
    a, b = getattr(marks, first), getattr(marks, last)
    for name, at in ((first, a), (last, b)):
        if at is None or not isfinite(at):
            return Unknown(f"{name.replace('_', ' ')} not seen")
    if b < a:
        words = (first.replace("_", " "), last.replace("_", " "))
        return Unknown(f"{words[1]} is before {words[0]}")
    return finite(b - a, "the times are too far apart")


def in_order(marks: Connection) -> bool:
    """Tell whether the slips were set after the weight came off and out before it went on."""
    seen = [getattr(marks, n) for n in ("weight_off", "slips_set", "slips_out", "weight_on")]
    return None not in seen and all(a <= b for a, b in pairwise(seen))


@dataclass(frozen=True, slots=True)
class OverTarget:
    """Time lost against a target, and what it was counted from."""

    time: float
    """Sum of what each took over the target; those faster take nothing off. [s]"""
    counted: int
    apart: int
    """Left out because no target applies. [-]"""
    unknown: int
    """Left out because a mark was not seen. [-]"""


def over_target(connections: Sequence[Connection], target: float) -> OverTarget | Unknown:
    """Return the sum of max(0, weight to weight - target).

    Returns
    -------
    OverTarget or Unknown
        `Unknown` for a negative target or one that is no number. [s]
    """
    got = numbers(("target", target, 0.0))
    if isinstance(got, Unknown):
        return got
    fit = [connection_times(c).weight_to_weight for c in connections if not c.apart]
    known = [t for t in fit if not isinstance(t, Unknown)]
    return OverTarget(
        sum(max(0.0, t - target) for t in known),
        len(known),
        len(connections) - len(fit),
        len(fit) - len(known),
    )


def stand_time(stands: float, time: float) -> Answer:
    """Return the time of one stand. [s] `Unknown` without a stand."""
    got = numbers(("stands", stands, 0.0), ("time", time, 0.0))
    if isinstance(got, Unknown):
        return got
    return Unknown("no stand was run") if stands == 0 else finite(time / stands, "too few stands")


def drilled_rate(length: float, connection: Answer) -> Answer:
    """Return hole made for each second of connection. [m/s] `Unknown` for no time."""
    got = numbers(("length", length, 0.0), ("connection", connection, 0.0))
    if isinstance(got, Unknown):
        return got
    if got[1] < 1e-3:
        return Unknown("the connection took no time")
    return finite(got[0] / got[1], "the connection took no time")


def _target(v: Mapping[str, float]) -> Answer:
    return max(0.0, v["connection"] - v["target"]) * v["connections"]


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "time-over-target",
        "time lost against a target in connections that all took the same",
        (
            Input("connections", "count", "number of connections", low=0.0, high=1e6),
            Input("connection", "time", "weight to weight of each", low=0.0, high=1e9),
            Input("target", "time", "target of each", low=0.0, high=1e9),
        ),
        (Output("over", "time", "lost in all"),),
        "common practice, no source",
        lambda v: {"over": _target(v)},
    ),
    Calculation(
        "stand-time",
        "time of one stand on a trip",
        (
            Input("stands", "count", "stands run or pulled", low=0.0),
            Input("time", "time", "in this time", HOUR, 0.0),
        ),
        (Output("each", "time", "of each stand"),),
        "common practice, no source",
        lambda v: {"each": stand_time(v["stands"], v["time"])},
    ),
)
