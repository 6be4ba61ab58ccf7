"""``kellydown doctor``: what works on this machine, and what to do about the rest."""

from __future__ import annotations

import argparse

from adapters.machine import checks
from adapters.paths import data_folder


def run(args: argparse.Namespace) -> int:
    """Print one line a check; 1 if any of them found a problem."""
    problems = 0
    for check in checks(data_folder()):
        print(f"{'ok ' if check.good else '!! '} {check.name:<14}{check.found}")
        if check.advice:
            print(f"{'':18}{check.advice}")
        problems += not check.good
    print("Windows: not tried by the authors; reports are welcome.")
    return 1 if problems else 0
