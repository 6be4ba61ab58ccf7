"""Connections of a tour added up: how many, how long, how far over the target.

References
----------
.. [1] Common practice, no source: over target is the sum of what each takes too long; one faster
   than the target makes up for none.
.. [2] R. J. Hyndman, Y. Fan, Sample Quantiles in Statistical Packages, The American Statistician
   50 (1996) 361: definition 7, straight between the two nearest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from engine.errors import InputError
from engine.units import HOUR
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import not_negative, positive

NONE = Unknown("no connection was timed")


@dataclass(frozen=True, slots=True)
class Timed:
    """One time of one connection."""

    at: float
    """When the slips were set. [s]"""
    seconds: Answer
    excluded: str = ""
    """Why it is no part of a target: an alarm, a flow check, a survey, first after a trip."""


@dataclass(frozen=True, slots=True)
class Tour:
    """A crew's time at work; never a person's."""

    name: str
    start: float
    """[s]"""
    end: float
    """Not part of it. [s]"""


@dataclass(frozen=True, slots=True)
class Statistics:
    """What a tour's connections took."""

    timed: int
    """Connections the numbers are made of. [-]"""
    unknown: int
    """Left out: the time is not known. [-]"""
    excluded: int
    """Left out: no part of a target. [-]"""
    mean: Answer
    """[s]"""
    median: Answer
    """[s]"""
    shortest: Answer
    """[s]"""
    longest: Answer
    """[s]"""
    p10: Answer
    """A tenth took less [2]_. [s]"""
    p90: Answer
    """A tenth took more [2]_. [s]"""
    over_target: Answer
    """Sum of what each took too long. [s] Unknown without a target."""


def statistics(times: Sequence[Timed], target: Answer) -> Statistics:
    """Add up connections.

    Parameters
    ----------
    times : sequence of Timed
    target : Answer
        Of one connection. [s]
    """
    kept = [one for one in times if not one.excluded]
    seconds = [s for one in kept if isinstance(s := one.seconds, float) and s >= 0.0]
    excluded, unknown = len(times) - len(kept), len(kept) - len(seconds)
    if not seconds:
        return Statistics(0, unknown, excluded, *([NONE] * 7))
    return Statistics(
        len(seconds),
        unknown,
        excluded,
        finite(float(np.mean(seconds)), "a time is no number"),
        finite(float(np.median(seconds)), "a time is no number"),
        min(seconds),
        max(seconds),
        float(np.quantile(seconds, 0.1)),
        float(np.quantile(seconds, 0.9)),
        over_target(seconds, target),
    )


def over_target(seconds: Sequence[float], target: Answer) -> Answer:
    """Sum of what each took longer than the target [1]_. [s]"""
    if isinstance(target, Unknown):
        return target
    if bad := positive(target=target):
        return bad
    return finite(sum(max(0.0, s - target) for s in seconds), "a time is no number")


def per_tour(times: Sequence[Timed], tours: Sequence[Tour], target: Answer) -> list[Statistics]:
    """Return the statistics of each tour; a connection counts where its slips were set.

    Raises
    ------
    InputError
        If two tours overlap or one ends before it starts: a connection would count twice.
    """
    for tour in tours:
        if tour.end <= tour.start:
            raise InputError(f"tour {tour.name!r}: ends at {tour.end:g}, starts {tour.start:g}")
    order = sorted(tours, key=lambda tour: tour.start)
    for a, b in pairwise(order):
        if b.start < a.end:
            raise InputError(f"tours {a.name!r} and {b.name!r} overlap")
    return [
        statistics([one for one in times if tour.start <= one.at < tour.end], target)
        for tour in tours
    ]


def stand_time(stands: float, seconds: float) -> Answer:
    """Mean time of a stand while tripping. [s]

    Parameters
    ----------
    stands : float
        Run or pulled; none have no mean. [-]
    seconds : float
        They took. [s]
    """
    if bad := positive(stands=stands) or not_negative(time=seconds):
        return bad
    return finite(seconds / stands, "too few stands")


def length_per_time(length: float, seconds: float) -> Answer:
    """Pipe added in each unit of connection time. [m/s]

    Parameters
    ----------
    length : float
        Of the stand. [m]
    seconds : float
        The connection took. [s]
    """
    if bad := not_negative(length=length) or positive(time=seconds):
        return bad
    return finite(length / seconds, "the connection took no time")


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "connections-over-target",
        "time lost by a number of connections of one mean duration",
        (
            Input("connections", "count", "number of them", low=0.0),
            Input("mean", "time", "mean duration", low=0.0),
            Input("target", "time", "target duration", low=1.0),
            Input("length", "length", "of a stand", low=0.0),
        ),
        (
            Output("over_target", "time", "over all"),
            Output("length_per_time", "speed", "pipe added in each unit of connection time"),
        ),
        "common practice",
        lambda v: {
            "over_target": finite(v["connections"] * max(0.0, v["mean"] - v["target"]), "too many"),
            "length_per_time": length_per_time(v["length"], v["mean"]),
        },
    ),
    Calculation(
        "stand-time",
        "mean time of a stand while tripping",
        (
            Input("stands", "count", "run or pulled", low=0.0),
            Input("time", "time", "they took", HOUR, low=0.0),
        ),
        (Output("time", "time", "of a stand"),),
        "common practice",
        lambda v: {"time": stand_time(v["stands"], v["time"])},
    ),
)
