"""The watch: feeds to engine to recorder, commands in, a heartbeat out."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import aclosing, suppress
from dataclasses import dataclass, field, replace
from itertools import islice
from math import inf

from engine.alarms.entries import command_name
from engine.clock import Clock
from engine.commands import Command, Issued, Note, SetSpeed, StopWatch
from engine.engine import Engine
from engine.events import BadLine, FeedEvent, Frame, LinkDown, LinkUp, Tick, WireBytes
from engine.interfaces import Feed, FeedHealth, InputEvent, JournalLine, Recorder, Status
from engine.ops.align import stamp
from engine.records.journal import Entry, from_iso

TICK_S = 1.2
"""Silence after which a tick makes a row; a little over the usual 1 s between packets. [s]"""
POLL_S = 0.1
"""Between looks for commands; they must be taken within 0.2 s. [s]"""
STATUS_S = 0.5
"""Between heartbeats; a screen calls the watch dead after 2.5 s without one. [s]"""
CLOCK_STEP_S = 2.0
"""A wall clock this far from the recording's clock has been set. [s]"""
BATCH = 2000
"""Most events taken at once, so that commands and the heartbeat get their turn. [-]"""


@dataclass(slots=True)
class _Health:
    """Counts of one feed while they grow."""

    name: str
    up: bool = False
    reason: str = "not opened yet"
    last_bytes: float | None = None
    last_frame: float | None = None
    frames: int = 0
    bad_lines: int = 0
    notes: dict[str, int] = field(default_factory=dict)

    def note(self, event: FeedEvent) -> None:
        """Count `event`."""
        match event:
            case WireBytes():
                self.last_bytes = event.at
            case Frame():
                self.frames += 1
                self.last_frame = event.at
                for kind, count in event.notes.items():
                    self.notes[kind] = self.notes.get(kind, 0) + count
            case BadLine():
                self.bad_lines += 1
                self.notes[event.reason] = self.notes.get(event.reason, 0) + 1
            case LinkUp():
                self.up, self.reason = True, ""
            case LinkDown():
                self.up, self.reason = False, event.reason

    def view(self) -> FeedHealth:
        """Return the counts as they stand."""
        return FeedHealth(
            self.name, self.up, self.reason, self.last_bytes, self.last_frame,
            self.frames, self.bad_lines, dict(self.notes),
        )  # fmt: skip


@dataclass(slots=True, eq=False)
class Watch:
    """Everything that must go on when no screen is there."""

    engine: Engine
    recorder: Recorder
    feeds: Sequence[Feed]
    clock: Clock
    wall: Callable[[], float]
    """Wall clock. [s since 1970-01-01 UTC]"""
    pid: int = 0
    told: Callable[[Sequence[JournalLine]], None] = lambda _lines: None
    """Called with new journal lines: prints them, sounds the horn."""
    sped: Callable[[float], None] | None = None
    """Changes the speed of a synthetic stream; None: this watch is live and refuses."""
    _queue: asyncio.Queue[tuple[int, FeedEvent]] = field(init=False)
    _health: list[_Health] = field(init=False)
    _last: float = field(init=False, default=float("-inf"))
    _stop: bool = field(init=False, default=False)
    _status_due: float = field(init=False, default=float("-inf"))
    _offset: float | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self._queue = asyncio.Queue(maxsize=4 * BATCH)
        self._health = [_Health(feed.name) for feed in self.feeds]
        self._last = self.engine.align.state.at

    def stop(self) -> None:
        """End the watch in good order at its next turn."""
        self._stop = True

    def begin(self) -> None:
        """Take up a recording that another watch began; of a new one there is nothing to take up.

        The journal says how long nobody watched. A note that was left meanwhile is taken; any
        other command is not carried out so long after it was given, and the journal says so.
        """
        if not self.engine.journal.seq:
            return
        away = max(0.0, self.clock.now() - self._last)
        self._note(f"the watch goes on; nobody watched for {away:.1f} s")
        for posted in self.recorder.posted():
            command = posted.command
            if not isinstance(command, Note):
                command = Note(
                    f"{command_name(command)} was asked for while no watch ran: not carried out"
                )
            self._issue(command, posted.who, posted.station)

    def catch_up(self, index: int, events: Iterable[FeedEvent]) -> None:
        """Take what feed number `index` already holds, before its time runs with the clock."""
        stream = iter(events)
        while batch := [(index, event) for event in islice(stream, BATCH)]:
            self._take(batch)

    async def run(self) -> None:
        """Watch until told to stop, by a `StopWatch` command or `stop`.

        Raises
        ------
        RecordingError
            If something could not be kept.
        """
        tasks = [asyncio.create_task(self._listen(i, f)) for i, f in enumerate(self.feeds)]
        try:
            while not self._stop:
                await self._turn()
                for task in tasks:
                    if task.done() and task.exception() is not None:
                        task.result()
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
        # Not after an error: a watch that failed must look stopped, not ended.
        self._take(self._drain())
        self._heartbeat(running=False)

    async def _listen(self, index: int, feed: Feed) -> None:
        async with aclosing(feed.events()) as events:
            async for event in events:
                await self._queue.put((index, event))

    async def _turn(self) -> None:
        """Wait a moment for events; take them; see to commands, ticks, clock and heartbeat."""
        batch: list[tuple[int, FeedEvent]] = []
        with suppress(TimeoutError):
            batch.append(await asyncio.wait_for(self._queue.get(), POLL_S))
        batch += self._drain()
        self._take(batch)
        self._commands()
        self._tick()
        self._watch_clock()
        if self.wall() >= self._status_due:
            self._heartbeat(running=True)

    def _drain(self) -> list[tuple[int, FeedEvent]]:
        got: list[tuple[int, FeedEvent]] = []
        while len(got) < BATCH and not self._queue.empty():
            got.append(self._queue.get_nowait())
        return got

    def _take(self, batch: Sequence[tuple[int, FeedEvent]]) -> None:
        events: list[InputEvent] = []
        for index, event in batch:
            self._health[index].note(event)
            if isinstance(event, WireBytes):
                self.recorder.wire(event)
            else:
                events.append(self._stamped(event))
        if events:
            self._work(events)

    def _stamped(self, event: Frame | BadLine | LinkUp | LinkDown | Issued) -> InputEvent:
        if isinstance(event, BadLine):
            return event
        self._last = stamp(event.at, self._last)
        return replace(event, at=self._last)

    def _work(self, events: Sequence[InputEvent]) -> None:
        """Keep the events first, then work on them: what was taken can be worked out again."""
        self.recorder.inputs(events)
        tables, lines = self.engine.take(events)
        for table in tables:
            self.recorder.rows(table)
        if lines:
            self.recorder.journal(lines)
            self.told(lines)

    def _commands(self) -> None:
        for posted in self.recorder.posted():
            self._issue(posted.command, posted.who, posted.station)

    def _issue(self, command: Command, who: str, station: str) -> None:
        # Synthetic time may run faster than its frames come; a command must not overtake them.
        now = self.clock.now() if self.sped is None else self._last
        self._last = stamp(now, self._last)
        self._work([Issued(self._last, command, who, station)])
        if isinstance(command, StopWatch):
            self._stop = True
        elif isinstance(command, SetSpeed) and self.sped is not None and 0 < command.factor < inf:
            self.sped(command.factor)
            self._heartbeat(running=True)

    def _note(self, text: str) -> None:
        self._issue(Note(text), "watch", "watch")

    def _tick(self) -> None:
        now = self.clock.now()
        if now - self._last > TICK_S * self.clock.speed and self._queue.empty():
            self._last = stamp(now, self._last)
            self._work([Tick(self._last)])

    def _watch_clock(self) -> None:
        """Journal a step of the computer's clock.

        The recording's clock follows a step ahead (the computer slept: a gap) but never one
        back, so that no row is lost or doubled (R-06).
        """
        if self.sped is not None:
            return
        offset = self.wall() - self.clock.now()
        if self._offset is None:
            self._offset = offset
        elif abs(offset - self._offset) > CLOCK_STEP_S:
            step = offset - self._offset
            if step > 0:
                self.clock.jump(step)
            else:
                self._offset = offset
            self._note(f"the computer's clock stepped by {step:+.1f} s")

    def _heartbeat(self, *, running: bool) -> None:
        wall = self.wall()
        self._status_due = wall + STATUS_S
        self.recorder.status(
            Status(
                wall=wall,
                data=max(self.clock.now(), self._last),
                speed=self.clock.speed,
                running=running,
                feeds=tuple(h.view() for h in self._health),
                queue=self.recorder.backlog(),
                problem=self.recorder.problem(),
                pid=self.pid,
            )
        )


def head_entry(meta: Mapping[str, str]) -> Entry:
    """Return the journal's first entry, from the head of the recording alone."""
    keys = ("program", "config_hash", "source", "synthetic")
    return Entry(
        from_iso(meta["created"]), "watch", meta["well"], "start", {k: meta[k] for k in keys}
    )


GAP_TICKS_S = 60.0
"""In a file, the first minute of a gap gets a tick a second, so that delays run as live; after
that one a minute is enough. [s]"""


def with_ticks(events: Iterable[FeedEvent], stale_after: float) -> Iterator[FeedEvent | Tick]:
    """Stamp the events of a file and fill its silences with ticks, as the live watch would.

    Parameters
    ----------
    events : iterable
        In time order.
    stale_after : float
        Silence that counts as a gap. [s]
    """
    last = float("-inf")
    for event in events:
        if isinstance(event, WireBytes | BadLine):
            yield event
            continue
        if event.at - last > stale_after and last > float("-inf"):
            start, ahead = last, stale_after
            while start + ahead < event.at - TICK_S:
                last = stamp(start + ahead, last)
                yield Tick(last)
                ahead += 1.0 if ahead < stale_after + GAP_TICKS_S else 60.0
        last = stamp(event.at, last)
        yield replace(event, at=last)
