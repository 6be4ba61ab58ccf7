"""``kellydown trial`` and ``kellydown trials``: tests and drills, their criteria and verdicts."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Mapping, Sequence
from contextlib import closing

from engine.commands_trial import EndTrial, MarkTrial, OverrideTrial, StartTrial, TrialCommand
from engine.errors import InputError
from engine.records.trial_log import trials_between, trials_text
from engine.trials.criteria import complete
from engine.trials.drill import MOMENTS
from engine.trials.kinds import TRIALS
from tui.commands.calc import find_unit
from tui.commands.common import config_of, open_recording
from tui.commands.posting import must_be_watched, post_and_wait

_AMOUNT = re.compile(r"([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(\S*)")
_EXAMPLE = {
    "time": "10min", "pressure": "50psi", "volume": "1bbl", "flow": "0.05bbl/min", "ratio": "10%",
}  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Post it to the watch, wait until it is kept, and say so."""
    who = args.by.strip()
    if not who:
        raise InputError(f"trial {args.trial}: --by NAME: write who says so")
    command = command_of(args.trial, args.words)
    with closing(open_recording(args.recording)) as recording:
        must_be_watched(recording)
        post_and_wait(recording, command, who, "kellydown trials")
    print(f"{args.trial}: written down by {who}; see kellydown trials")
    return 0


def run_all(args: argparse.Namespace) -> int:
    """Print the tests and drills of a recording."""
    with closing(open_recording(args.recording)) as recording:
        found = trials_between(recording.journal())
        config = config_of(recording.meta())
    if args.json:
        print(json.dumps(found, allow_nan=False, indent=1))
    else:
        print(trials_text(found, config), end="")
    return 0


def command_of(name: str, typed: Sequence[str]) -> TrialCommand:
    """Return the command of what was typed; `InputError` says what is wrong with it."""
    if name in TRIALS:
        return _start(name, _words(name, typed))
    if name in MOMENTS:
        _words(name, typed, ())
        return MarkTrial(name)
    if name == "end":
        return EndTrial(_words(name, typed, ("note",)).get("note", ""))
    if name == "override":
        words = _words(name, typed, ("reason", "second"))
        if missing := [key for key in ("reason", "second") if not words.get(key)]:
            raise InputError(f"trial override: {missing[0]}= is missing: {_OVERRIDE}")
        return OverrideTrial(words["reason"], words["second"])
    known = ", ".join((*TRIALS, *MOMENTS, "end", "override"))
    raise InputError(f"trial: no {name!r}; give one of {known}")


_OVERRIDE = 'write reason="..." and the second person who answers for it, second=NAME'


def _start(name: str, words: Mapping[str, str]) -> StartTrial:
    listed = {one.name: one for one in TRIALS[name].criteria}
    given = {}
    for key, text in words.items():
        if key in ("watch", "what"):
            continue
        if key not in listed:
            raise InputError(f"trial {name}: no criterion {key!r}; it takes {', '.join(listed)}")
        quantity = listed[key].quantity
        match = _AMOUNT.fullmatch(text)
        unit = find_unit(match[2], quantity) if match and match[2] else None
        if match is None or unit is None:
            raise InputError(
                f"trial {name}: {key}={text}: write a number with its unit: {_EXAMPLE[quantity]}"
            )
        given[key] = unit.to_si(float(match[1]))
    complete(name, TRIALS[name].criteria, given)
    return StartTrial(
        name, given, " ".join(words.get("watch", "").split(",")), words.get("what", "")
    )


def _words(name: str, typed: Sequence[str], takes: Sequence[str] | None = None) -> dict[str, str]:
    words: dict[str, str] = {}
    for word in typed:
        key, equals, text = word.partition("=")
        if not equals or (takes is not None and key not in takes):
            listed = "criterion=value" if takes is None else ", ".join(f"{t}=" for t in takes)
            raise InputError(f"trial {name}: {word}: it takes {listed or 'nothing more'}")
        if key in words:
            raise InputError(f"trial {name}: {key} is given twice")
        words[key] = text.strip()
    return words
