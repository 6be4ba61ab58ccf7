"""The command lines of tests and drills."""

from __future__ import annotations

import argparse
from collections.abc import Callable


def trial_options(add: Callable[[str, str, str, str], argparse.ArgumentParser]) -> None:
    """Add ``trial`` and ``trials`` with `add` (name, what runs it, what it does, an example)."""
    trial = add(
        "trial", "trial:run",
        "on a running watch: start a test or drill with its criteria, mark, end or override it",
        'trial flow-check tour.kdrec minutes=10min flow=0.05bbl/min --by Ines\n'
        "  kellydown trial end tour.kdrec --by Ines\n"
        '  kellydown trial override tour.kdrec reason="gauge broken" second=Odd --by Ines',
    )  # fmt: skip
    trial.add_argument("trial", metavar="KIND",
                       help="flow-check, inflow-test, casing-test, bop-test, pit-drill, "
                       "trip-drill, bleed-back; or detected, acted, end, override")  # fmt: skip
    trial.add_argument("recording", metavar="FILE")
    trial.add_argument("words", nargs="*", metavar="criterion=value",
                       help="each with its unit; watch=CHANNEL,CHANNEL; what=TEXT")  # fmt: skip
    trial.add_argument("--by", default="", metavar="NAME", help="who says so")
    trials = add("trials", "trial:run_all", "tests and drills with criteria, verdict and record",
                 "trials tour.kdrec")  # fmt: skip
    trials.add_argument("recording", metavar="FILE")
    trials.add_argument("--json", action="store_true")
