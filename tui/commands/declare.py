"""``kellydown declare``: mud that will come into the active pits, or leave them, on purpose."""

from __future__ import annotations

import argparse
import re
from contextlib import closing
from math import isfinite

from engine.commands import DeclareTransfer
from engine.errors import InputError
from tui.commands.calc import find_unit
from tui.commands.common import open_recording
from tui.commands.posting import must_be_watched, post_and_wait

_AMOUNT = re.compile(r"([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(\S+)")
_EXAMPLE = {"volume": "5m3 or -30bbl", "flow": "10l/s or 4bbl/min"}


def run(args: argparse.Namespace) -> int:
    """Post it to the watch, wait until it is kept, and say so."""
    who = args.by.strip()
    if not who:
        raise InputError("declare: --by NAME: write who declares it")
    said = command_of(args.what, args.volume, args.flow, args.minutes)
    with closing(open_recording(args.recording)) as recording:
        must_be_watched(recording)
        post_and_wait(recording, said, who, "kellydown review")
    print(f"{said.what}: declared by {who}")
    return 0


def command_of(what: str, volume: str, flow: str, minutes: float) -> DeclareTransfer:
    """Return the command of what was typed; `InputError` says what is wrong with it."""
    what = what.strip()
    if not what:
        raise InputError('declare: --what: write from and to, such as "reserve to active"')
    came, rate = _amount("volume", volume), _amount("flow", flow)
    if came == 0:
        raise InputError("declare: --volume: must not be 0; out of the active pits is negative")
    if rate <= 0:
        raise InputError(f"declare: --flow {flow}: must be above 0; the way is in the volume")
    takes = abs(came) / rate / 60
    if not isfinite(minutes) or takes > minutes:
        raise InputError(
            f"declare: --minutes {minutes:g}: at this flow it takes {takes:.0f} min; give more"
        )
    return DeclareTransfer(what, came, rate, minutes)


def _amount(quantity: str, text: str) -> float:
    match = _AMOUNT.fullmatch(text.strip())
    unit = find_unit(match[2], quantity) if match else None
    if match is None or unit is None:
        raise InputError(
            f"declare: --{quantity} {text}: write a {quantity} with its unit: {_EXAMPLE[quantity]}"
        )
    return unit.to_si(float(match[1]))
