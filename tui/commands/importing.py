"""``kellydown import``: files become a recording, through the same engine as live."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from contextlib import closing
from itertools import islice
from pathlib import Path

from adapters.config_file import load_well
from adapters.file_import import read_files
from adapters.sqlite_store import create_recording
from engine.engine import Engine
from engine.errors import InputError
from engine.events import FeedEvent, Frame, WireBytes
from engine.interfaces import Recorder, Status
from engine.run import head_entry, with_ticks
from tui.commands.common import meta_of, new_file

BATCH = 5000
"""Events worked on at once: enough to be fast, small enough to stay in memory. [-]"""


def run(args: argparse.Namespace) -> int:
    """Import, then say what was read, merged, dropped and why."""
    config, text = load_well(args.well)
    feed = config.feeds[0] if config.feeds else None
    if args.feed:
        feed = next((f for f in config.feeds if f.name == args.feed), None)
    if feed is None:
        names = ", ".join(f.name for f in config.feeds) or "none"
        raise InputError(f"{args.well}: no feed {args.feed or ''!r} to read by; it has: {names}")
    for name in args.files:
        if not Path(name).is_file():
            raise InputError(f"{name}: no such file")
    out = new_file(args.out)
    found = read_files(args.files, feed)
    first = next((e for e in found.events if not isinstance(e, WireBytes)), None)
    if first is None or not any(isinstance(e, Frame) for e in found.events):
        raise InputError(
            f"{', '.join(args.files)}: nothing in it that the feed {feed.name!r} "
            f"(format {feed.format}) describes; nothing was written\n{found.report.text()}"
        )
    meta = meta_of(config, text, "import", first.at)
    recorder = create_recording(out, meta)
    try:
        with closing(recorder):
            _record(Engine(config, head_entry(meta)), recorder, found.events, feed.stale_after)
    except BaseException:  # Ctrl+C or a full disk: half a recording is worse than none
        for ending in ("", "-wal", "-shm", ".lock"):
            out.with_name(out.name + ending).unlink(missing_ok=True)
        raise
    print(found.report.text(), file=sys.stderr)
    print(f"{args.out}: imported")
    return 0


def _record(
    engine: Engine, recorder: Recorder, events: Sequence[FeedEvent], stale_after: float
) -> None:
    """Take all events, as a live watch would, and end the recording in good order."""
    stream = iter(with_ticks(events, stale_after))
    last = float("-inf")
    while batch := list(islice(stream, BATCH)):
        inputs = [e for e in batch if not isinstance(e, WireBytes)]
        for event in batch:
            if isinstance(event, WireBytes):
                recorder.wire(event)
        recorder.inputs(inputs)
        tables, lines = engine.take(inputs)
        for table in tables:
            recorder.rows(table)
        recorder.journal(lines)
        last = batch[-1].at
    recorder.status(Status(wall=last, data=last, running=False))
