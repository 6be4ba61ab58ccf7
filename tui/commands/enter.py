"""``kellydown enter``: a slip of the line, a signed crown check, a renewed part of a pump."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from contextlib import closing

from engine.commands import Command, CrownCheck, MarkPump, SlipLine
from engine.config import WellConfig
from engine.errors import InputError
from engine.records.upkeep import refusal
from tui.commands.calc import find_unit
from tui.commands.common import config_of, open_recording
from tui.commands.posting import must_be_watched, post_and_wait

TAKES: Mapping[str, tuple[str, ...]] = {
    "slip": ("length", "cut", "reason"),
    "crown-check": (),
    "pump": ("pump", "what"),
}
"""What is entered to the words it takes."""
EXAMPLE = {"slip": "length=12m cut=24m", "pump": "pump=1 what=liner"}
_LENGTH = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*(\D*)")


def run(args: argparse.Namespace) -> int:
    """Post it to the watch, wait until it is kept, and say so."""
    who = args.by.strip()
    if not who:
        raise InputError(f"enter {args.what}: --by WHO: write who enters it")
    words = _words(args.what, args.words)
    with closing(open_recording(args.recording)) as recording:
        must_be_watched(recording)
        command = command_of(args.what, words, config_of(recording.meta()))
        post_and_wait(recording, command, who, "kellydown wear")
    print(f"{args.what}: entered by {who}")
    return 0


def command_of(what: str, words: Mapping[str, str], config: WellConfig) -> Command:
    """Return the command of what was typed; `InputError` says what is wrong with it."""
    command: Command
    if what == "slip":
        length = _length(words, "length")
        cut = _length(words, "cut") if "cut" in words else 0.0
        command = SlipLine(length, cut, words.get("reason", ""))
    elif what == "pump":
        if missing := [name for name in TAKES[what] if name not in words]:
            raise InputError(f"enter pump: {missing[0]} is missing: {EXAMPLE[what]}")
        command = MarkPump(words["pump"], words["what"])
    else:
        command = CrownCheck()
    if why := refusal(command, config).get("refused"):
        raise InputError(f"enter {what}: {why}")
    return command


def _words(what: str, typed: list[str]) -> dict[str, str]:
    words: dict[str, str] = {}
    for word in typed:
        name, equals, text = word.partition("=")
        if not equals or name not in TAKES[what]:
            takes = ", ".join(f"{one}=" for one in TAKES[what]) or "nothing more"
            raise InputError(f"enter {what}: {word}: it takes {takes}")
        if name in words:
            raise InputError(f"enter {what}: {name} is given twice")
        words[name] = text.strip()
    return words


def _length(words: Mapping[str, str], name: str) -> float:
    text = words.get(name)
    if text is None:
        raise InputError(f"enter slip: {name} is missing: {EXAMPLE['slip']}")
    match = _LENGTH.fullmatch(text)
    unit = find_unit(match[2].strip(), "length") if match else None
    if match is None or unit is None:
        raise InputError(f"enter slip: {name}={text}: write a length with its unit: 12m or 40ft")
    return unit.to_si(float(match[1]))
