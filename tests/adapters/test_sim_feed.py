"""The synthetic rig as a feed, and its stream on a line; clocks are set by hand."""

from __future__ import annotations

import asyncio
import itertools
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import aclosing
from datetime import UTC, datetime

import numpy as np
import pytest
import serial

from adapters import sim_line
from adapters.config_file import example_text, parse_well
from adapters.sim_feed import SimFeed
from adapters.sim_line import send
from adapters.wits0 import from_feed
from engine.clock import HandClock
from engine.commands import DeclareTransfer, Issued
from engine.errors import FeedError, InputError
from engine.events import BadLine, FeedEvent, Frame, LinkUp, WireBytes
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes

START = 1_780_000_000.0
CONFIG = parse_well(example_text(), "example")


def frames(events: list[FeedEvent]) -> list[Frame]:
    return [e for e in events if isinstance(e, Frame)]


def feed(clock: HandClock, *, history: float = 0.0, seed: int = 3) -> SimFeed:
    return SimFeed(CONFIG, "quiet", seed, clock, history)


async def taken(source: SimFeed, clock: HandClock, jumps: list[float]) -> list[FeedEvent]:
    """Return what comes after each jump of the clock."""
    out: list[FeedEvent] = []
    async with asyncio.timeout(10), aclosing(source.events()) as events:
        for jump in jumps:
            clock.jump(jump)
            while True:
                try:
                    out.append(await asyncio.wait_for(anext(events), 0.25))
                except (TimeoutError, StopAsyncIteration):
                    break
            events = source.events()
    return out


def test_the_past_is_there_before_the_feed_starts() -> None:
    clock = HandClock(START)
    source = feed(clock, history=700.0)
    events = list(source.past())
    assert events[0] == LinkUp(START - 700.0, "rig")
    got = frames(events)
    assert 650 < len(got) <= 700  # a packet in a thousand is lost on the way
    assert START - 700.0 < got[0].at < START - 697.0
    assert START - 3.0 < got[-1].at <= START + 1.0
    assert not [e for e in events if isinstance(e, BadLine)]


def test_its_bytes_are_those_of_the_same_rig_and_seed() -> None:
    source = feed(HandClock(START), history=400.0)
    sent = b"".join(e.data for e in source.past() if isinstance(e, WireBytes))
    rig = Rig(CONFIG, "quiet", 3, START - 400.0)
    assert sent == b"".join(data for _, data in wits_bytes(rig.advance(400.0)))
    assert sent != b"".join(
        e.data for e in feed(HandClock(START), history=400.0, seed=4).past()
        if isinstance(e, WireBytes)
    )  # fmt: skip


async def test_it_keeps_up_with_a_clock_and_no_more() -> None:
    clock = HandClock(START)
    source = feed(clock)
    assert list(source.past()) == [LinkUp(START, "rig")]
    got = frames(await taken(source, clock, [0.5, 0.7, 30.0, 0.0]))
    assert 28 <= len(got) <= 31
    assert all(START < f.at <= clock.now() + 1.0 for f in got)
    assert np.diff([f.at for f in got]).min() >= 0


async def test_the_live_stream_goes_on_where_the_past_ended() -> None:
    clock = HandClock(START)
    source = feed(clock, history=100.0)
    before = frames(list(source.past()))
    after = frames(await taken(source, clock, [20.0]))
    straight = frames(list(feed(HandClock(START + 20.0), history=120.0).past()))
    assert [f.values for f in before + after] == [f.values for f in straight]


async def test_after_a_long_sleep_it_catches_up_in_pieces() -> None:
    clock = HandClock(START)
    source = feed(clock)
    list(source.past())
    got = frames(await taken(source, clock, [1000.0]))
    assert 950 < len(got) <= 1000
    assert got[-1].at > START + 995.0


@pytest.mark.parametrize("change", [{"format": "las"}, {"units": "fps"}, None])
def test_a_well_file_that_reads_another_stream_is_refused(change: dict[str, str] | None) -> None:
    feeds = () if change is None else (CONFIG.feeds[0].model_copy(update=change),)
    with pytest.raises(InputError, match="must be format wits0, units metric"):
        SimFeed(CONFIG.model_copy(update={"feeds": feeds}), "quiet", 1, HandClock(START))


def test_an_unknown_scenario_is_refused() -> None:
    with pytest.raises(InputError, match="no scenario 'nope'; there are quiet"):
        SimFeed(CONFIG, "nope", 1, HandClock(START))


class Line:
    """A port that keeps what is written, and when; breaks after `good` writes."""

    def __init__(self, clock: HandClock, good: int = 10**6) -> None:
        self.clock, self.good = clock, good
        self.written: list[tuple[float, bytes]] = []

    def __enter__(self) -> Line:
        return self

    def __exit__(self, *_: object) -> None:
        self.closed = True

    def write(self, data: bytes) -> None:
        if len(self.written) == self.good:
            raise serial.SerialException("the cable is out")
        self.written.append((self.clock.now(), data))

    def flush(self) -> None:
        """Nothing waits here."""


@pytest.fixture
def line(monkeypatch: pytest.MonkeyPatch) -> Iterator[Line]:
    made = Line(HandClock(50.0))
    monkeypatch.setattr(sim_line, "_open", lambda _port, _baud: made)
    yield made
    assert made.closed


def test_each_packet_goes_out_at_its_time(line: Line) -> None:
    sent = send(
        Rig(CONFIG, "quiet", 3, START), 60, "COM9", 9600, clock=line.clock.now,
        sleep=line.clock.jump,
    )  # fmt: skip
    expected = list(wits_bytes(Rig(CONFIG, "quiet", 3, START).advance(60.0)))
    assert [data for _, data in line.written] == [data for _, data in expected]
    assert sent == sum(len(data) for _, data in expected)
    due = np.array([at - START for at, _ in expected])
    out = np.array([at - 50.0 for at, _ in line.written])
    assert (out - np.maximum.accumulate(due) < 1e-6).all()
    assert (out - due > -1e-6).all()


def test_a_slow_line_is_not_waited_for_twice(line: Line) -> None:
    """What is late goes out at once; nothing is left out."""
    slept: list[float] = []

    def late(seconds: float) -> None:
        slept.append(seconds)
        line.clock.jump(seconds + 5.0)

    send(Rig(CONFIG, "quiet", 3, START), 20, "COM9", 9600, clock=line.clock.now, sleep=late)
    assert len(line.written) >= 19
    assert len(slept) <= 5


def test_a_line_that_breaks_is_told_by_its_name(line: Line) -> None:
    line.good = 5
    with pytest.raises(FeedError, match="COM9: the cable is out; check the name with"):
        send(
            Rig(CONFIG, "quiet", 3, START), 60, "COM9", 9600, clock=line.clock.now,
            sleep=line.clock.jump,
        )  # fmt: skip


@pytest.mark.parametrize("port", ["none://x", "/no/such/port", "socket://127.0.0.1:1"])
def test_a_port_that_cannot_be_opened_is_told_by_its_name(port: str) -> None:
    with pytest.raises(FeedError, match=f"^{port}: "):
        send(Rig(CONFIG, "quiet", 3, START), 5, port, 9600)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_decoder_at_the_other_end_of_a_real_line_reads_every_packet() -> None:
    import tty

    master, slave = os.openpty()
    tty.setraw(slave)
    got = bytearray()

    def listen() -> None:
        while len(got) < expected:
            got.extend(os.read(master, 4096))

    packets = list(wits_bytes(Rig(CONFIG, "quiet", 3, START).advance(30.0)))
    expected = sum(len(data) for _, data in packets)
    ear = threading.Thread(target=listen)
    ear.start()
    ticks = itertools.count(0.0, 10.0)
    try:
        rig = Rig(CONFIG, "quiet", 3, datetime.now(UTC).timestamp() // 1)
        sent = send(
            rig, 30, os.ttyname(slave), 9600, clock=lambda: next(ticks), sleep=lambda _: None
        )
        ear.join(timeout=10)
        assert not ear.is_alive()
    finally:
        os.close(slave)
        os.close(master)
    assert len(got) == sent
    events = from_feed(CONFIG.feeds[0]).feed(bytes(got), START)
    assert len(frames(events)) == len(packets)
    assert not [e for e in events if isinstance(e, BadLine)]


def test_the_crew_declares_what_it_adds_before_it_shows() -> None:
    """The pits run short after losses: each addition is declared when it begins, by the crew."""
    clock = HandClock(START)
    source = SimFeed(CONFIG, "demo", 1, clock, 16_000.0)
    events = [e for e in source.past() if isinstance(e, Issued)]
    rig = Rig(CONFIG, "demo", 1, START - 16_000.0)
    rig.advance(16_000.0)
    added = [e.start for e in rig.events if e.kind == "addition"]
    assert added
    assert events[0].at == START - 16_000.0 + added[0]
    said = events[0].command
    assert isinstance(said, DeclareTransfer)
    assert events[0].who == "synthetic crew"
    assert said.volume > 1.0
    assert said.minutes * 60 > said.volume / said.flow
