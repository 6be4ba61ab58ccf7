"""``kellydown samples``: which cuttings samples have come up, and when the next one will."""

from __future__ import annotations

import argparse
import json
import re
from contextlib import closing
from math import isfinite

from engine.errors import InputError
from engine.records.samples import as_json, sample_schedule
from engine.records.samples_text import samples_text
from tui.commands.calc import find_unit
from tui.commands.common import config_of, open_recording

_LENGTH = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*(\D*)")


def run(args: argparse.Namespace) -> int:
    """Print the sample schedule at the end of a recording."""
    every = parse_length(args.every)
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        schedule = sample_schedule(recording, config, every)
    if args.json:
        print(json.dumps(as_json(schedule, args.recording), allow_nan=False, indent=1))
    else:
        print(samples_text(schedule, config), end="")
    return 0


def parse_length(text: str) -> float:
    """Return a length as typed, such as ``5m`` or ``15ft``; `InputError` if it is none. [m]"""
    match = _LENGTH.fullmatch(text.strip())
    unit = find_unit(match[2].strip(), "length") if match else None
    if match is None or unit is None or not (isfinite(float(match[1])) and float(match[1]) > 0):
        raise InputError(f"--every {text}: write a length above 0 with its unit: 5m or 15ft")
    return unit.to_si(float(match[1]))
