"""``kellydown tight-spots``: where the hole held the string, by depth and by time."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.records.tight_spots import as_json, tight_spots, tight_spots_text
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Print the tight spots of a recording."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        spots = tight_spots(recording.journal())
    if args.json:
        print(json.dumps(as_json(spots, config, args.recording), allow_nan=False, indent=1))
    else:
        print(tight_spots_text(spots, config), end="")
    return 0
