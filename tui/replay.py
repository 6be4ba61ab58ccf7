"""Replay of a recording: the same fold as live, at the time a transport clock says."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace

from engine.commands import Command
from engine.config import WellConfig
from engine.errors import InputError
from engine.interfaces import FeedHealth, JournalLine, Recording
from engine.records.journal import read
from engine.snapshot import Snapshot, WatchView
from tui.fold import Fold

SPEEDS = (1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 300.0)


@dataclass(frozen=True, slots=True)
class Transport:
    """A clock that plays a recording; replaced, never changed."""

    first: float
    """Start of the recording. [s since 1970-01-01 UTC]"""
    last: float
    """End of the recording. [s since 1970-01-01 UTC]"""
    at: float
    """Recording time at `wall`. [s since 1970-01-01 UTC]"""
    wall: float
    """[s]"""
    speed: float = 1.0
    playing: bool = False

    def now(self, wall: float) -> float:
        """Return the recording time at `wall`; it stops at the end."""
        run = (wall - self.wall) * self.speed if self.playing else 0.0
        return min(max(self.at + run, self.first), self.last)

    def moved(self, to: float, wall: float) -> Transport:
        """Go to time `to`, or to the nearest end."""
        return replace(self, at=min(max(to, self.first), self.last), wall=wall)

    def toggled(self, wall: float) -> Transport:
        """Play if paused, pause if playing; at the end, start again."""
        now = self.now(wall)
        if not self.playing and now >= self.last:
            now = self.first
        return replace(self, at=now, wall=wall, playing=not self.playing)

    def geared(self, by: int, wall: float) -> Transport:
        """Take the speed `by` steps up or down the ladder."""
        index = min(max(bisect_left(SPEEDS, self.speed) + by, 0), len(SPEEDS) - 1)
        return replace(self, at=self.now(wall), wall=wall, speed=SPEEDS[index])


class ReplayFollower:
    """Plays a finished recording; not to be called from two threads at once."""

    def __init__(
        self,
        recording: Recording,
        config: WellConfig,
        wall_clock: Callable[[], float],
    ) -> None:
        self.config = config
        self._start, self._speed = float("-inf"), 1.0
        self._recording = recording
        self._wall_clock = wall_clock
        self._fold = Fold(config)
        self._lines: list[JournalLine] = []
        self._line_times: list[float] = []
        self._stops: list[float] = []
        self._taken = 0
        self.transport: Transport | None = None

    def poll(self) -> Snapshot:
        """Show the recording as it stood at the transport's time; reads it at the first call.

        Raises
        ------
        InputError
            If the recording has no row, so that there is nothing to play.
        """
        transport = self._load()
        wall = self._wall_clock()
        now = transport.now(wall)
        if transport.playing and now >= transport.last:
            self.transport = transport = replace(transport, at=now, wall=wall, playing=False)
        self._take_journal(now)
        watch = WatchView(
            alive=True,
            age=0.0,
            speed=transport.speed,
            synthetic=self.config.synthetic,
            replay=True,
            paused=not transport.playing,
        )
        count = self._fold.samples.until(now)
        return self._fold.snapshot(now, watch, self._feeds(), count)

    def post(self, command: Command, who: str, station: str) -> None:
        """Refuse: a recording that has been made does not change."""
        raise InputError(f"replay: {type(command).__name__} is for a live watch; nothing was done")

    def toggle(self) -> None:
        """Play or pause."""
        self.transport = self._load().toggled(self._wall_clock())

    def gear(self, by: int) -> None:
        """Play faster (`by` > 0) or slower."""
        self.transport = self._load().geared(by, self._wall_clock())

    def seek(self, to: float) -> None:
        """Go to time `to` [s since 1970-01-01 UTC]; before the first poll, start there."""
        self._start = to
        if self.transport is not None:
            self.transport = self.transport.moved(to, self._wall_clock())

    def set_speed(self, speed: float) -> None:
        """Play at `speed` times real time; the keys then go on from the next rung above."""
        if not speed > 0:
            raise InputError(f"replay speed: must be above 0, got {speed:g}")
        self._speed = speed
        if self.transport is not None:
            wall = self._wall_clock()
            now = self.transport.now(wall)
            self.transport = replace(self.transport, at=now, wall=wall, speed=speed)

    def step(self, by: int) -> None:
        """Pause and go `by` rows on or back."""
        transport = self._load()
        samples = self._fold.samples
        index = samples.until(transport.now(self._wall_clock())) - 1 + by
        index = min(max(index, 0), samples.size - 1)
        still = replace(transport, playing=False)
        self.transport = still.moved(float(samples.times(samples.size)[index]), self._wall_clock())

    def event(self, by: int) -> bool:
        """Go to the next (`by` = 1) or previous (-1) event; False if there is none."""
        transport = self._load()
        now = transport.now(self._wall_clock())
        index = bisect_right(self._stops, now) if by > 0 else bisect_left(self._stops, now) - 1
        if not 0 <= index < len(self._stops):
            return False
        self.transport = transport.moved(self._stops[index], self._wall_clock())
        return True

    def _load(self) -> Transport:
        if self.transport is not None:
            return self.transport
        samples = self._fold.samples
        samples.append(self._recording.rows())
        if samples.size == 0:
            raise InputError(f"{self._recording.path}: no row recorded, so nothing to replay")
        self._lines = self._recording.journal()
        self._line_times = [line.at for line in self._lines]
        self._stops = sorted({line.at for line in self._lines if _is_event(line)})
        times = samples.times(samples.size)
        first, last = float(times[0]), float(times[-1])
        at = min(max(self._start, first), last)
        self.transport = Transport(first, last, at, self._wall_clock(), self._speed)
        return self.transport

    def _take_journal(self, now: float) -> None:
        count = bisect_right(self._line_times, now)
        if count < self._taken:
            self._fold.happenings = self._fold.fresh_happenings()
            self._taken = 0
        self._fold.happenings.take(self._lines[self._taken : count])
        self._taken = count

    def _feeds(self) -> list[FeedHealth]:
        """Return the links as journalled; counts are not kept by time, so none are given."""
        links = self._fold.happenings.links
        return [FeedHealth(name, up, reason) for name, (up, reason) in sorted(links.items())]


def _is_event(line: JournalLine) -> bool:
    """Tell whether a person looking for trouble wants to stop here."""
    fields = read(line)
    if fields.get("kind") == "alarm":
        return fields.get("after") == "B"
    return fields.get("kind") in ("event", "command", "link")
