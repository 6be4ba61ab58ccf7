"""``kellydown export``: the channels as a table other programs read."""

from __future__ import annotations

import argparse
from contextlib import closing

from adapters.export_csv import export_csv
from adapters.export_depth_csv import export_depth_csv
from tui.commands.common import config_of, open_recording


def run(args: argparse.Namespace) -> int:
    """Write the export and say how much it holds."""
    with closing(open_recording(args.recording)) as recording:
        if args.format == "depth-csv":
            config = config_of(recording.meta())
            metres = export_depth_csv(recording, config, args.out, force=args.force)
            print(f"{args.out}: {metres} metres of new hole")
        else:
            rows = export_csv(recording, args.out, force=args.force)
            print(f"{args.out}: {rows} rows")
    return 0
