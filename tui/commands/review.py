"""``kellydown review``: what happened, as a page or as JSON."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.records.review import review
from engine.records.review_text import review_text
from tui.commands.common import config_of, open_recording, parse_time


def run(args: argparse.Namespace) -> int:
    """Print the review of a recording."""
    with closing(open_recording(args.recording)) as recording:
        span = recording.span()
        first = span[0] if span else None
        found = review(recording, parse_time(args.start, first), parse_time(args.end, first))
        if args.json:
            print(json.dumps(found, allow_nan=False, indent=1))  # ASCII: no terminal spoils it
        else:
            print(review_text(found, config_of(recording.meta())))
    return 0
