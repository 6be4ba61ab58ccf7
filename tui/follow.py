"""Follow a recording that a watch is writing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from engine.commands import Command
from engine.config import WellConfig
from engine.interfaces import Recording, Status
from engine.snapshot import Snapshot, WatchView
from tui.fold import Fold

HEARTBEAT_LIMIT_S = 2.5
"""Older than this, the watch counts as stopped: two missed beats of 1 s and a slow disk. [s]"""


class Follower:
    """Reads what is new in a recording and folds it; not to be called from two threads at once."""

    def __init__(
        self, recording: Recording, config: WellConfig, wall_clock: Callable[[], float]
    ) -> None:
        self.config = config
        self._recording = recording
        self._wall_clock = wall_clock
        self._fold = Fold(config)

    def poll(self) -> Snapshot:
        """Read new rows, journal lines and the heartbeat; blocks while it reads.

        Raises
        ------
        RecordingError
            If the recording cannot be read.
        """
        samples, happenings = self._fold.samples, self._fold.happenings
        last = float(samples.times(samples.size)[-1]) if samples.size else float("-inf")
        samples.append(self._recording.rows(after=last))
        happenings.take(self._recording.journal(after=happenings.seq))
        status = self._recording.status()
        watch, now = self._watch(status)
        return self._fold.snapshot(now, watch, status.feeds if status else ())

    def post(self, command: Command, who: str, station: str) -> None:
        """Leave `command` for the watch."""
        self._recording.post(command, who, station)

    def _watch(self, status: Status | None) -> tuple[WatchView, float]:
        synthetic = self.config.synthetic
        if status is None:
            never = WatchView(False, float("inf"), synthetic=synthetic, problem="no heartbeat yet")
            return never, self._wall_clock()
        ahead = self._wall_clock() - status.wall
        # A heartbeat from the future (the clock was set back) proves nothing either.
        alive = status.running and abs(ahead) <= HEARTBEAT_LIMIT_S
        view = WatchView(
            alive=alive,
            age=max(0.0, ahead),
            speed=status.speed,
            synthetic=synthetic,
            ended=not status.running,
            problem=status.problem,
        )
        # After a crash the ages go on growing; after an end in good order time stands still.
        run = max(0.0, ahead) * status.speed if status.running else 0.0
        return view, status.data + run


class Source(Protocol):
    """What the app follows: a live recording or a replay."""

    config: WellConfig

    def poll(self) -> Snapshot:
        """Return the newest picture; blocks while it reads."""
        ...

    def post(self, command: Command, who: str, station: str) -> None:
        """Leave a command for the watch; `InputError` where there is none."""
        ...
