"""``kellydown attach``: one more screen on a recording that is being written."""

from __future__ import annotations

import argparse

from adapters.paths import newest_recording
from engine.errors import InputError
from tui.commands.common import open_recording
from tui.commands.screen import ready, show


def run(args: argparse.Namespace) -> int:
    """Show the named recording, or the newest."""
    path = args.recording or newest_recording()
    if path is None:
        raise InputError("attach: no recording in the data folder; name one, or start a watch")
    open_recording(str(path)).close()  # what is wrong with it comes before what it is shown on
    ready(args)
    show(str(path), args, owns_watch=False)
    return 0
