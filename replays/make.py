"""Make ``granite.kdrec``: some seventeen minutes of the synthetic rig as a watch would record them.

Run it from the root of the tree, with kellydown installed::

    python replays/make.py                    # writes replays/granite.kdrec anew
    python replays/make.py SOME/OTHER.kdrec

What happens, from 06:00:00 UTC: drilling in granite; a connection from 06:04:40 to 06:07:39; a
zero of the pits and a note once the bit is back on bottom; cavings pack off the annulus at
06:12:20, the pressure alarm comes a minute later and is acknowledged, the hole is cleared.

The same program and the same SQLite give the same file to the last byte: the scenario, the seed,
the start and the times of the commands are fixed, no clock is read, and the pages are laid out
by one ``VACUUM INTO``. Another version of the program writes its own number into the head; a
recording of an earlier one stays valid for as long as a replay check finds it identical.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from heapq import merge
from itertools import islice
from pathlib import Path

from adapters.config_file import example_text, parse_well
from adapters.sqlite_store import create_recording
from adapters.wits0 import from_feed
from engine.commands import Acknowledge, Command, Issued, Note, ZeroPits
from engine.engine import Engine
from engine.events import BadLine, FeedEvent, Frame, LinkUp, WireBytes
from engine.interfaces import FeedHealth, InputEvent, Status
from engine.ops.align import stamp
from engine.records.journal import from_iso
from engine.run import head_entry
from engine.sim.jobs import Plan
from engine.sim.rig import Rig
from engine.sim.scenarios import Scenario, Trouble
from engine.sim.stream import wits_bytes
from tui.commands.common import meta_of

START = from_iso("2026-03-14T06:00:00Z")
SECONDS = 1010
BATCH = 500
SEED = 11
PACK_OFF = Trouble("pack-off", 740.0, 5.5e6, rise=90.0, hold=60.0, fall=60.0)
SCENARIO = Scenario(
    "granite",
    "A quick connection in granite, then cavings pack off the annulus",
    plan=Plan(left=0.5, paced=(240.0,), quick=0),
    troubles=(PACK_OFF,),
)
COMMANDS: tuple[tuple[float, Command], ...] = (
    (650.3, ZeroPits("after the connection")),
    (655.6, Note("two joints of this stand are new")),
    (812.4, Acknowledge()),
)
"""When the driller does what. [s] from the start"""


def make(path: Path) -> None:
    """Write the recording to `path`, in place of what is there."""
    with tempfile.TemporaryDirectory() as folder:
        raw = Path(folder) / "raw.kdrec"
        _record(raw)
        path.unlink(missing_ok=True)
        with closing(sqlite3.connect(raw)) as base:
            base.execute("VACUUM INTO ?", (str(path),))


def _events() -> Iterator[FeedEvent | Issued]:
    """Yield what a watch takes, in order."""
    config = parse_well(example_text(), "built-in well file")
    feed = config.feeds[0]
    rig, decoder = Rig(config, SCENARIO, SEED, START), from_feed(feed)
    packets = ((at, 1, data) for at, data in wits_bytes(rig.advance(float(SECONDS))))
    given = ((START + second, 0, command) for second, command in COMMANDS)
    yield LinkUp(START, feed.name)
    for at, _, what in merge(packets, given, key=lambda item: item[:2]):
        if isinstance(what, bytes):
            yield WireBytes(at, feed.name, what)
            yield from decoder.feed(what, at)
        else:
            yield Issued(at, what, "driller", "doghouse")


def _record(path: Path) -> None:
    text = example_text()
    config = parse_well(text, "built-in well file")
    meta = meta_of(config, text, "synthetic", START)
    engine, last, frames = Engine(config, head_entry(meta)), START - 1.0, 0
    stream = _events()
    with closing(create_recording(path, meta)) as recorder:
        while batch := list(islice(stream, BATCH)):
            inputs: list[InputEvent] = []
            for event in batch:
                if isinstance(event, WireBytes):
                    recorder.wire(event)
                elif isinstance(event, BadLine):
                    inputs.append(event)
                else:
                    last = stamp(event.at, last)
                    inputs.append(replace(event, at=last))
            frames += sum(isinstance(event, Frame) for event in inputs)
            recorder.inputs(inputs)
            tables, lines = engine.take(inputs)
            for table in tables:
                recorder.rows(table)
            recorder.journal(lines)
        health = FeedHealth(config.feeds[0].name, up=True, last_frame=last, frames=frames)
        recorder.status(Status(last, last, running=False, feeds=(health,)))


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("granite.kdrec"))
