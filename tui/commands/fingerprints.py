"""``kellydown fingerprints``: what came back after each stop of the pumps."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.records.fingerprints import as_json, fingerprints, fingerprints_text
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Print the flowback of each stop of a recording."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        found = fingerprints(recording, config)
    if args.json:
        print(json.dumps(as_json(found, config), allow_nan=False, indent=1))
    else:
        print(fingerprints_text(found, config), end="")
    return 0
