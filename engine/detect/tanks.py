"""All tanks that are measured, in one sum: what goes from one to another cancels."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan


@dataclass(slots=True)
class Beside:
    """One tank outside the active set; one that is not known now counts as it last was."""

    first: float = nan
    """[m3]"""
    last: float = nan
    """[m3]"""

    def see(self, volume: float) -> None:
        """Take a reading [m3]; NaN is none."""
        if isfinite(volume):
            self.last = volume
            if not isfinite(self.first):
                self.first = volume

    @property
    def known(self) -> bool:
        """Whether there has been a reading."""
        return isfinite(self.first)

    @property
    def change(self) -> float:
        """Since the first reading; 0 before it. [m3]"""
        return self.last - self.first if self.known else 0.0


@dataclass(slots=True)
class Tanks:
    """Active pits with the tanks outside them, as far as a feed sends those.

    The trip tank is counted whatever it is lined up to: to the hole, what comes or goes is the
    well's; shut off, only what is moved to or from the pits changes it, and that cancels.
    """

    reserve: Beside
    trip_tank: Beside
    first: float = nan
    """First good level of the active pits. [m3]"""
    active: float = nan
    """Change of the active pits since. [m3]"""

    def step(self, pit: float, reserve: float, trip_tank: float) -> float:
        """Return the pits with what the others have gained since they were first seen. [m3]"""
        self.reserve.see(reserve)
        self.trip_tank.see(trip_tank)
        if isfinite(pit) and not isfinite(self.first):
            self.first = pit
        self.active = pit - self.first
        return pit + self.others

    def holds(self, what: str) -> bool:
        """Whether the other end of a transfer, told in words, is a tank in the sum.

        Such a transfer changes nothing, so there is nothing to be explained by it.
        """
        ends = (("trip tank", self.trip_tank), ("reserve", self.reserve))
        return any(name in what.lower() and tank.known for name, tank in ends)

    @property
    def others(self) -> float:
        """What the tanks outside the active set have gained. [m3]"""
        return self.reserve.change + self.trip_tank.change
