"""``kellydown live``: watch and screen on the feeds of a well file."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from adapters.config_file import load_well
from adapters.paths import new_recording
from adapters.watch_process import start_watch
from tui.commands.screen import ready, watch_and_show


def run(args: argparse.Namespace) -> int:
    """Start the watch, then show what it records."""
    config, _ = load_well(args.well)  # all its problems, before a process is started for it
    ready(args)
    path = Path(args.out) if args.out else new_recording(config.well, time.time())
    print(f"Recording to {path}", file=sys.stderr)
    more = ["--copy", args.copy] if args.copy else []
    return watch_and_show(start_watch(path, ["--well", args.well, *more]), args)
