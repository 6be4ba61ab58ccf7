"""``kellydown evaluate``: how good the detectors are, measured on the synthetic rig."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from importlib import metadata
from multiprocessing import get_context
from pathlib import Path
from signal import SIG_IGN, SIGINT, signal

from adapters.frozen_settings import code_hash, freeze, frozen_hash
from adapters.wits0 import from_feed
from engine.config import WellConfig
from engine.detect.detectors import detectors
from engine.errors import InputError
from engine.interfaces import Decoder
from engine.score.freeze import settings_hash
from engine.score.page import Made, page
from engine.score.plan import KINDS, REPORTING, Case, Wanted, cases
from engine.score.play import Played, play
from engine.score.report import report
from engine.sim.noise import CLASSES
from tui.commands.common import new_file, well_of

DEFAULT_SEEDS = range(REPORTING[0], REPORTING[0] + 21)
"""Three tours of each class of noise."""
SECONDS_AN_HOUR = 0.9
"""One core needs so long for an hour of the synthetic rig and the engine, about. [s]"""
FULL = "kellydown evaluate --seeds 10000-10103 --runs 5 --noise calm flume --usual-rig-only"
"""104 clean tours of the sensors that targets are set for: with up to four false calls, below 0.1
in 12 h is shown."""


def run(args: argparse.Namespace) -> int:
    """Run the plan and write the page, or freeze the thresholds."""
    config, _ = well_of(None)
    running = settings_hash(config.detect)
    if args.freeze:
        freeze(running)
        print(f"frozen: {running}")
        return 0
    wanted = Wanted(
        seeds=args.seeds or DEFAULT_SEEDS,
        runs=args.runs,
        hours=args.hours,
        noise=tuple(args.noise or CLASSES),
        kinds=tuple(k.replace("-", "_") for k in args.kinds) if args.kinds else KINDS,
        others=not args.usual_rig_only,
    )
    targets = {name: _target(name, args.force) for name in (args.json, args.out) if name}
    if args.json and args.json == args.out:
        raise InputError("evaluate: --json and --out name one file; give two")
    plan = cases(wanted)
    workers = args.workers or os.cpu_count() or 1
    _announce(plan, workers)
    built = [kind for d in detectors(config) for kind in d.kinds]
    made = Made(
        _command(args), metadata.version("kellydown"), running, frozen_hash(), code_hash()
    )  # fmt: skip
    found = report(_play_all(plan, workers), wanted, built)
    text = page(found, made)
    if args.json:
        whole = found | {
            "command": made.command, "program": made.program, "settings_sha256": made.settings,
            "frozen_sha256": made.frozen, "frozen": made.is_frozen, "code_sha256": made.code,
        }  # fmt: skip
        targets[args.json].write_text(
            json.dumps(whole, allow_nan=False, indent=1) + "\n", encoding="utf-8"
        )
    if args.out:
        targets[args.out].write_text(text, encoding="utf-8")
    else:
        print(text, end="")
    return 0


def _target(name: str, force: bool) -> Path:
    path = Path(name)
    if force and path.is_dir():
        raise InputError(f"{path}: is a folder; name a file")
    return path if force and path.parent.is_dir() else new_file(name)


def _announce(plan: Sequence[Case], workers: int) -> None:
    hours = sum(case.seconds() for case in plan) / 3600.0
    minutes = hours * SECONDS_AN_HOUR / 60.0 / workers
    tours = sum(case.role == "clean" for case in plan)
    print(
        f"evaluate: {tours} tours and trips without trouble and {len(plan) - tours} "
        f"runs of events and twins, {hours:.0f} h in all;\nabout {minutes:.0f} min with "
        f"{workers} process{'' if workers == 1 else 'es'}. A full report: {FULL}\n"
        f"({_full_hours():.0f} h, about {_full_hours() * SECONDS_AN_HOUR / 60 / workers:.0f} min)",
        file=sys.stderr,
    )


def _full_hours() -> float:
    full = Wanted(range(10000, 10104), runs=5, noise=("calm", "flume"), others=False)
    return sum(case.seconds() for case in cases(full)) / 3600.0


def _play_all(plan: Sequence[Case], workers: int) -> list[Played]:
    """Play every case; the results are in the order of the plan, however many processes."""
    whole = sum(case.seconds() for case in plan)
    done, said, began = 0.0, 0, time.monotonic()
    out: dict[int, Played] = {}
    for place, played in _played(plan, workers):
        out[place] = played
        done += played.seconds
        if (part := int(20 * done / whole)) > said:
            said = part
            left = (time.monotonic() - began) * (whole / done - 1) / 60.0
            print(
                f"evaluate: {len(out)} of {len(plan)} runs, {5 * part} %, about "
                f"{left:.1f} min left",
                file=sys.stderr,
            )
    return [out[place] for place in range(len(plan))]


def _played(plan: Sequence[Case], workers: int) -> Iterator[tuple[int, Played]]:
    if workers == 1:
        for place, case in enumerate(plan):
            yield place, _one(case)
        return
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _deaf)
    try:
        places = {pool.submit(_one, case): place for place, case in enumerate(plan)}
        for future in as_completed(places):
            yield places[future], future.result()
    finally:
        pool.shutdown(cancel_futures=True)


def _deaf() -> None:
    """Let Ctrl+C end the parent alone, which then lets its processes go."""
    signal(SIGINT, SIG_IGN)


def _one(case: Case) -> Played:
    try:
        return play(case, well_of(None)[0], _decoder)
    except Exception as error:
        error.add_note(f"evaluate: in {case}")
        raise


def _decoder(config: WellConfig) -> Decoder:
    return from_feed(config.feeds[0])


def _command(args: argparse.Namespace) -> str:
    """Return the command that makes the same report, whatever the files are called."""
    seeds = args.seeds or DEFAULT_SEEDS
    words = ["kellydown evaluate", f"--seeds {seeds[0]}-{seeds[-1]}", f"--runs {args.runs}",
             f"--hours {args.hours:g}"]  # fmt: skip
    words += [f"--noise {' '.join(args.noise)}"] if args.noise else []
    words += [f"--kinds {' '.join(args.kinds)}"] if args.kinds else []
    words += ["--usual-rig-only"] if args.usual_rig_only else []
    return " ".join(words)
