from __future__ import annotations

import asyncio
import threading
from types import SimpleNamespace
from typing import Any

from textual.app import App
from textual.drivers import _writer_thread
from textual.drivers.linux_driver import LinuxDriver

from tests.scene import drilling_table, recording, well
from tui.follow import Follower
from tui.tick import BACKLOG, Reader, Tick, output_backlog


def test_the_private_queue_of_the_writer_still_exists() -> None:
    """`output_backlog` reads it; an update of textual that renames it must be seen here."""
    thread = _writer_thread.WriterThread(SimpleNamespace())  # type: ignore[arg-type] - not started
    assert thread._queue.qsize() == 0
    assert "_writer_thread" in LinuxDriver.__init__.__code__.co_names
    app: Any = SimpleNamespace(_driver=SimpleNamespace(_writer_thread=thread))
    thread._queue.put("x")
    assert output_backlog(app) == 1


def test_a_driver_without_a_queue_has_no_backlog() -> None:
    assert output_backlog(App()) == 0


class Desk:
    """A tick with everything around it in hand."""

    def __init__(self, waiting: int = 0) -> None:
        queue = SimpleNamespace(qsize=lambda: waiting)
        thread = SimpleNamespace(_queue=queue)
        self.app: Any = SimpleNamespace(
            _driver=SimpleNamespace(_writer_thread=thread), is_running=True
        )
        fake = recording(drilling_table(60))
        assert fake.beat is not None
        wall = fake.beat.wall
        self.follower = Follower(fake, well(), lambda: wall)
        self.shown: list[Any] = []
        self.now = 0.0
        self.polls = 0
        self.gate = threading.Event()
        self.gate.set()
        self.reader = Reader()
        empty = Follower(fake, well(), lambda: wall + 99).poll()
        self.tick = Tick(
            self.app, self.reader, self.poll, self.shown.append, lambda: self.now, empty
        )

    def poll(self) -> Any:
        self.polls += 1
        assert self.gate.wait(10)
        return self.follower.poll()

    async def settle(self) -> None:
        await self.reader.ask(lambda: None)
        await asyncio.sleep(0)


async def test_a_picture_is_skipped_while_output_is_backed_up() -> None:
    for waiting, pictures in ((0, 1), (BACKLOG, 1), (BACKLOG + 1, 0)):
        desk = Desk(waiting)
        desk.tick.run()
        await desk.settle()
        assert len(desk.shown) == pictures
        desk.reader.close()


async def test_no_poll_starts_before_the_last_one_is_back() -> None:
    desk = Desk()
    desk.gate.clear()
    for _ in range(5):
        desk.tick.run()
    desk.gate.set()
    await desk.settle()
    assert desk.polls == 1
    desk.tick.run()
    await desk.settle()
    assert desk.polls == 2
    desk.reader.close()


async def test_a_long_first_read_is_no_alarm() -> None:
    desk = Desk()
    desk.gate.clear()
    desk.tick.run()
    desk.now = 2.6
    desk.tick.run()
    assert desk.shown[-1].watch.problem == "reading the recording ..."
    desk.gate.set()
    await desk.settle()
    assert desk.shown[-1].watch.alive
    desk.reader.close()


async def test_a_poll_that_hangs_blanks_the_picture_in_under_three_seconds() -> None:
    desk = Desk()
    desk.tick.run()
    await desk.settle()
    assert desk.shown[-1].readings["hook_load"].value is not None
    desk.gate.clear()
    desk.tick.run()
    desk.now = 2.6
    desk.tick.run()
    last = desk.shown[-1]
    assert {r.value for r in last.readings.values()} == {None}
    assert last.watch.problem == "the recording does not answer"
    desk.gate.set()
    await desk.settle()
    assert desk.shown[-1].readings["hook_load"].value is not None
    desk.reader.close()
