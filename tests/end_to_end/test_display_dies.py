"""The display is killed while the well flows: nothing is lost, and the alarm is still there.

POSIX only: it needs pseudo-terminals and signals. SC-09 (K-09, R-45, R-46), after the testimony on
frozen displays before the joint investigation of Deepwater Horizon, 2010. Its twin is a display
that dies while nothing is wrong: the record has no gap either, and the next display no alarm.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.block import FloatArray
from engine.commands import StopWatch
from engine.interfaces import JournalLine
from engine.records.journal import broken_at, from_iso, read
from tests.end_to_end.test_serial_line import KELLYDOWN, Screen, rows, wait_for
from tui.commands.common import config_of
from tui.follow import Follower

SPEED = 20
"""Times real time: a gap of 2 s in the record is a tenth of a second here. [-]"""
LEFT_OUT_S = 2.1
"""The synthetic rig leaves a packet out now and then: two seconds, with its jitter. [s]"""


def recorded(path: Path) -> int:
    """Return the number of rows, 0 before there is a recording."""
    with suppress(sqlite3.OperationalError):
        return rows(path)
    return 0


def last_row(path: Path) -> float:
    """Return when the newest row was measured. [s since 1970-01-01 UTC]"""
    with closing(SqliteRecording(path)) as recording:
        span = recording.span()
    assert span is not None
    return span[1]


def urgent(path: Path) -> dict[str, Any] | None:
    """Return the first trip of an alarm of priority 1 that reached a person."""
    with suppress(Exception), closing(SqliteRecording(path)) as recording:
        for f in map(read, recording.journal()):
            if (f["kind"], f["event"]) == ("alarm", "trip") and f["priority"] == 1:
                return f
    return None


@dataclass
class Rig:
    """A watch that records a scenario, and the displays that were opened on it."""

    path: Path
    env: dict[str, str]
    watch: subprocess.Popen[bytes]
    screens: list[Screen] = field(default_factory=list)

    def look(self) -> Screen:
        """Open one more display and read the caution."""
        self.screens.append(screen := Screen("attach", str(self.path), env=self.env))
        wait_for("the caution", lambda: screen.shows("additional aid"))
        screen.press("y")
        return screen

    def goes_on(self, rows_more: int) -> None:
        """Wait until so many more rows are there."""
        before = rows(self.path)
        wait_for(f"{rows_more} more rows", lambda: rows(self.path) > before + rows_more)

    def end(self) -> tuple[FloatArray, list[JournalLine]]:
        """Stop the watch; return the times of the rows [s since 1970-01-01 UTC] and the journal."""
        with closing(SqliteRecording(self.path)) as recording:
            recording.post(StopWatch(), "Ines", "test")
        assert self.watch.wait(30.0) == 0
        with closing(SqliteRecording(self.path)) as recording:
            return recording.rows(channels=["hook_load"])["hook_load"].t, recording.journal()


@contextmanager
def rig(folder: Path, scenario: str) -> Iterator[Rig]:
    env = os.environ | {"KELLYDOWN_DATA": str(folder / "data"), "TERM": "xterm-256color"}
    path = folder / "tour.kdrec"
    watch = subprocess.Popen(
        [*KELLYDOWN, "record", "--scenario", scenario, "--seed", "3", "--speed", str(SPEED),
         "--history-s", "2940", "--out", str(path)],
        stdout=subprocess.DEVNULL, env=env,
    )  # fmt: skip
    one = Rig(path, env, watch)
    try:
        wait_for("rows", lambda: recorded(path) > 15)
        yield one
    finally:
        for screen in one.screens:
            screen.kill()
        watch.kill()
        watch.wait()


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_sc09_the_display_dies_in_a_kick_and_the_record_has_no_gap(tmp_path: Path) -> None:
    with rig(tmp_path, "kick") as one:
        display = one.look()
        wait_for("the urgent alarm", lambda: urgent(one.path) is not None, 120.0)
        trip = urgent(one.path)
        assert trip is not None
        display.kill()
        one.goes_on(60)

        with closing(SqliteRecording(one.path)) as recording:
            snapshot = Follower(recording, config_of(recording.meta()), time.time).poll()
        (shown,) = [a for a in snapshot.alarms if a.id == trip["id"]]
        assert shown.state in ("B", "D", "E"), "it was never acknowledged"
        assert shown.raised == pytest.approx(from_iso(trip["at"]), abs=1e-3)

        display = one.look()
        wait_for("the alarm on the new screen", lambda: display.shows(trip["label"]))
        t, lines = one.end()
    died = t[t >= from_iso(trip["at"]) - 5]
    assert died.size > 60
    assert float(np.diff(died).max()) <= LEFT_OUT_S
    assert broken_at(lines) is None
    told = [f for f in map(read, lines) if f["id"] == trip["id"] and f["kind"] == "alarm"]
    assert [f["event"] for f in told if f["event"] == "ack"] == []


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_sc09_twin_the_display_dies_on_a_quiet_well_and_the_next_one_shows_no_alarm(
    tmp_path: Path,
) -> None:
    with rig(tmp_path, "quiet") as one:
        display = one.look()
        one.goes_on(60)
        died_at = last_row(one.path)
        display.kill()
        one.goes_on(120)
        display = one.look()
        wait_for("the next picture", lambda: display.shows("NO ALARMS"))
        t, lines = one.end()
    assert urgent(one.path) is None
    around = t[t >= died_at - 30]
    assert around.size > 120
    assert float(np.diff(around).max()) <= LEFT_OUT_S
    found = [f for f in map(read, lines) if (f["kind"], f["event"]) == ("alarm", "trip")]
    assert [f for f in found if from_iso(f["at"]) >= died_at - 30] == []
