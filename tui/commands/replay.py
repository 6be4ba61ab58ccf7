"""``kellydown replay``: a finished recording on the screen, or worked out again and compared."""

from __future__ import annotations

import argparse
from contextlib import closing

from engine.records.recompute import compare
from tui.commands.common import config_of, open_recording
from tui.commands.screen import show_replay


def run(args: argparse.Namespace) -> int:
    """Replay, or check that a replay gives what live gave."""
    if not args.check:
        return show_replay(args)
    with closing(open_recording(args.recording)) as recording:
        differences = compare(recording, config_of(recording.meta()))
        lines = len(recording.journal())
    for difference in differences:
        print(difference)
    if differences:
        return 1
    print(f"{args.recording}: worked out again, identical; {lines} journal lines")
    return 0
