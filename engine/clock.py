"""The recording's clock: made of a wall clock and a monotonic one that the caller hands in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

Seconds = Callable[[], float]
"""Returns seconds."""


class Clock(Protocol):
    """Time as the watch tells it."""

    speed: float
    """Recording seconds per real second. [-]"""

    def now(self) -> float:
        """Return the recording's time; never steps back. [s since 1970-01-01 UTC]"""
        ...

    def jump(self, seconds: float) -> None:
        """Skip ahead, as after the computer has slept; the gap stays visible."""
        ...


@dataclass(slots=True)
class RunningClock:
    """Starts at a given time and runs with the monotonic clock, `speed` times as fast.

    A step of the computer's wall clock does not move it, so no row is lost or doubled (R-06).
    """

    monotonic: Seconds
    start: float
    """Its time when made. [s since 1970-01-01 UTC]"""
    speed: float = 1.0
    _base: float = field(init=False)
    _mark: float = field(init=False)

    def __post_init__(self) -> None:
        self._base, self._mark = self.start, self.monotonic()

    def now(self) -> float:
        """Return the recording's time. [s since 1970-01-01 UTC]"""
        return self._base + (self.monotonic() - self._mark) * self.speed

    def jump(self, seconds: float) -> None:
        """Skip ahead by `seconds`."""
        self._base += seconds

    def set_speed(self, speed: float) -> None:
        """Go on from now at another speed."""
        self._base, self._mark = self.now(), self.monotonic()
        self.speed = speed


@dataclass(slots=True)
class HandClock:
    """A clock that moves only when told to; for tests and replays."""

    at: float = 0.0
    speed: float = 1.0

    def now(self) -> float:
        """Return the time it was set to. [s since 1970-01-01 UTC]"""
        return self.at

    def jump(self, seconds: float) -> None:
        """Move it on by `seconds`."""
        self.at += seconds
