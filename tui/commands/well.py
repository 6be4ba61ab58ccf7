"""``kellydown well``: write an example well file, or check one."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping
from pathlib import Path

from adapters.config_file import example_text, load_well
from engine.engine import sources_of
from engine.errors import InputError
from engine.ops.efficiency import Efficiency
from engine.ops.hoisting import Hoisting
from engine.ops.hydraulics import Hydraulics
from tui.commands.common import new_file


def run(args: argparse.Namespace) -> int:
    """Write or check; a check prints all problems at once."""
    path = Path(args.file)
    if args.action == "init":
        path = new_file(args.file)
        path.write_text(example_text(), encoding="utf-8")
        print(f"{path}: written; edit it, then run: kellydown well check {path}")
        return 0
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    config, _ = load_well(str(path))
    sources = sources_of(config)
    print(f"{path}: good. Well {config.well}, rig {config.rig.name}, {len(config.pumps)} pumps,")
    print(
        f"{len(config.feeds)} feeds with {len(sources)} mapped items, {len(config.alarms)} alarms"
    )
    operators = (Hydraulics(config), Efficiency(config), Hoisting(config))
    for line in _lacking({k: v for op in operators for k, v in op.unknown.items()}):
        print(line)
    return 0


def _lacking(unknown: Mapping[str, str]) -> Iterator[str]:
    """Say which live channels this file is too short for, once for each reason."""
    for reason in dict.fromkeys(unknown.values()):
        channels = ", ".join(channel for channel, why in unknown.items() if why == reason)
        yield f"will be unknown: {channels}\n  {reason}"
