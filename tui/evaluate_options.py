"""What ``kellydown evaluate`` takes."""

from __future__ import annotations

import argparse

from tui.arguments import above_zero, count, seed, seeds


def evaluate_options(sub: argparse.ArgumentParser) -> None:
    """Add them to its parser."""
    sub.add_argument("--seeds", type=seeds, metavar="A-B",
                     help="one clean tour for each; 1-999 are for setting limits, 10000-10999 for "
                     "reports (default 10000-10020)")  # fmt: skip
    sub.add_argument("--runs", type=seed, default=2, metavar="N",
                     help="runs of every event and size, and of its twin (default 2)")  # fmt: skip
    sub.add_argument("--hours", type=above_zero, default=12.0, metavar="H",
                     help="length of a clean tour (default 12)")  # fmt: skip
    sub.add_argument("--noise", nargs="+", metavar="CLASS",
                     help="classes of sensors (default: all)")  # fmt: skip
    sub.add_argument("--kinds", nargs="+", metavar="KIND", help="events (default: all)")
    sub.add_argument("--usual-rig-only", action="store_true", help="leave the other rigs out")
    sub.add_argument("--workers", type=count, metavar="N",
                     help="processes (default: one for each core)")  # fmt: skip
    sub.add_argument("--json", metavar="FILE", help="every figure and every call of every run")
    sub.add_argument("--out", metavar="FILE", help="the page, in Markdown (default: stdout)")
    sub.add_argument("--force", action="store_true", help="replace existing files")
    sub.add_argument("--freeze", action="store_true",
                     help="run nothing: freeze the thresholds as they are now")  # fmt: skip
