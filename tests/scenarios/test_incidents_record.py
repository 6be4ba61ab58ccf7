"""The record that went down with the rig: a second copy, and what becomes of it (K-10, R-47).

SC-10, after the published account: National Commission on the BP Deepwater Horizon Oil Spill and
Offshore Drilling, Deep Water, 2011: what had been copied ashore ended hours before the blast.
A watch with its recorder, real files and hours of frames; the clock is set by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from adapters import sqlite_copy
from adapters.config_file import example_text, parse_well
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.clock import HandClock
from engine.engine import Engine
from engine.errors import RecordingError
from engine.events import FeedEvent, Frame, LinkUp
from engine.records.journal import broken_at, from_iso, read
from engine.records.recompute import compare
from engine.run import Watch, head_entry
from engine.second_copy import LATE_S
from tests.commands import done
from tests.copies import count, digest
from tests.helpers import ScriptFeed, eventually
from tui.commands.common import meta_of
from tui.commands.record import go_on

START = 1_780_000_000.0
TEXT = example_text()
CONFIG = parse_well(TEXT, "example")
META = meta_of(CONFIG, TEXT, "live", START)
ALARM = "second-copy-late"
MIN, HOUR = 60, 3600


class Rig:
    """A watch at one frame a second, and the place of its second copy, a folder that can go."""

    def __init__(self, folder: Path) -> None:
        self.path, self.stick = folder / "tour.kdrec", folder / "stick"
        self.pulled = folder / "pulled"
        self.copy = self.stick / self.path.name
        self.stick.mkdir()
        self.clock = HandClock(START)
        self.engine = Engine(CONFIG, head_entry(META))
        self.recorder = create_recording(self.path, META)
        self.begin(self.copy)
        self.take([LinkUp(START, "rig")])

    def begin(self, copy: Path | None) -> None:
        """Start the watch on its engine and recorder."""
        self.watch = Watch(
            self.engine, self.recorder, [ScriptFeed([])], self.clock, self.clock.now, 42
        )
        self.watch.begin()
        self.recorder.copy_to(copy)

    def take(self, events: list[FeedEvent]) -> None:
        self.watch.catch_up(0, events)

    def drill(self, seconds: int) -> None:
        now = self.clock.now()
        codes = {"0112": 12.0, "0114": 160.0, "0126": 60.0}
        self.take([Frame(now + i, "rig", codes) for i in range(1, seconds + 1)])
        self.clock.jump(seconds)

    def hear(self, well: bool) -> None:
        """Wait until the watch has said that the copy is complete, or that it is not."""

        def told() -> bool:
            self.watch._commands()
            state = self.engine.second_copy.state
            return bool(state.place) and (not state.problem) is well

        eventually(told, 10.0)

    def pull(self) -> None:
        eventually(lambda: not self.recorder.backlog(), 10.0)
        eventually(lambda: count(self.copy) == count(self.path), 10.0)
        self.stick.rename(self.pulled)

    def plug(self) -> None:
        self.pulled.rename(self.stick)

    def lines(self) -> list[dict[str, Any]]:
        with closing(SqliteRecording(self.path)) as recording:
            assert broken_at(recording.journal()) is None
            return [read(line) for line in recording.journal()]

    def alarms(self) -> list[dict[str, Any]]:
        return [f for f in self.lines() if (f["kind"], f["id"]) == ("alarm", ALARM)]

    def said(self) -> list[str]:
        """Return what the journal says of the copy, fault by fault; empty: complete."""
        return [f["problem"] for f in self.lines() if f["id"] == "second_copy"]

    def listen(self) -> list[str]:
        """Take what the watch has to say; return what was said so far."""
        self.watch._commands()
        return self.said()

    def end(self) -> None:
        """End in good order."""
        self.watch._heartbeat(running=False)
        self.recorder.close()


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    """Return a watch whose copy is tried again every few tenths of a second."""
    monkeypatch.setattr(sqlite_copy, "EVERY_S", 0.1)
    monkeypatch.setattr(sqlite_copy, "LONGEST_S", 0.2)
    made = Rig(tmp_path)
    yield made
    with suppress(RecordingError):
        made.recorder.close()


def test_sc10_a_second_place_that_is_cut_off_for_7_h_is_told_and_made_up_for(rig: Rig) -> None:
    rig.hear(well=True)
    rig.drill(10 * MIN)
    rig.pull()
    rig.hear(well=False)
    rig.drill(7 * HOUR)
    eventually(lambda: count(rig.path) == 1 + 10 * MIN + 7 * HOUR, 60.0)
    assert count(rig.pulled / "tour.kdrec") == 1 + 10 * MIN
    assert rig.recorder.problem() == ""
    rig.plug()
    rig.hear(well=True)
    assert count(rig.copy) == count(rig.path), "made up for by the time it is said to be complete"
    rig.drill(2 * MIN)
    rig.end()

    assert digest(rig.copy) == digest(rig.path)
    told = [f for f in rig.lines() if f["id"] == "second_copy"]
    assert [bool(f["problem"]) for f in told] == [False, True, False]
    assert {f["place"] for f in told} == {str(rig.copy)}
    assert told[1]["complete_to"] == START + 10 * MIN
    assert from_iso(told[1]["at"]) - told[1]["complete_to"] < 1.0  # at once
    trip, clear = rig.alarms()
    assert (trip["event"], clear["event"]) == ("trip", "clear")
    assert from_iso(trip["at"]) == told[1]["complete_to"] + LATE_S == START + 15 * MIN
    assert (trip["priority"], trip["sound"]) == (4, True)
    assert "second disk" in CONFIG.alarms[[a.id for a in CONFIG.alarms].index(ALARM)].action
    assert 7 * HOUR + 10 * MIN < from_iso(clear["at"]) - START < 7 * HOUR + 11 * MIN
    for path in (rig.path, rig.copy):
        with closing(SqliteRecording(path)) as recording:
            assert compare(recording, CONFIG) == []
    assert "identical" in done("replay", rig.copy, "--check").out
    of_both = [done("review", path, "--json").out for path in (rig.path, rig.copy)]
    assert of_both[0].replace(str(rig.path), "") == of_both[1].replace(str(rig.copy), "")


def test_sc10_twin_cut_off_for_four_minutes_is_told_but_no_alarm(rig: Rig) -> None:
    rig.hear(well=True)
    rig.drill(10 * MIN)
    rig.pull()
    rig.hear(well=False)
    rig.drill(4 * MIN)
    rig.plug()
    rig.hear(well=True)
    rig.drill(10 * MIN)
    rig.end()
    assert rig.alarms() == []
    assert [bool(problem) for problem in rig.said()] == [False, True, False]
    assert digest(rig.copy) == digest(rig.path)


def test_sc10_twin_never_cut_off_says_so_once_in_7_h(rig: Rig) -> None:
    rig.hear(well=True)
    for _ in range(7):
        rig.drill(HOUR)
        eventually(lambda: not rig.recorder.backlog() and count(rig.copy) == count(rig.path), 20.0)
        rig.watch._commands()
    rig.end()
    assert rig.alarms() == []
    assert rig.said() == [""]
    assert digest(rig.copy) == digest(rig.path)


def killed_without_its_copy(rig: Rig) -> None:
    """The copy is pulled after a minute; twenty minutes later the watch is killed."""
    rig.hear(well=True)
    rig.drill(MIN)
    rig.pull()
    rig.hear(well=False)
    rig.drill(20 * MIN)
    with suppress(RecordingError):
        rig.recorder.close()  # no heartbeat says that it ended


def test_the_alarm_and_the_lag_survive_a_watch_that_is_killed(rig: Rig) -> None:
    """R-46: the next watch knows since when the copy lacks something, though it cannot see it."""
    killed_without_its_copy(rig)
    before = rig.engine.second_copy.state
    rig.engine, rig.recorder = go_on(rig.path, META)
    assert rig.engine.second_copy.state == before
    rig.begin(rig.copy)
    eventually(lambda: len(rig.listen()) == 3, 5.0)
    assert rig.engine.second_copy.state.since == before.since == START + MIN
    rig.drill(MIN)
    assert [f["event"] for f in rig.alarms()] == ["trip"]
    rig.plug()
    rig.hear(well=True)
    rig.drill(MIN)
    rig.end()
    assert [f["event"] for f in rig.alarms()] == ["trip", "clear"]
    assert digest(rig.copy) == digest(rig.path)
    with closing(SqliteRecording(rig.path)) as recording:
        assert compare(recording, CONFIG) == []


def test_a_next_watch_without_a_copy_says_that_none_is_kept(rig: Rig) -> None:
    killed_without_its_copy(rig)
    rig.engine, rig.recorder = go_on(rig.path, META)
    rig.begin(None)
    rig.watch._commands()
    rig.drill(MIN)
    rig.end()
    assert rig.engine.second_copy.state.place == ""
    assert [f["event"] for f in rig.alarms()] == ["trip", "clear"]
