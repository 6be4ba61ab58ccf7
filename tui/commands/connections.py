"""``kellydown connections``: how long each connection took, and what the crews' tours add up to."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from adapters.source_time import find_zone
from engine.records.connection_log import connection_log
from engine.records.connection_text import connections_text, tours_text
from engine.records.connection_tours import as_json, tours_of
from engine.records.tours import zone_name
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Print the connections of a recording, or its tours."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        zone = find_zone(zone_name(config))
        log, span = connection_log(recording, config), recording.span()
    tours = tours_of(log, config, zone, span) if span else []
    if args.json:
        found = as_json(log, tours, config, args.recording)
        print(json.dumps(found, allow_nan=False, indent=1))
    elif args.tour:
        print(tours_text(tours, config, zone_name(config)), end="")
    else:
        print(connections_text(log, config), end="")
    return 0
