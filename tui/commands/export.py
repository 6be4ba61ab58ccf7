"""``kellydown export``: the channels as a table other programs read."""

from __future__ import annotations

import argparse
from contextlib import closing

from adapters.export_csv import export_csv
from tui.commands.common import open_recording


def run(args: argparse.Namespace) -> int:
    """Write the export and say how much it holds."""
    with closing(open_recording(args.recording)) as recording:
        rows = export_csv(recording, args.out, force=args.force)
    print(f"{args.out}: {rows} rows")
    return 0
