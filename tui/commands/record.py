"""``kellydown record``: the watch, alone, in the foreground; the other commands start it too."""

from __future__ import annotations

import argparse
import asyncio
import os
import signal
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from adapters.config_file import example_text, load_well, parse_well
from adapters.horn import Horn
from adapters.paths import new_recording
from adapters.serial_feed import SerialFeed
from adapters.sim_feed import SimFeed
from adapters.sqlite_store import SqliteRecorder, create_recording, resume_recording
from adapters.wits0 import from_feed
from engine.clock import RunningClock
from engine.config import Feed, WellConfig
from engine.engine import Engine
from engine.errors import InputError, RecordingError
from engine.interfaces import Decoder, JournalLine
from engine.interfaces import Feed as FeedSource
from engine.records.journal import read
from engine.records.words import in_words
from engine.run import Watch, head_entry
from tui.commands.common import config_of, meta_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Watch until told to stop."""
    if args.scenario is None and args.well is None:
        raise InputError("record: give --well WELL.toml, or --scenario NAME for the synthetic rig")
    if args.well:
        config, text = load_well(args.well)
    else:
        text = example_text()
        config = parse_well(text, "built-in well file")
    wall = time.time()
    clock = RunningClock(time.monotonic, wall, args.speed if args.scenario else 1.0)
    feeds: list[FeedSource]
    if args.scenario:
        feeds = [SimFeed(config, args.scenario, args.seed, clock, args.history_s)]
    else:
        feeds = [serial_feed(feed, clock) for feed in config.feeds]
    if not feeds:
        raise InputError(f"{args.well}: no feed to watch; add a [[feeds]] table")
    path = Path(args.out) if args.out else new_recording(config.well, wall)
    source = "synthetic" if args.scenario else "live"
    meta = meta_of(config, text, source, wall - args.history_s)
    engine, recorder = _engine(path, config, meta, wall)
    horn = Horn()

    def told(lines: Sequence[JournalLine]) -> None:
        for line in lines:
            print(in_words(read(line), config.display_units()), flush=True)
        horn.follow(sounding=engine.alarms.horn)

    with closing(recorder):
        watch = Watch(
            engine, recorder, feeds, clock, time.time, os.getpid(), told,
            clock.set_speed if args.scenario else None,
        )  # fmt: skip
        for name in ("SIGTERM", "SIGINT", "SIGBREAK"):
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda _number, _frame: watch.stop())
        print(f"recording to {path}", flush=True)
        for i, feed in enumerate(feeds):
            if isinstance(feed, SimFeed):
                watch.catch_up(i, feed.past())
        asyncio.run(watch.run())
    return 0


def serial_feed(feed: Feed, clock: RunningClock) -> SerialFeed:
    """Build the reader of one feed.

    Raises
    ------
    InputError
        If the feed has no port, or its format cannot be read live.
    """
    if not feed.port:
        raise InputError(f"feed {feed.name!r}: no port; write COM3, /dev/ttyUSB0 or a URL")
    decoder: Decoder
    if feed.format == "wits0":
        decoder = from_feed(feed)
    elif feed.format == "delimited":
        from adapters.ascii_line import DelimitedDecoder

        decoder = DelimitedDecoder(feed)
    else:
        raise InputError(f"feed {feed.name!r}: {feed.format} is a file format; import it instead")
    return SerialFeed(feed, decoder, clock.now)


def _engine(
    path: Path, config: WellConfig, meta: dict[str, str], now: float
) -> tuple[Engine, SqliteRecorder]:
    """Start a new recording, or work an unfinished one out again and go on with it."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        return Engine(config, head_entry(meta)), create_recording(path, meta)
    with closing(open_recording(str(path))) as old:
        kept = dict(old.meta())
        for key in ("config_hash", "synthetic", "source"):
            if kept[key] != meta[key]:
                raise RecordingError(
                    f"{path}: {key} is {kept[key]!r}, this watch has {meta[key]!r}; "
                    "give another --out"
                )
        if kept["source"] == "synthetic":
            raise RecordingError(f"{path}: a synthetic recording cannot be continued")
        engine = Engine(config_of(kept), head_entry(kept))
        tables, lines = engine.take(list(old.inputs()))
        known, span = len(old.journal()), old.span()
    recorder = resume_recording(path)
    # A power cut may have come between the input and what was worked out from it.
    for table in tables:
        t = next(iter(table.values())).t
        first = int(t.searchsorted(span[1], side="right")) if span else 0
        if first < t.size:
            recorder.rows({c: block.slice(first, t.size) for c, block in table.items()})
    recorder.journal(lines[known:])
    return engine, recorder
