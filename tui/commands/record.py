"""``kellydown record``: the watch, alone, in the foreground; the other commands start it too."""

from __future__ import annotations

import argparse
import asyncio
import os
import signal
import time
from collections.abc import Mapping, Sequence
from contextlib import closing, suppress
from functools import partial
from itertools import zip_longest
from pathlib import Path

from adapters.horn import Horn, Report
from adapters.horn_outputs import outputs_of
from adapters.paths import data_folder, new_recording
from adapters.serial_feed import SerialFeed
from adapters.sim_feed import SimFeed
from adapters.sqlite_copy import same_disk
from adapters.sqlite_store import SqliteRecorder, create_recording, resume_recording
from adapters.wits0 import from_feed
from engine.clock import RunningClock
from engine.commands import HornOutputs
from engine.config import Feed
from engine.engine import Engine
from engine.errors import InputError, RecordingError, RigError
from engine.interfaces import Decoder, JournalLine, Recorder, Recording
from engine.interfaces import Feed as FeedSource
from engine.records.journal import read
from engine.records.words import in_words
from engine.run import Watch, head_entry
from tui.commands.common import config_of, meta_of, open_recording, station, well_of


def run(args: argparse.Namespace) -> int:
    """Watch until told to stop."""
    if args.scenario is None and args.well is None:
        raise InputError("record: give --well WELL.toml, or --scenario NAME for the synthetic rig")
    if args.scenario is None and (args.speed != 1.0 or args.history_s):
        raise InputError("record: --speed and --history-s are for a --scenario; feeds run in time")
    config, text = well_of(args.well)
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
    copy = copy_in(args.copy, path)
    source = "synthetic" if args.scenario else "live"
    meta = meta_of(config, text, source, wall - args.history_s)
    if path.exists():
        engine, recorder = go_on(path, meta)
    else:
        path.parent.mkdir(parents=True, exist_ok=True)
        engine, recorder = Engine(config, head_entry(meta)), create_recording(path, meta)
    horn = Horn(outputs_of(config.horn, data_folder() / "horn"), partial(_report, path))

    caught_up = False

    def told(lines: Sequence[JournalLine]) -> None:
        for line in lines:
            fields = read(line)
            _say(in_words(fields, config.display_units()))
            if fields["kind"] == "command" and fields["id"] == "sound_horn":
                horn.test()
        if caught_up:
            horn.follow(engine.alarms.urgency)

    with closing(recorder), closing(horn):
        watch = Watch(
            engine, recorder, feeds, clock, time.time, os.getpid(), told,
            clock.set_speed if args.scenario else None,
        )  # fmt: skip
        for name in ("SIGTERM", "SIGINT", "SIGBREAK"):
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda _number, _frame: watch.stop())
        _say(f"recording to {path}")
        watch.begin()
        if copy is not None or engine.second_copy.state.place:  # the last watch may have had one
            recorder.copy_to(copy)
        for i, feed in enumerate(feeds):
            if isinstance(feed, SimFeed):
                watch.catch_up(i, feed.past())
        caught_up = True  # what was over before anybody could hear it makes no sound
        horn.follow(engine.alarms.urgency)
        asyncio.run(watch.run())
    return 0


def _say(line: str) -> None:
    """Print a line; a terminal that has gone or a full disk under the log stops no watch."""
    with suppress(OSError, ValueError):
        print(line, flush=True)


def copy_in(folder: str | None, path: Path) -> Path | None:
    """Return where the second copy of the recording at `path` goes; None if none is asked for.

    Raises
    ------
    InputError
        If that is the recording itself. A folder that is not there now may come: no error.
    """
    if folder is None:
        return None
    copy = Path(folder) / path.name
    if copy.absolute().parent.resolve() == path.absolute().parent.resolve():
        raise InputError(
            f"--copy {folder}: the recording itself is there; name a folder on another disk"
        )
    if copy.parent.is_dir() and path.parent.is_dir() and same_disk(copy.parent, path.parent):
        _say(f"{copy}: the second copy is on the disk of the recording; one fault can take both")
    return copy


def _report(path: Path, report: Report) -> None:
    """Leave what the horn's outputs said as a command, so that it is recorded in its order."""
    with suppress(RigError, OSError), closing(open_recording(str(path))) as recording:
        recording.post(HornOutputs(report.working, report.failed), "watch", station())


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


def go_on(path: Path, meta: Mapping[str, str]) -> tuple[Engine, SqliteRecorder]:
    """Work a recording out again and go on with it where its last watch ended or was killed.

    Raises
    ------
    RecordingError
        If it is of another well file or source, another watch writes to it, or this program
        makes another journal of it than the one it holds.
    """
    with closing(open_recording(str(path))) as old:
        kept = dict(old.meta())
        if kept["source"] != "live" or meta["source"] != "live":
            raise RecordingError(
                f"{path}: only a live recording can be continued, from its feeds; this one is "
                f"{kept['source']}, the watch would be {meta['source']}; give another --out"
            )
        if kept["config_hash"] != meta["config_hash"]:
            raise RecordingError(
                f"{path}: was made with other settings of the well {kept['well']!r} "
                f"({kept['config_hash']}, now {meta['config_hash']}); give another --out"
            )
        recorder = resume_recording(path)  # from here on nobody else adds to what is read
        try:
            return _worked_out(old, kept, recorder), recorder
        except BaseException:
            recorder.close()
            raise


def _worked_out(old: Recording, kept: Mapping[str, str], recorder: Recorder) -> Engine:
    """Return the engine as it was; record what a kill cut off after the input."""
    engine = Engine(config_of(kept), head_entry(kept))
    tables, lines = engine.take(list(old.inputs()))
    known, span = old.journal(), old.span()
    for mine, theirs in zip_longest(lines[: len(known)], known):
        if mine is None or mine.text != theirs.text:
            raise RecordingError(
                f"{old.path}: cannot be continued: this program makes another line "
                f"{theirs.seq} of its journal; give another --out"
            )
    for table in tables:
        t = next(iter(table.values())).t
        first = int(t.searchsorted(span[1], side="right")) if span else 0
        if first < t.size:
            recorder.rows({c: block.slice(first, t.size) for c, block in table.items()})
    recorder.journal(lines[len(known) :])
    return engine
