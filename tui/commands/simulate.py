"""``kellydown simulate``: the synthetic stream as a file with its truth, or onto a line."""

from __future__ import annotations

import argparse
import json
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from engine.errors import InputError
from engine.sim.rig import Chunk, Rig
from engine.sim.scenarios import SCENARIOS
from engine.sim.stream import truth_json, wits_bytes
from tui.commands.common import new_file, parse_time, well_of

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
    seconds = args.hours * 3600.0
    if seconds < 1.0:
        raise InputError(f"simulate: {args.hours:g} hours are less than one packet, a second")
    config, _ = well_of(args.well)
    if args.port:
        from adapters.sim_line import send

        rig = Rig(config, args.scenario, args.seed, time.time())
        print(f"sending {args.scenario} to {args.port}; Ctrl+C ends it", file=sys.stderr)
        with suppress(KeyboardInterrupt):
            send(rig, seconds, args.port, args.baud)
        return 0
    if not args.out:
        raise InputError("simulate: give --out FILE.wits or --port PORT")
    start = parse_time(args.start)
    assert start is not None  # it has a default
    out = new_file(args.out)
    truth = new_file(str(out.with_suffix(".truth.json")))
    rig = Rig(config, args.scenario, args.seed, start)
    with out.open("xb") as file:
        try:
            _write(rig, seconds, file, truth)
        except BaseException:  # Ctrl+C or a full disk: half a file is worse than none
            for path in (out, truth):
                path.unlink(missing_ok=True)
            raise
    print(f"{out}: {out.stat().st_size} bytes; truth in {truth}")
    return 0


def _write(rig: Rig, seconds: float, file: BinaryIO, truth: Path) -> None:
    chunks: list[Chunk] = []
    while seconds > 0:
        chunks.append(rig.advance(min(seconds, STEP_S)))
        seconds -= STEP_S
        for _, data in wits_bytes(chunks[-1]):
            file.write(data)
    file.flush()
    text = json.dumps(truth_json(rig, chunks), allow_nan=False)
    truth.write_text(text, encoding="utf-8")
