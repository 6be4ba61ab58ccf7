"""``kellydown alarms``: the alarms of a well file, or how good those of a recording were."""

from __future__ import annotations

import argparse
import json
from contextlib import closing
from typing import Any

from engine.alarms.listing import alarm_list, list_text
from engine.alarms.performance import performance
from engine.alarms.performance_text import performance_text
from engine.errors import InputError
from tui.commands.common import open_recording, well_of


def run(args: argparse.Namespace) -> int:
    """Print one or the other; 1 if an alarm answers later than the time there is for it."""
    if (args.recording is None) == (args.well is None):
        raise InputError(
            "alarms: give --well WELL.toml for its list, or a RECORDING for its performance"
        )
    if args.well is not None:
        config, _ = well_of(args.well)
        found = alarm_list(config)
        _print(args, {"well": config.well, "alarms": found}, list_text(config))
        return int(any(one["late"] for one in found))
    with closing(open_recording(args.recording)) as recording:
        lines, span = recording.journal(), recording.span()
    if span is None:
        raise InputError(f"{args.recording}: nothing was recorded, there is nothing to measure")
    report = performance(lines, span[0], span[1], args.recording)
    _print(args, report, performance_text(report))
    return 0


def _print(args: argparse.Namespace, found: dict[str, Any], text: str) -> None:
    if args.json:
        print(json.dumps(found, allow_nan=False, indent=1))  # ASCII: no terminal spoils it
    else:
        print(text, end="")
