"""A pseudo-terminal stands for a serial port, a local server for a URL."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
import time
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing, suppress
from pathlib import Path

import pytest

from adapters.serial_feed import SerialFeed, parse_framing
from adapters.wits0 import from_feed
from engine.config import Feed
from engine.errors import FeedError
from engine.events import BadLine, FeedEvent, Frame, LinkDown, LinkUp, WireBytes

PACKET = b"&&\r\n01081234.5\r\n!!\r\n"
Call = tuple[asyncio.StreamReader, asyncio.StreamWriter]
QUICK = (0.01, 0.02)
posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are POSIX")


def serial_feed(port: str, clock: Callable[[], float] = lambda: 7.0, **more: object) -> SerialFeed:
    feed = Feed.model_validate({"name": "rig", "port": port, **more})
    return SerialFeed(feed, from_feed(feed), clock, QUICK)


async def take(events: AsyncGenerator[FeedEvent, None], until: type[FeedEvent]) -> list[FeedEvent]:
    """Return events up to the first of type `until`."""
    got: list[FeedEvent] = []
    async with asyncio.timeout(5):
        async for event in events:
            got.append(event)
            if isinstance(event, until):
                return got
    raise AssertionError(f"the feed ended after {got}")


def wire(events: list[FeedEvent]) -> bytes:
    return b"".join(event.data for event in events if isinstance(event, WireBytes))


async def nothing_is_left_over() -> None:
    """Fail if a thread of the feed or another task is still there within two seconds."""
    end = time.monotonic() + 2
    while any(t.name.startswith("feed rig") for t in threading.enumerate()):
        assert time.monotonic() < end, "the feed's thread is left over"
        await asyncio.sleep(0.01)
    assert asyncio.all_tasks() == {asyncio.current_task()}


class Pty:
    """Both ends of a pseudo-terminal, reachable under a name that outlives it."""

    def __init__(self, name: Path) -> None:
        self.name = name
        self.plug()

    def plug(self) -> None:
        self.master, self._slave = os.openpty()
        self.name.unlink(missing_ok=True)
        self.name.symlink_to(os.ttyname(self._slave))

    def send(self, data: bytes) -> None:
        os.write(self.master, data)

    def unplug(self) -> None:
        self.name.unlink(missing_ok=True)
        for end in (self.master, self._slave):
            with suppress(OSError):
                os.close(end)


@posix
async def test_an_unplugged_port_is_an_event_and_is_opened_again(tmp_path: Path) -> None:
    port = Pty(tmp_path / "port")
    async with aclosing(serial_feed(str(port.name)).events()) as events:
        assert await take(events, LinkUp) == [LinkUp(7.0, "rig")]
        port.send(PACKET)
        first = await take(events, Frame)
        assert wire(first) == PACKET
        assert first[-1] == Frame(7.0, "rig", {"0108": 1234.5})
        port.unplug()
        lost = await take(events, LinkDown)
        port.plug()
        again = await take(events, LinkUp)
        port.send(b"&&\r\n01081235.0\r\n!!\r\n")
        last = await take(events, Frame)
    port.unplug()
    assert [type(event) for event in lost] == [LinkDown]
    assert "" not in [event.reason for event in lost if isinstance(event, LinkDown)]
    # While the port was away: at most the one new reason, that there is no such file.
    assert [type(e) for e in again] in ([LinkUp], [LinkDown, LinkUp])
    assert last[-1] == Frame(7.0, "rig", {"0108": 1235.0})
    await nothing_is_left_over()


@posix
async def test_a_loss_in_mid_packet_delivers_its_whole_lines_and_forgets_the_rest(
    tmp_path: Path,
) -> None:
    port = Pty(tmp_path / "port")
    async with aclosing(serial_feed(str(port.name)).events()) as events:
        await take(events, LinkUp)
        port.send(b"&&\r\n0114182.4\r\n0108123")
        assert wire(await take(events, WireBytes)) == b"&&\r\n0114182.4\r\n0108123"
        port.unplug()
        assert (await take(events, LinkDown))[:-1] == [
            BadLine(7.0, "rig", "truncated_line", b"0108123", "0108"),
            Frame(7.0, "rig", {"0114": 182.4}, {"0108": "rejected"}, partial=True),
        ]
        port.plug()
        await take(events, LinkUp)
        port.send(b"4.5\r\n!!\r\n")
        assert (await take(events, BadLine))[-1] == BadLine(7.0, "rig", "outside_packet", b"4.5")
    port.unplug()
    await nothing_is_left_over()


@posix
async def test_silence_closes_an_open_packet_once(tmp_path: Path) -> None:
    now = [100.0]
    port = Pty(tmp_path / "port")
    feed = serial_feed(str(port.name), lambda: now[0], idle_s=2.0)
    async with aclosing(feed.events()) as events:
        await take(events, LinkUp)
        port.send(b"&&\r\n0114182.4\r\n")
        await take(events, WireBytes)
        now[0] = 102.0
        assert await take(events, Frame) == [Frame(102.0, "rig", {"0114": 182.4}, partial=True)]
        now[0] = 110.0
        port.send(PACKET)
        assert len(await take(events, Frame)) == 2
    port.unplug()


@posix
async def test_nothing_is_ever_sent(tmp_path: Path) -> None:
    port = Pty(tmp_path / "port")
    async with aclosing(serial_feed(str(port.name)).events()) as events:
        await take(events, LinkUp)
        port.send(PACKET)
        await take(events, Frame)
    os.set_blocking(port.master, False)
    with pytest.raises(BlockingIOError):
        os.read(port.master, 100)
    port.unplug()


async def test_a_missing_port_is_reported_once_and_tried_again(tmp_path: Path) -> None:
    name = tmp_path / "none"
    async with aclosing(serial_feed(str(name)).events()) as events:
        (down,) = await take(events, LinkDown)
        assert isinstance(down, LinkDown)
        assert str(name) in down.reason
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(anext(events), 0.3)
    await nothing_is_left_over()


async def test_a_cancelled_feed_leaves_no_thread_and_no_open_port() -> None:
    async with Server() as server:
        seen = asyncio.Event()
        feed = serial_feed(server.url)  # kept, so that nothing is closed by being forgotten

        async def listen() -> None:
            async with aclosing(feed.events()) as events:
                async for _ in events:
                    seen.set()

        task = asyncio.create_task(listen())
        await asyncio.wait_for(seen.wait(), 5)
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task
        reader, _ = await server.call()
        assert await asyncio.wait_for(reader.read(), 5) == b""  # closed by us
    await nothing_is_left_over()


class Told:
    """A decoder that only remembers what it was told."""

    def __init__(self) -> None:
        self.calls: list[str] = []

    def feed(self, data: bytes, at: float) -> list[FeedEvent]:
        self.calls.append("feed")
        return []

    def idle(self, at: float) -> list[FeedEvent]:
        self.calls.append("idle")
        return []

    def reset(self) -> None:
        self.calls.append("reset")


async def test_a_decoder_is_told_of_silence_once_and_of_a_loss_by_idle_and_reset() -> None:
    now, told = [100.0], Told()
    async with Server() as server:
        feed = SerialFeed(Feed(name="rig", port=server.url), told, lambda: now[0], QUICK)
        async with aclosing(feed.events()) as events:
            await take(events, LinkUp)
            _, writer = await server.call()
            writer.write(b"x")
            await take(events, WireBytes)
            now[0] += 60.0
            with pytest.raises(TimeoutError):  # three reads of nothing; this ends the feed
                await asyncio.wait_for(anext(events), 0.7)
        assert told.calls == ["feed", "idle"]
        async with aclosing(feed.events()) as events:
            await take(events, LinkUp)
            await hang_up((await server.call())[1])
            await take(events, LinkDown)
            await take(events, LinkUp)
    assert told.calls == ["feed", "idle", "idle", "reset"]


class Server:
    """A local server: what a serial-to-network converter is for us."""

    async def __aenter__(self) -> Server:
        self._calls: asyncio.Queue[Call] = asyncio.Queue()
        self._writers: list[asyncio.StreamWriter] = []
        self._server = await asyncio.start_server(self._take, "127.0.0.1", 0)
        self.url = f"socket://127.0.0.1:{self._server.sockets[0].getsockname()[1]}"
        return self

    async def _take(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._writers.append(writer)
        self._calls.put_nowait((reader, writer))

    async def call(self) -> Call:
        """Return the next caller's two ends."""
        return await asyncio.wait_for(self._calls.get(), 5)

    async def __aexit__(self, *_: object) -> None:
        for writer in self._writers:
            await hang_up(writer)
        self._server.close()
        await self._server.wait_closed()


async def hang_up(writer: asyncio.StreamWriter) -> None:
    writer.close()
    with suppress(OSError):
        await writer.wait_closed()


async def test_a_network_line_that_hangs_up_loses_no_bytes_and_is_opened_again() -> None:
    async with Server() as server, aclosing(serial_feed(server.url).events()) as events:
        await take(events, LinkUp)
        _, writer = await server.call()
        writer.write(PACKET * 3 + b"01")
        await hang_up(writer)
        lost = await take(events, LinkDown)
        assert wire(lost) == PACKET * 3 + b"01"
        assert sum(isinstance(event, Frame) for event in lost) == 3
        await take(events, LinkUp)
        (await server.call())[1].write(PACKET)
        assert (await take(events, Frame))[-1] == Frame(7.0, "rig", {"0108": 1234.5})
    await nothing_is_left_over()


async def test_bytes_come_before_the_events_made_of_them() -> None:
    async with (
        Server() as server,
        aclosing(serial_feed(server.url).events()) as events,
    ):
        await take(events, LinkUp)
        (await server.call())[1].write(PACKET)
        got = await take(events, Frame)
        assert [type(event) for event in got] == [WireBytes] * (len(got) - 1) + [Frame]


@pytest.mark.parametrize(
    ("text", "parts"),
    [("8N1", (8, "N", 1.0)), ("7E1", (7, "E", 1.0)), ("8O2", (8, "O", 2.0)),
     ("5M1.5", (5, "M", 1.5))],
)  # fmt: skip
def test_framing_is_data_bits_parity_stop_bits(text: str, parts: tuple[int, str, float]) -> None:
    assert parse_framing(text) == parts


@pytest.mark.parametrize("text", ["", "8N", "9N1", "8X1", "8N3", "8N1 "])
def test_other_framing_is_refused(text: str) -> None:
    with pytest.raises(FeedError, match="write data bits, parity, stop bits: 8N1"):
        parse_framing(text)


@pytest.mark.parametrize(("port", "says"), [("", "no port"), ("nothing://x", "'nothing'")])
def test_a_port_that_can_never_be_is_refused_at_once(port: str, says: str) -> None:
    with pytest.raises(FeedError, match=f"feed rig: .*{says}.*write COM3"):
        serial_feed(port)
