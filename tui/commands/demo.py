"""``kellydown`` alone: the main job on the built-in synthetic well."""

from __future__ import annotations

import argparse
import sys
import time

from adapters.paths import new_recording
from adapters.watch_process import start_watch
from tui.commands.common import well_of
from tui.commands.screen import ready, watch_and_show

HISTORY_S = 7200
"""Already in the charts when the screen opens. [s]"""


def run(args: argparse.Namespace) -> int:
    """Start a watch on the synthetic rig and show it."""
    ready(args)
    config, _ = well_of(None)
    path = new_recording(f"{config.well} synthetic", time.time())
    print(f"Preparing two hours of a synthetic well ({path}) …", file=sys.stderr)
    watch = start_watch(
        path,
        ["--scenario", "demo", "--seed", str(args.seed), "--history-s", str(HISTORY_S)],
    )
    return watch_and_show(watch, args)
