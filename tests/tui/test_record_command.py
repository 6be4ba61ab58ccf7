"""``kellydown record``: a recording that was cut off is worked out again and gone on with."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

from adapters.config_file import example_text, parse_well
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.clock import HandClock
from engine.commands import Acknowledge, Command, Note, StopWatch, ZeroPits
from engine.engine import Engine
from engine.errors import InputError, RecordingError
from engine.events import FeedEvent, Frame, LinkUp
from engine.interfaces import InputEvent
from engine.records.journal import broken_at, read
from engine.records.recompute import compare
from engine.run import Watch, head_entry
from tests.helpers import ScriptFeed
from tui.commands.common import meta_of
from tui.commands.record import _say, go_on, serial_feed

START = 1_780_000_000.0
TEXT = example_text()
CONFIG = parse_well(TEXT, "example")
META = meta_of(CONFIG, TEXT, "live", START)


def frame(at: float) -> Frame:
    return Frame(at, "rig", {"0112": 12.0, "0114": 160.0, "0126": 60.0})


EVENTS: list[InputEvent] = [LinkUp(START, "rig"), *(frame(START + i) for i in range(1, 31))]


@pytest.fixture
def cut_off(tmp_path: Path) -> Path:
    """Return a recording whose watch was killed: its last ten inputs were not worked on."""
    path = tmp_path / "tour.kdrec"
    engine = Engine(CONFIG, head_entry(META))
    with closing(create_recording(path, META)) as recorder:
        recorder.inputs(EVENTS)
        tables, lines = engine.take(EVENTS[:-10])
        for table in tables:
            recorder.rows(table)
        recorder.journal(lines)
    return path


async def watch_on(path: Path, events: Sequence[FeedEvent], away: float) -> None:
    engine, recorder = go_on(path, META)
    clock = HandClock(START + 30 + away)
    with closing(recorder):
        watch = Watch(engine, recorder, [ScriptFeed(events)], clock, clock.now, 42)
        watch.begin()
        task = asyncio.create_task(watch.run())
        await asyncio.sleep(0.3)
        watch.stop()
        async with asyncio.timeout(10):
            await task


def journal(path: Path) -> list[dict[str, str]]:
    with closing(SqliteRecording(path)) as recording:
        assert broken_at(recording.journal()) is None
        return [read(line) for line in recording.journal()]


def check(path: Path) -> list[str]:
    with closing(SqliteRecording(path)) as recording:
        return compare(recording, CONFIG)


async def test_what_the_kill_cut_off_is_made_up_for_and_the_recording_goes_on(
    cut_off: Path,
) -> None:
    later: list[FeedEvent] = [LinkUp(START + 50.5, "rig"), frame(START + 51), frame(START + 52)]
    await watch_on(cut_off, later, away=20.0)
    with closing(SqliteRecording(cut_off)) as recording:
        t = recording.rows(channels=["hook_load"])["hook_load"].t - START
        status = recording.status()
    assert t.tolist() == [float(i) for i in range(31)] + [50.5, 51.0, 52.0]
    assert check(cut_off) == []
    lines = journal(cut_off)
    assert [f["event"] for f in lines if f["kind"] == "watch"] == ["start"]
    assert [f["event"] for f in lines if f["id"] == "hook-load-high"] == ["trip"]
    note = next(f for f in lines if f["id"] == "note")
    assert note["text"] == "the watch goes on; nobody watched for 20.0 s"
    assert (note["who"], note["station"]) == ("watch", "watch")
    assert status is not None
    assert not status.running


async def test_a_recording_cut_off_before_its_first_input_begins(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    create_recording(path, META).close()
    await watch_on(path, [LinkUp(START + 50.5, "rig"), frame(START + 51)], away=20.0)
    assert [f["kind"] for f in journal(path)][:2] == ["watch", "command"]
    assert check(path) == []


@pytest.mark.parametrize("command", [StopWatch(), ZeroPits("new mud"), Acknowledge()])
async def test_a_command_given_while_no_watch_ran_is_refused_and_told(
    command: Command, cut_off: Path
) -> None:
    """A zero an hour late would be wrong, and an old stop would end the new watch at once."""
    with closing(SqliteRecording(cut_off)) as recording:
        recording.post(command, "Ines", "doghouse")
        recording.post(Note("pipe checked"), "Ola", "doghouse")
    await watch_on(cut_off, [LinkUp(START + 50.5, "rig"), frame(START + 51)], away=20.0)
    lines = journal(cut_off)
    assert {f["id"] for f in lines if f["kind"] == "command"} == {"note"}
    notes = [(f["text"], f["who"]) for f in lines if f["id"] == "note"]
    assert notes[1][0].endswith(" was asked for while no watch ran: not carried out")
    assert notes[1][1] == "Ines"
    assert notes[2] == ("pipe checked", "Ola")
    assert [f["event"] for f in lines if f["id"] == "hook-load-high"] == ["trip"]
    with closing(sqlite3.connect(cut_off)) as base:
        assert base.execute("SELECT count(*) FROM commands WHERE taken = 0").fetchone() == (0,)
    assert check(cut_off) == []


def test_other_settings_and_other_sources_are_refused(cut_off: Path) -> None:
    before = cut_off.read_bytes()
    other = TEXT.replace("efficiency = 0.97", "efficiency = 0.95")
    changed = meta_of(parse_well(other, "other"), other, "live", START)
    with pytest.raises(RecordingError, match=r"other settings .*'Emberholt 4'.*another --out"):
        go_on(cut_off, changed)
    with pytest.raises(RecordingError, match="the watch would be synthetic"):
        go_on(cut_off, meta_of(CONFIG, TEXT, "synthetic", START))
    assert cut_off.read_bytes() == before
    assert go_on(cut_off, META)[1].close() is None


def test_a_comment_more_in_the_well_file_is_no_other_setting(cut_off: Path) -> None:
    commented = "# said by the night tour\n" + TEXT
    go_on(cut_off, meta_of(CONFIG, commented, "live", START))[1].close()


def test_a_recording_that_is_worked_out_otherwise_is_not_gone_on_with(cut_off: Path) -> None:
    """As a program with other rules would find it: its chain would not fit the new lines."""
    with closing(sqlite3.connect(cut_off)) as base:
        base.execute("UPDATE journal SET text = replace(text, 'up', 'UP') WHERE seq = 2")
        base.commit()
    with pytest.raises(RecordingError, match="makes another line 2 of its journal"):
        go_on(cut_off, META)
    with pytest.raises(RecordingError, match="makes another line 2"):  # and the lock is free again
        go_on(cut_off, META)


def test_only_one_watch_goes_on(cut_off: Path) -> None:
    _, recorder = go_on(cut_off, META)
    with pytest.raises(RecordingError, match="another watch is writing to it"):
        go_on(cut_off, META)
    recorder.close()


def test_a_feed_without_a_port_or_of_a_file_format_is_refused() -> None:
    feed = CONFIG.feeds[0]
    clock = HandClock(START)
    with pytest.raises(InputError, match="no port; write COM3"):
        serial_feed(feed.model_copy(update={"port": ""}), clock)
    with pytest.raises(InputError, match="las is a file format; import it instead"):
        serial_feed(feed.model_copy(update={"format": "las"}), clock)
    assert serial_feed(feed, clock).name == "rig"


def test_a_log_on_a_full_disk_stops_no_watch(monkeypatch: pytest.MonkeyPatch) -> None:
    class Full:
        def write(self, _text: str) -> int:
            raise OSError(28, "No space left on device")

        def flush(self) -> None:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr("sys.stdout", Full())
    _say("a line")
