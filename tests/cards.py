"""A real watch in a thread of this process, on a scripted feed."""

from __future__ import annotations

import asyncio
import os
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from adapters.config_file import example_text, parse_well
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.clock import RunningClock
from engine.engine import Engine
from engine.events import Frame, LinkUp
from engine.run import Watch, head_entry
from tests.helpers import ScriptFeed, eventually
from tui.commands.common import meta_of
from tui.commands.record import go_on

TEXT = example_text()
CONFIG = parse_well(TEXT, "example")


@contextmanager
def running_watch(path: Path) -> Iterator[Engine]:
    """Watch into `path`, a new recording or one that is gone on with; end it in good order.

    The bit is at 2400 m, the mud 1050 kg/m3.
    """
    ready = threading.Event()
    made: list[Any] = []
    trouble: list[BaseException] = []

    def run() -> None:
        try:
            wall = time.time()
            meta = meta_of(CONFIG, TEXT, "live", wall)
            if path.exists():
                engine, recorder = go_on(path, meta)
            else:
                engine = Engine(CONFIG, head_entry(meta))
                recorder = create_recording(path, meta)
            clock = RunningClock(time.monotonic, wall)
            values = {"0108": 2400.0, "0110": 2405.0, "0112": 12.0, "0114": 160.0, "0132": 1050.0}
            events = [LinkUp(wall, "rig"), *(Frame(wall, "rig", values) for _ in range(3))]
            with closing(recorder):
                watch = Watch(engine, recorder, [ScriptFeed(events)], clock, time.time, os.getpid())
                watch.begin()
                made.extend([engine, watch])
                ready.set()
                asyncio.run(watch.run())
        except BaseException as error:
            trouble.append(error)
            raise
        finally:
            ready.set()

    begun = time.time()
    thread = threading.Thread(target=run)
    thread.start()
    try:
        assert ready.wait(30)
        assert not trouble, trouble
        eventually(lambda: _watched(path, begun), 10)
        yield made[0]
    finally:
        if len(made) == 2:
            made[1].stop()
        thread.join(30)
    assert not trouble, trouble


def _watched(path: Path, since: float) -> bool:
    """Tell whether a heartbeat and a bit depth of this watch are on the disk."""
    with closing(SqliteRecording(str(path))) as recording:
        status = recording.status()
        depth = recording.rows(since, channels=["bit_depth"])["bit_depth"].usable()
    return status is not None and status.running and bool((depth == depth).any())
