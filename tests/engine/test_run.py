"""The watch, with feeds and a recorder made by hand."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, Sequence
from itertools import pairwise

import pytest

from adapters.config_file import example_text, parse_well
from engine.block import Table
from engine.clock import HandClock
from engine.commands import Command, Issued, Note, SetSpeed, StopWatch, ZeroPits
from engine.engine import Engine
from engine.errors import RecordingError
from engine.events import BadLine, FeedEvent, Frame, LinkDown, LinkUp, Tick, WireBytes
from engine.interfaces import InputEvent, JournalLine, Posted, Status
from engine.records.journal import Entry, read
from engine.run import Watch, with_ticks
from tests.helpers import ScriptFeed

START = 1_780_000_000.0
CONFIG = parse_well(example_text(), "example")


class MemoryRecorder:
    """Keeps everything in lists; stops the watch when `enough` says so."""

    def __init__(self) -> None:
        self.bytes: list[WireBytes] = []
        self.events: list[InputEvent] = []
        self.tables: list[Table] = []
        self.lines: list[JournalLine] = []
        self.beats: list[Status] = []
        self.waiting: list[Command] = []
        self.fails = False

    def wire(self, event: WireBytes) -> None:
        self.bytes.append(event)

    def inputs(self, events: Sequence[InputEvent]) -> None:
        if self.fails:
            raise RecordingError("disk: full")
        self.events += events

    def rows(self, table: Table) -> None:
        self.tables.append(table)

    def journal(self, lines: Sequence[JournalLine]) -> None:
        self.lines += lines

    def status(self, status: Status) -> None:
        self.beats.append(status)

    def posted(self) -> list[Posted]:
        got = [Posted(i, command, "Ines", "doghouse") for i, command in enumerate(self.waiting)]
        self.waiting = []
        return got

    def backlog(self) -> int:
        return 0

    def problem(self) -> str:
        return ""

    def close(self) -> None:
        """Nothing to close."""


def watch_of(
    events: Sequence[FeedEvent], *, synthetic: bool = False
) -> tuple[Watch, MemoryRecorder, HandClock]:
    clock, recorder = HandClock(START), MemoryRecorder()
    engine = Engine(CONFIG, Entry(START, "watch", CONFIG.well, "start"))

    def sped(speed: float) -> None:
        clock.speed = speed

    watch = Watch(
        engine, recorder, [ScriptFeed(events)], clock, clock.now, 42,
        sped=sped if synthetic else None,
    )  # fmt: skip
    return watch, recorder, clock


async def run_until_idle(watch: Watch, recorder: MemoryRecorder, *commands: Command) -> None:
    recorder.waiting += commands
    async with asyncio.timeout(10):
        task = asyncio.create_task(watch.run())
        await asyncio.sleep(0.3)
        recorder.waiting.append(StopWatch())
        await task


def frame(at: float, value: float = 100.0) -> Frame:
    return Frame(at, "rig", {"0114": value, "0126": 60.0})


async def test_what_is_taken_is_kept_in_order_before_it_is_worked_on() -> None:
    events: list[FeedEvent] = [
        LinkUp(START, "rig"),
        WireBytes(START, "rig", b"&&\r\n"),
        frame(START),
        BadLine(START, "rig", "bad_number", b"0114x", "0114"),
        frame(START),
    ]
    watch, recorder, _ = watch_of(events)
    await run_until_idle(watch, recorder)
    kinds = [type(e).__name__ for e in recorder.events]
    assert kinds[:4] == ["LinkUp", "Frame", "BadLine", "Frame"]
    assert [w.data for w in recorder.bytes] == [b"&&\r\n"]
    times = [e.at for e in recorder.events if isinstance(e, Frame | LinkUp | Tick | Issued)]
    assert times == sorted(set(times))
    health = recorder.beats[-1].feeds[0]
    assert (health.up, health.frames, health.bad_lines) == (True, 2, 1)
    assert health.notes == {"bad_number": 1}


async def test_a_command_is_journalled_with_who_and_takes_effect() -> None:
    watch, recorder, _ = watch_of([LinkUp(START, "rig"), frame(START)])
    await run_until_idle(watch, recorder, ZeroPits("new mud"))
    line = next(f for f in map(read, recorder.lines) if f["id"] == "zero_pits")
    assert (line["who"], line["station"], line["reason"]) == ("Ines", "doghouse", "new mud")
    assert (line["old_base_m3"], line["new_base_m3"]) == (60.0, 60.0)


async def test_silence_makes_ticks_so_that_values_grow_old() -> None:
    watch, recorder, clock = watch_of([LinkUp(START, "rig"), frame(START)])
    task = asyncio.create_task(watch.run())
    async with asyncio.timeout(10):
        for _ in range(6):
            clock.jump(1.3)
            await asyncio.sleep(0.15)
        recorder.waiting.append(StopWatch())
        await task
    ticks = [e for e in recorder.events if isinstance(e, Tick)]
    assert len(ticks) >= 5
    assert not recorder.tables[-1]["hook_load"].good[-1]


async def test_a_clock_set_back_is_journalled_and_loses_no_row() -> None:
    """R-06: rows go on in order; the step is told."""
    watch, recorder, clock = watch_of([LinkUp(START, "rig"), frame(START)])
    wall = [0.0]
    watch.wall = lambda: clock.now() + wall[0]
    task = asyncio.create_task(watch.run())
    async with asyncio.timeout(10):
        await asyncio.sleep(0.2)
        wall[0] = -3600.0
        await asyncio.sleep(0.3)
        recorder.waiting.append(StopWatch())
        await task
    notes = [e.command for e in recorder.events if isinstance(e, Issued)]
    assert notes[0] == Note("the computer's clock stepped by -3600.0 s")
    assert sum(isinstance(n, Note) for n in notes) == 1


async def test_after_a_sleep_the_recording_clock_follows_ahead() -> None:
    watch, recorder, clock = watch_of([LinkUp(START, "rig"), frame(START)])
    wall = [0.0]
    base = clock.now()
    watch.wall = lambda: base + wall[0]
    task = asyncio.create_task(watch.run())
    async with asyncio.timeout(10):
        await asyncio.sleep(0.2)
        wall[0] = 600.0
        await asyncio.sleep(0.3)
        recorder.waiting.append(StopWatch())
        await task
    assert clock.now() == pytest.approx(START + 600.0)
    assert recorder.events[-1].at > START + 599.0


async def test_only_a_synthetic_watch_can_be_sped_up() -> None:
    watch, recorder, clock = watch_of([frame(START)], synthetic=True)
    await run_until_idle(watch, recorder, SetSpeed(20.0))
    assert clock.speed == 20.0
    watch, recorder, clock = watch_of([frame(START)])
    await run_until_idle(watch, recorder, SetSpeed(20.0))
    assert clock.speed == 1.0


@pytest.mark.parametrize("factor", [0.0, -1.0, float("inf"), float("nan")])
async def test_a_speed_that_is_none_changes_nothing(factor: float) -> None:
    watch, recorder, clock = watch_of([frame(START)], synthetic=True)
    await run_until_idle(watch, recorder, SetSpeed(factor))
    assert clock.speed == 1.0


async def test_a_recorder_that_fails_ends_the_watch_loudly() -> None:
    watch, recorder, _ = watch_of([frame(START)])
    recorder.fails = True
    with pytest.raises(RecordingError, match="full"):
        await watch.run()
    assert not [b for b in recorder.beats if not b.running], "it failed; it did not end"


async def test_a_feed_that_fails_ends_the_watch_loudly_too() -> None:
    watch, recorder, _ = watch_of([frame(START)])

    class BrokenFeed(ScriptFeed):
        async def events(self) -> AsyncGenerator[FeedEvent, None]:
            yield frame(START)
            raise ZeroDivisionError("a decoder with a hole in it")

    watch.feeds = [BrokenFeed([])]
    with pytest.raises(ZeroDivisionError):
        await watch.run()
    assert recorder.beats
    assert all(b.running for b in recorder.beats)


async def test_the_last_heartbeat_says_that_the_watch_has_ended() -> None:
    watch, recorder, _ = watch_of([frame(START)])
    await run_until_idle(watch, recorder)
    assert [b.running for b in recorder.beats][-2:] == [True, False]


def test_a_gap_in_a_file_gets_ticks_until_the_data_come_back() -> None:
    events = list(with_ticks([frame(0.0), frame(1.0), LinkDown(500.0, "rig", "x")], 5.0))
    ticks = [e.at for e in events if isinstance(e, Tick)]
    assert ticks[0] == 6.0
    assert ticks[:60] == [6.0 + i for i in range(60)]
    assert ticks[-1] < 500.0
    assert max(b - a for a, b in pairwise(ticks)) <= 60.0
