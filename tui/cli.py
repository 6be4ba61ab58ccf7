"""The command line: the only place that joins config, adapters, engine and screens."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module, metadata
from io import TextIOWrapper
from textwrap import fill

from engine.errors import InputError, RigError
from tui.arguments import OF_TOUR_OR_WELL, above_zero, baud, not_negative, out_and_copy, seed
from tui.evaluate_options import evaluate_options
from tui.trial_options import trial_options

OK, PROBLEM, BAD_USE = 0, 1, 2
"""Exit codes: all well, a problem was found, the command was used wrongly."""

CAUTION = (
    "kellydown is an additional aid, not a safety system and not the only alarm. Local rules, "
    "approved well-control procedures and licensed practice come first."
)


_FORMAT = argparse.RawDescriptionHelpFormatter  # keeps the layout of the examples


def _screen_options(parser: argparse.ArgumentParser, *, top: bool = False) -> None:
    """Add what every screen takes; given before a command it holds for that command as well."""

    def default(value: object) -> object:
        return value if top else argparse.SUPPRESS

    parser.add_argument("--who", default=default(""), help="name written beside your commands")
    parser.add_argument("--ascii", action="store_true", default=default(False),
                        help="plain characters only")  # fmt: skip
    parser.add_argument("--theme", default=default(""),
                        help="colour theme: see the screen's help page")  # fmt: skip


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    top = argparse.ArgumentParser(
        prog="kellydown",
        formatter_class=_FORMAT,
        description="A full-screen monitor for the rig floor.\n"
        "Without a command: the built-in synthetic well, live on the screen.",
        epilog="example:\n  kellydown\n\nexit codes: 0 all well, 1 a problem was found, "
        f"2 the command was used wrongly\n\n{fill(CAUTION, 78)}",
    )
    top.add_argument("--version", action="version", version=metadata.version("kellydown"))
    top.add_argument("--seed", type=seed, default=1, help="of the synthetic well (default 1)")
    _screen_options(top, top=True)
    top.set_defaults(run="demo:run")
    commands = top.add_subparsers(metavar="COMMAND")

    def add(name: str, run: str, text: str, example: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(
            name,
            help=text,
            description=text,
            epilog=f"example:\n  kellydown {example}",
            formatter_class=_FORMAT,
        )
        sub.set_defaults(run=run)
        return sub

    def page(name: str, text: str) -> None:
        """Add a page about a recording."""
        sub = add(name, f"{name.replace('-', '_')}:run", text, f"{name} tour.kdrec")
        sub.add_argument("recording")
        sub.add_argument("--json", action="store_true")

    live = add("live", "live:run", "watch and screen on the feeds of a well file",
               "live --well emberholt.toml")  # fmt: skip
    _well(live)
    out_and_copy(live, "recording to write (default: a new one in the data folder)")
    _screen_options(live)

    record = add("record", "record:run", "watch alone: one plain line per event on stdout",
                 "record --well emberholt.toml")  # fmt: skip
    _well(record, required=False)
    out_and_copy(record, "recording to write; one this well file made before is continued")
    record.add_argument("--scenario", help="watch the synthetic rig instead of the feeds")
    record.add_argument("--seed", type=seed, default=argparse.SUPPRESS)
    record.add_argument("--history-s", type=not_negative, default=0.0, metavar="S",
                        help="synthetic: seconds already past at the start")  # fmt: skip
    record.add_argument("--speed", type=above_zero, default=1.0,
                        help="synthetic: times real time")  # fmt: skip

    attach = add("attach", "attach:run", "screen on a recording that is being written",
                 "attach")  # fmt: skip
    attach.add_argument("recording", nargs="?", help="default: the newest in the data folder")
    _screen_options(attach)

    replay = add("replay", "replay:run", "screen on a finished recording, with play and seek",
                 "replay replays/granite.kdrec --speed 10")  # fmt: skip
    replay.add_argument("recording")
    replay.add_argument("--at", metavar="TIME", help="start here: ISO 8601, or HH:MM[:SS] UTC")
    replay.add_argument("--speed", type=above_zero, default=1.0, help="times real time")
    replay.add_argument("--check", action="store_true",
                        help="no screen: work everything out again from the recorded input "
                        "and compare rows and journal byte by byte")  # fmt: skip
    _screen_options(replay)

    importing = add("import", "importing:run", "files become a recording, by the live path",
                    "import tour.wits --well emberholt.toml --out tour.kdrec")  # fmt: skip
    importing.add_argument("files", nargs="+", metavar="FILE")
    _well(importing)
    importing.add_argument("--out", required=True, metavar="RECORDING")
    importing.add_argument("--feed", help="feed of the well file that describes the files "
                           "(default: the first)")  # fmt: skip

    review = add("review", "review:run", "states, connections, depths, alarms, events, gaps",
                 "review tour.kdrec --json --from 06:00 --to 18:00")  # fmt: skip
    review.add_argument("recording")
    review.add_argument("--json", action="store_true")
    review.add_argument("--from", dest="start", metavar="TIME", help="ISO 8601 or HH:MM[:SS] UTC")
    review.add_argument("--to", dest="end", metavar="TIME")

    samples = add("samples", "samples:run", "cuttings samples: come up when, or strokes to go",
                  "samples tour.kdrec --every 5m")  # fmt: skip
    samples.add_argument("recording")
    samples.add_argument("--every", required=True, metavar="LENGTH",
                         help="interval with its unit: 5m, 15ft")  # fmt: skip
    samples.add_argument("--json", action="store_true")

    connections = add("connections", "connections:run",
                      "how long each connection took, part by part, and each crew's tour",
                      "connections tour.kdrec --tour")  # fmt: skip
    connections.add_argument("recording")
    connections.add_argument("--json", action="store_true")
    connections.add_argument("--tour", action="store_true", help="statistics of each crew tour")

    page("stands", "each stand: length, connection, rate, weights; the tally")

    page("trip", "trip sheet: fill or return of each stand, with the fill card")
    page("tight-spots", "where the hole held the string, by depth")

    card = add("card", "card:run", "enter a kill sheet, MAASP, fill card, slow rate or standpipe "
               "reading on a running watch; without numbers: show the newest",
               "card slow-rate tour.kdrec pump=1 rate=30spm pressure=310psi density=9.2ppg "
               "--by Ines")  # fmt: skip
    card.add_argument("card", metavar="NAME", help="kill-sheet or maasp, each also -field or "
                      "-metric; fill-card, slow-rate, standpipe")  # fmt: skip
    card.add_argument("recording", metavar="FILE")
    card.add_argument("words", nargs="*", metavar="input=number",
                      help="each with its unit, or the id of a channel (no pressure)")  # fmt: skip
    card.add_argument("--by", default="", metavar="WHO", help="who enters it")

    cards = add("cards", "card:run_all", "posted cards with who, when and what makes them STALE",
                "cards tour.kdrec")  # fmt: skip
    cards.add_argument("recording", metavar="FILE")
    cards.add_argument("--well", metavar="WELL.toml",
                       help="well file in force now (default: that of the recording)")  # fmt: skip
    cards.add_argument("--json", action="store_true")

    page("wear", "pump hours, drilling-line work, crown check due or not")

    for name, text, of_tour, of_well in OF_TOUR_OR_WELL:
        sub = add(name, f"{name}:run", text, f"{name} --well emberholt.toml")
        sub.add_argument("recording", nargs="?", help=of_tour)
        sub.add_argument("--well", metavar="WELL.toml", help=of_well)
        sub.add_argument("--json", action="store_true")

    enter = add("enter", "enter:run", "on a running watch: a slip of the line, a crown check "
                "signed, a renewed part of a pump",
                "enter slip tour.kdrec length=12m cut=24m --by Ines")  # fmt: skip
    enter.add_argument("what", choices=["slip", "crown-check", "pump"])
    enter.add_argument("recording", metavar="FILE")
    enter.add_argument("words", nargs="*", metavar="name=value",
                       help="length=, cut=, reason= of a slip; pump=, what= of a pump")  # fmt: skip
    enter.add_argument("--by", default="", metavar="WHO", help="who enters it")

    declare = add("declare", "declare:run",
                  "on a running watch: mud that is moved or added is no gain, if it comes so",
                  'declare tour.kdrec --volume 5m3 --flow 10l/s --minutes 20 --by Ines '
                  '--what "reserve to active"')  # fmt: skip
    declare.add_argument("recording", metavar="FILE")
    declare.add_argument("--what", required=True, help="from and to")
    declare.add_argument(
        "--volume", required=True, help="into the active pits; out of them: --volume=-5m3"
    )
    declare.add_argument("--flow", required=True, help="how fast")
    declare.add_argument("--minutes", type=above_zero, required=True, help="over then, come or not")
    declare.add_argument("--by", default="", metavar="NAME", help="who declares it")

    prints = add("fingerprints", "fingerprints:run", "what came back after each stop of the pumps",
                 "fingerprints tour.kdrec")  # fmt: skip
    prints.add_argument("recording", metavar="FILE")
    prints.add_argument("--json", action="store_true")

    trial_options(add)

    export = add("export", "export:run", "raw and derived channels as a table, by time or depth",
                 "export tour.kdrec --format csv --out tour.csv")  # fmt: skip
    export.add_argument("recording")
    export.add_argument("--format", choices=["csv", "depth-csv"], default="csv",
                        help="a line a row, or a line a metre of new hole")  # fmt: skip
    export.add_argument("--out", required=True, metavar="FILE")
    export.add_argument("--force", action="store_true", help="replace an existing file")

    simulate = add("simulate", "simulate:run", "the synthetic stream as WITS level 0, with truth",
                   "simulate kick --seed 7 --hours 2 --out kick.wits")  # fmt: skip
    simulate.add_argument("scenario", nargs="?", help="see --list")
    simulate.add_argument("--list", action="store_true", help="list the scenarios")
    simulate.add_argument("--well", metavar="WELL.toml", help="rig to simulate (default: built in)")
    simulate.add_argument("--seed", type=seed, default=argparse.SUPPRESS)
    simulate.add_argument("--hours", type=above_zero, default=1.0)
    simulate.add_argument("--start", default="2026-03-14T06:00:00Z", help="ISO 8601 (--out only)")
    target = simulate.add_mutually_exclusive_group()
    target.add_argument("--out", metavar="FILE.wits", help="as fast as it goes; truth beside it")
    target.add_argument("--port", help="in real time onto a serial port or URL")
    simulate.add_argument("--baud", type=baud, default=9600)

    well = add("well", "well:run", "write or check a well file", "well init emberholt.toml")
    well.add_argument("action", choices=["init", "check"])
    well.add_argument("file", metavar="WELL.toml")

    calc = add("calc", "calc:run", "one calculation, its units in and out, and its source",
               "calc bit-hydraulics flow=500gpm density=10.5ppg bit_diameter=8.5in "
               "nozzle_1=14in32")  # fmt: skip
    calc.add_argument("words", nargs="*", metavar="NAME | input=number",
                      help="the calculation and its inputs, each with its unit")  # fmt: skip
    calc.add_argument("--list", action="store_true",
                      help="all calculations; with NAME, its inputs and results")  # fmt: skip
    calc.add_argument("--json", action="store_true")
    calc.add_argument("--units", choices=["metric", "oilfield"], default="metric",
                      help="of the results (default metric)")  # fmt: skip

    evaluate_options(
        add("evaluate", "evaluate:run", "how good the detectors are, on the synthetic rig",
            "evaluate --seeds 1-14 --kinds influx loss --out evaluation.md")
    )  # fmt: skip

    add("doctor", "doctor:run", "what works on this machine, and what to do about the rest",
        "doctor")  # fmt: skip
    return top


def _well(sub: argparse.ArgumentParser, *, required: bool = True) -> None:
    sub.add_argument("--well", required=required, metavar="WELL.toml")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; errors go to stderr in words, never as a traceback."""
    top = parser()
    args, more = top.parse_known_args(argv)
    if more and "words" in args and not any(word.startswith("-") for word in more):
        args.words += more  # argparse alone takes no words behind an option
    elif more:
        top.error(f"unrecognized arguments: {' '.join(more)}")
    module, function = args.run.split(":")
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a character the terminal lacks is no error
    try:
        run: Callable[[argparse.Namespace], int] = getattr(
            import_module(f"tui.commands.{module}"), function
        )
        code = run(args)
        sys.stdout.flush()
        return code
    except InputError as error:
        return _say(str(error), BAD_USE)
    except RigError as error:
        return _say(str(error), PROBLEM)
    except BrokenPipeError:
        # The reader of our stdout went away (`| head`); nothing is wrong.
        _let_go_of_stdout()
        return OK
    except OSError as error:
        _let_go_of_stdout()
        where = f"{error.filename}: " if error.filename else ""
        return _say(f"{where}{error.strerror or error}", PROBLEM)
    except KeyboardInterrupt:
        return _say("interrupted", PROBLEM)


def _say(words: str, code: int) -> int:
    with suppress(OSError):
        print(f"kellydown: {words}", file=sys.stderr)
    return code


def _let_go_of_stdout() -> None:
    """Send what is still unwritten nowhere, or Python would fail on it once more at its end."""
    with suppress(OSError, ValueError):
        out = sys.stdout.fileno()
        os.dup2(os.open(os.devnull, os.O_WRONLY), out)


if __name__ == "__main__":
    sys.exit(main())
