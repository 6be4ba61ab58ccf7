"""What the crew is told to do."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be done, in order, whatever trouble comes."""

    left: float = 1.6
    """Left to drill of the first stand. [m]"""
    stops: tuple[tuple[float, float], ...] = ()
    """Times at which the pumps are stopped off bottom, and for how long. [s]"""
    trip: int = 0
    """Stands pulled before the first stand is drilled down. [-]"""
    back: bool = False
    """They are run in again and drilling goes on."""
    paced: tuple[float, ...] = ()
    """Times at which the first stands are drilled down; the driller sets the weight to it. [s]"""
    quick: int = -1
    """Number of a connection done by the clock, without a minute to spare; -1: none. [-]"""
    reams: tuple[float, ...] = ()
    """Times at which the stand is reamed up and down once. [s]"""
    short_trips: tuple[tuple[float, int], ...] = ()
    """Times at which stands are pulled and run in again, and how many. [s]"""
    out: bool = False
    """The string is all but out of the hole and stays there; the trip tank watches the well."""
    reacts: bool = True
    """The crew works the pipe when the pressure is high, and mends what it finds."""
    keep: float = inf
    """Pits are topped up when this much is gone and the returns are sound. [m3]"""
