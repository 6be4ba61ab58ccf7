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
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.commands import StopWatch
from engine.records.journal import broken_at, from_iso, read
from tests.end_to_end.test_serial_line import KELLYDOWN, Screen, rows, wait_for
from tui.commands.common import config_of
from tui.follow import Follower

SPEED = 20
"""Times real time: a gap of 2 s in the record is a tenth of a second here. [-]"""


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


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_sc09_the_display_dies_in_a_kick_and_the_record_has_no_gap(tmp_path: Path) -> None:
    env = os.environ | {"KELLYDOWN_DATA": str(tmp_path / "data"), "TERM": "xterm-256color"}
    path = tmp_path / "tour.kdrec"
    watch = subprocess.Popen(
        [*KELLYDOWN, "record", "--scenario", "kick", "--seed", "3", "--speed", str(SPEED),
         "--history-s", "2940", "--out", str(path)],
        stdout=subprocess.DEVNULL, env=env,
    )  # fmt: skip
    screens: list[Screen] = []
    try:
        wait_for("rows", lambda: recorded(path) > 15)
        screens.append(Screen("attach", str(path), env=env))
        wait_for("the caution", lambda: screens[0].shows("additional aid"))
        screens[0].press("y")
        wait_for("the urgent alarm", lambda: urgent(path) is not None, 120.0)
        trip = urgent(path)
        assert trip is not None
        screens[0].kill()
        before = rows(path)
        wait_for("a minute without a display", lambda: rows(path) > before + 60)

        with closing(SqliteRecording(path)) as recording:
            snapshot = Follower(recording, config_of(recording.meta()), time.time).poll()
        (shown,) = [a for a in snapshot.alarms if a.id == trip["id"]]
        assert shown.state in ("B", "D", "E"), "it was never acknowledged"
        assert shown.raised == pytest.approx(from_iso(trip["at"]), abs=1e-3)

        screens.append(Screen("attach", str(path), env=env))
        wait_for("the caution again", lambda: screens[1].shows("additional aid"))
        screens[1].press("y")
        wait_for("the alarm on the new screen", lambda: screens[1].shows(trip["label"]))
        with closing(SqliteRecording(path)) as recording:
            recording.post(StopWatch(), "Ines", "test")
        assert watch.wait(30.0) == 0
        with closing(SqliteRecording(path)) as recording:
            t = recording.rows(channels=["hook_load"])["hook_load"].t
            lines = recording.journal()
        died = t[t >= from_iso(trip["at"]) - 5]
        assert died.size > 60
        # The synthetic rig leaves a packet out now and then: two seconds, with its jitter.
        assert float(np.diff(died).max()) <= 2.1
        assert broken_at(lines) is None
        told = [f for f in map(read, lines) if f["id"] == trip["id"] and f["kind"] == "alarm"]
        assert [f["event"] for f in told if f["event"] == "ack"] == []
    finally:
        for screen in screens:
            screen.kill()
        watch.kill()
        watch.wait()


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_sc09_twin_the_display_dies_on_a_quiet_well_and_the_next_one_shows_no_alarm(
    tmp_path: Path,
) -> None:
    env = os.environ | {"KELLYDOWN_DATA": str(tmp_path / "data"), "TERM": "xterm-256color"}
    path = tmp_path / "tour.kdrec"
    watch = subprocess.Popen(
        [*KELLYDOWN, "record", "--scenario", "quiet", "--seed", "3", "--speed", str(SPEED),
         "--history-s", "2940", "--out", str(path)],
        stdout=subprocess.DEVNULL, env=env,
    )  # fmt: skip
    screens: list[Screen] = []
    try:
        wait_for("rows", lambda: recorded(path) > 15)
        screens.append(Screen("attach", str(path), env=env))
        wait_for("the caution", lambda: screens[0].shows("additional aid"))
        screens[0].press("y")
        before = rows(path)
        wait_for("a minute with a display", lambda: rows(path) > before + 60)
        died_at = last_row(path)
        screens[0].kill()
        before = rows(path)
        wait_for("two minutes without a display", lambda: rows(path) > before + 120)
        screens.append(Screen("attach", str(path), env=env))
        wait_for("the caution again", lambda: screens[1].shows("additional aid"))
        screens[1].press("y")
        wait_for("the next picture", lambda: screens[1].shows("NO ALARMS"))
        with closing(SqliteRecording(path)) as recording:
            recording.post(StopWatch(), "Ines", "test")
        assert watch.wait(30.0) == 0
    finally:
        for screen in screens:
            screen.kill()
        watch.kill()
        watch.wait()
    assert urgent(path) is None
    with closing(SqliteRecording(path)) as recording:
        t = recording.rows(channels=["hook_load"])["hook_load"].t
        lines = [read(line) for line in recording.journal()]
    around = t[t >= died_at - 30]
    assert around.size > 120
    # The synthetic rig leaves a packet out now and then: two seconds, with its jitter.
    assert float(np.diff(around).max()) <= 2.1
    trips = [f for f in lines if (f["kind"], f["event"]) == ("alarm", "trip")]
    assert [f for f in trips if from_iso(f["at"]) >= died_at - 30] == []
