"""Which crew's tour it is: clock times of the well file on a calendar."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise

from engine.config import WellConfig
from engine.config_upkeep import Tours, minutes_of
from engine.well.connection_stats import Tour


def zone_name(config: WellConfig) -> str:
    """Return the IANA name of the zone that tours are counted in."""
    if config.tour.time_zone is not None:
        return config.tour.time_zone
    return config.feeds[0].time_zone if config.feeds else "UTC"


def tours_between(tours: Tours, zone: tzinfo, start: float, end: float) -> tuple[Tour, ...]:
    """Return every tour that touches `start` to `end` [s since 1970-01-01 UTC], by time.

    A tour is named after its date and start on the clock of `zone`. Where clocks are put
    forward or back it is an hour shorter or longer, unless its length is given; then it never
    runs into the next one.
    """
    if end < start:
        return ()
    found = list(_starts(tours, zone, start, end))
    out = []
    for (at, name), (then, _) in pairwise(found):
        last = min(then, at + tours.length) if tours.length_h is not None else then
        if at <= end and last > start:
            out.append(Tour(name, at, last))
    return tuple(out)


def tour_start(tours: Tours, zone: tzinfo, now: float) -> float | None:
    """Return when the tour of `now` began, None between two. [s since 1970-01-01 UTC]"""
    found = tours_between(tours, zone, now, now)
    return found[0].start if found else None


def _starts(tours: Tours, zone: tzinfo, start: float, end: float) -> Iterator[tuple[float, str]]:
    """Yield all starts from two days before `start` to two after `end`, and their names."""
    day = datetime.fromtimestamp(start, UTC).astimezone(zone).date() - timedelta(days=2)
    final = datetime.fromtimestamp(end, UTC).astimezone(zone).date() + timedelta(days=2)
    while day <= final:
        for clock in tours.starts:
            minutes = minutes_of(clock) or 0
            at = datetime(day.year, day.month, day.day, *divmod(minutes, 60), tzinfo=zone)
            yield at.timestamp(), f"{day.isoformat()} {clock}"
        day += timedelta(days=1)
