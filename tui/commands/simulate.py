"""``kellydown simulate``: the synthetic stream as a file with its truth, or onto a line."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from adapters.config_file import example_text, load_well, parse_well
from engine.config import WellConfig
from engine.errors import InputError
from engine.sim.rig import Chunk, Rig
from engine.sim.scenarios import SCENARIOS
from engine.sim.stream import truth_json, wits_bytes
from tui.commands.common import parse_time

STEP_S = 600.0
"""A file is made in pieces of this length. [s]"""


def run(args: argparse.Namespace) -> int:
    """List the scenarios, write a file, or send in real time."""
    if args.list:
        width = max(map(len, SCENARIOS))
        for name, scenario in SCENARIOS.items():
            print(f"{name:<{width}}  {scenario.text}")
        return 0
    if args.scenario is None:
        raise InputError("simulate: name a scenario; kellydown simulate --list names them")
    if not args.hours > 0:
        raise InputError(f"simulate: --hours must be above 0, got {args.hours:g}")
    if args.seed < 0:
        raise InputError(f"simulate: --seed must be 0 or more, got {args.seed}")
    config = (
        load_well(args.well)[0] if args.well else parse_well(example_text(), "built-in well file")
    )
    if args.port:
        from adapters.sim_line import send

        rig = Rig(config, args.scenario, args.seed, time.time())
        print(f"sending {args.scenario} to {args.port}; Ctrl+C ends it", file=sys.stderr)
        send(rig, args.hours * 3600.0, args.port, args.baud)
        return 0
    if not args.out:
        raise InputError("simulate: give --out FILE.wits or --port PORT")
    return _file(config, args)


def _file(config: WellConfig, args: argparse.Namespace) -> int:
    start = parse_time(args.start)
    assert start is not None  # it has a default
    out = Path(args.out)
    truth = out.with_suffix(".truth.json")
    for path in (out, truth):
        if path.exists():
            raise InputError(f"{path}: exists already; nothing was written")
    rig = Rig(config, args.scenario, args.seed, start)
    chunks: list[Chunk] = []
    left = args.hours * 3600.0
    with out.open("xb") as file:
        while left > 0:
            chunks.append(rig.advance(min(left, STEP_S)))
            left -= STEP_S
            for _, data in wits_bytes(chunks[-1]):
                file.write(data)
    text = json.dumps(truth_json(rig, chunks), allow_nan=False)
    truth.write_text(text, encoding="utf-8")
    print(f"{out}: {out.stat().st_size} bytes; truth in {truth}")
    return 0
