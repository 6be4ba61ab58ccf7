"""``kellydown wear``: pump hours, line work against its programme, and the crown check."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from adapters.source_time import find_zone
from engine.records.tours import tour_start, zone_name
from engine.records.wear import wear
from engine.records.wear_text import as_json, wear_text
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Print the wear at the end of a recording."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        zone = find_zone(zone_name(config))
        found = wear(recording, config)
    due = None
    if found.now is not None:
        due = found.upkeep.crown_due(found.now, tour_start(config.tour, zone, found.now))
    if args.json:
        print(json.dumps(as_json(found, due, config, args.recording), allow_nan=False, indent=1))
    else:
        print(wear_text(found, due, config), end="")
    return 0
