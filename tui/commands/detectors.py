"""``kellydown detectors``: each with its rule and settings, and how it fared in a recording."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.detect.listing import detector_list, list_text, with_journal
from engine.errors import InputError
from tui.commands.common import config_of, open_recording, well_of


def run(args: argparse.Namespace) -> int:
    """Print the detectors of a well file, or of a recording with blind minutes and calls."""
    if (args.recording is None) == (args.well is None):
        raise InputError(
            "detectors: give --well WELL.toml for their rules and settings, or a RECORDING for "
            "what they saw as well"
        )
    if args.well is not None:
        config, _ = well_of(args.well)
        found = detector_list(config)
    else:
        with closing(open_recording(args.recording)) as recording:
            config = config_of(recording.meta())
            lines, span = recording.journal(), recording.span()
        found = detector_list(config)
        if span is not None:
            found = with_journal(found, lines, *span)
    if args.json:
        print(json.dumps({"well": config.well, "detectors": found}, allow_nan=False, indent=1))
    else:
        print(list_text(found, config), end="")
    return 0
