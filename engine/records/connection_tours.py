"""Connections of a recording added up for each crew tour, and the whole log as JSON values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

from engine.config import WellConfig
from engine.records.connection_log import Logged
from engine.records.journal import iso
from engine.records.tours import tours_between
from engine.well.answer import Answer, Unknown
from engine.well.connection_stats import Statistics, Timed, Tour, statistics

FIGURES = (
    "slip_to_slip", "weight_to_weight", "pumps_off_to_on", "bottom_to_bottom", "pre_slip",
    "post_slip",
)  # fmt: skip
"""Figures of a connection, names of `engine.well.connection_times.Connection`."""
TARGETED = "weight_to_weight"
"""The figure that the target of the well file is for."""
NO_TARGET = Unknown("no target in the well file: under [tour], target_min")


@dataclass(frozen=True, slots=True)
class TourOfConnections:
    """What one crew's tour took for its connections; never a person's."""

    tour: Tour
    recorded: float
    """How much of the tour the recording covers. [s]"""
    figures: dict[str, Statistics]
    """Figure of `FIGURES` to its statistics; drilling connections only."""
    spent: float
    """Sum of the slip-to-slip times, of those set apart as well. [s]"""


def tours_of(
    log: Sequence[Logged], config: WellConfig, zone: tzinfo, span: tuple[float, float]
) -> list[TourOfConnections]:
    """Add up the drilling connections of every tour that touches `span` [s].

    A connection belongs to the tour in which its slips were set. One that was set apart (alarm,
    circulating, first after a trip) is counted but is no part of the statistics.
    """
    return [
        TourOfConnections(
            tour,
            min(tour.end, span[1]) - max(tour.start, span[0]),
            {name: whole(part := _during(log, tour), name, config) for name in FIGURES},
            sum(s for one in part if isinstance(s := one.times.slip_to_slip, float)),
        )
        for tour in tours_between(config.tour, zone, *span)
    ]


def whole(log: Sequence[Logged], figure: str, config: WellConfig) -> Statistics:
    """Return the statistics of one figure over all drilling connections of `log`."""
    target = config.tour.target
    goal: Answer = NO_TARGET if target is None or figure != TARGETED else target
    return statistics(
        [
            Timed(one.at or 0.0, getattr(one.times, figure), one.excluded)
            for one in log
            if one.kind == "drilling"
        ],
        goal,
    )


def _during(log: Sequence[Logged], tour: Tour) -> list[Logged]:
    return [
        one
        for one in log
        if one.kind == "drilling" and one.at is not None and tour.start <= one.at < tour.end
    ]


def as_json(
    log: Sequence[Logged], tours: Sequence[TourOfConnections], config: WellConfig, recording: str
) -> dict[str, Any]:
    """Return the log as JSON values: times ISO 8601 UTC, SI with the unit in the key.

    None is what is not known; ``unknown`` says why. Keys: recording, well, synthetic,
    connections (slips_set, slips_out, kind, bit_depth_m, hole_depth_m, travel_m, seconds,
    unknown, moments, time_line, spent_s, excluded), all, tours (tour, start, end, recorded_s,
    in_slips_s, figures).
    """
    return {
        "recording": recording,
        "well": config.well,
        "synthetic": config.synthetic,
        "connections": [_connection(one) for one in log],
        "all": {name: _statistics(whole(log, name, config)) for name in FIGURES},
        "tours": [
            {
                "tour": one.tour.name,
                "start": iso(one.tour.start),
                "end": iso(one.tour.end),
                "recorded_s": round(one.recorded, 3),
                "in_slips_s": round(one.spent, 3),
                "figures": {name: _statistics(s) for name, s in one.figures.items()},
            }
            for one in tours
        ],
    }


def _connection(one: Logged) -> dict[str, Any]:
    figures: dict[str, Answer] = {name: getattr(one.times, name) for name in FIGURES}
    named = {**figures, **one.times.at, "travel": one.travel}
    return {
        "slips_set": _iso(one.times.at["slips_set"]),
        "slips_out": _iso(one.times.at["slips_out"]),
        "kind": one.kind,
        "bit_depth_m": one.bit_depth,
        "hole_depth_m": one.hole_depth,
        "travel_m": number_of(one.travel),
        "seconds": {name: number_of(answer) for name, answer in figures.items()},
        "unknown": {name: a.reason for name, a in named.items() if isinstance(a, Unknown)},
        "moments": {name: _iso(at) for name, at in one.times.at.items()},
        "time_line": [
            {"from": a, "to": b, "seconds": round(s, 3)} for a, b, s in one.times.time_line()
        ],
        "spent_s": {state: round(s, 3) for state, s in one.spent.items()},
        "excluded": one.excluded,
    }


def _statistics(s: Statistics) -> dict[str, Any]:
    return {
        "timed": s.timed,
        "unknown": s.unknown,
        "excluded": s.excluded,
        "mean_s": number_of(s.mean),
        "median_s": number_of(s.median),
        "p10_s": number_of(s.p10),
        "p90_s": number_of(s.p90),
        "best_s": number_of(s.shortest),
        "worst_s": number_of(s.longest),
        "over_target_s": number_of(s.over_target),
    }


def number_of(answer: Answer, digits: int = 3) -> float | None:
    """Return a rounded number, None for what is not known."""
    return None if isinstance(answer, Unknown) else round(answer, digits)


def _iso(at: Answer) -> str | None:
    return None if isinstance(at, Unknown) else iso(at)
