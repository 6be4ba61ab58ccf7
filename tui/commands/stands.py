"""``kellydown stands``: every stand with its length, rate and weights, and the tally."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.records.stand_log import stand_log
from engine.records.stand_text import as_json, stands_text
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Print the stands of a recording."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        log = stand_log(recording, config)
    if args.json:
        print(json.dumps(as_json(log, config, args.recording), allow_nan=False, indent=1))
    else:
        print(stands_text(log, config), end="")
    return 0
