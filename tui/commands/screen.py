"""Put a recording on the screen; the commands that end in a screen share this."""

from __future__ import annotations

import argparse
import sys
import time
from contextlib import closing

from adapters.horn import Horn
from adapters.horn_outputs import Bell, outputs_of
from adapters.paths import data_folder
from adapters.watch_process import WatchProcess
from engine.commands import StopWatch
from engine.config_horn import HornConfig
from engine.errors import InputError
from engine.records.journal import iso
from tui.commands.common import config_of, open_recording, parse_time, person, station


def ready(args: argparse.Namespace) -> None:
    """Look whether there can be a screen, before a watch is started for it.

    Raises
    ------
    InputError
        If there is no terminal, or no theme of that name.
    """
    from tui.app import raise_unknown_theme
    from tui.theme import PALETTES

    if args.theme and args.theme not in PALETTES:
        raise_unknown_theme(args.theme)
    # Where the screen reads its keys, and where it draws.
    drawn_on = sys.__stdout__ if sys.platform == "win32" else sys.__stderr__
    if not all(stream is not None and stream.isatty() for stream in (sys.__stdin__, drawn_on)):
        raise InputError(
            "a screen needs a terminal, and this is none; run it in a terminal window "
            "(record, review, export, import and simulate need none)"
        )


def watch_and_show(watch: WatchProcess, args: argparse.Namespace) -> int:
    """Show a watch that was just started; stop it if the person at the screen says so."""
    if show(str(watch.recording), args, owns_watch=True) == "stop":
        if watch.process.poll() is None:
            with closing(open_recording(str(watch.recording))) as recording:
                recording.post(StopWatch(), person(args.who), station())
            watch.stop_hard()
        print(f"The watch has ended. The recording is {watch.recording}")
    else:
        print(f"The watch goes on (process {watch.process.pid}); see it again with:")
        print(f"  kellydown attach {watch.recording}")
    return 0


def show(path: str, args: argparse.Namespace, *, owns_watch: bool) -> str:
    """Follow a recording on the screen until the person leaves; return "stop" or "leave"."""
    from tui.app import MonitorApp
    from tui.follow import Follower

    with closing(open_recording(path)) as recording:
        config = config_of(recording.meta())
        source = Follower(recording, config, time.time)
        with closing(spare_horn(config.horn)) as spare:
            app = MonitorApp(
                source,
                who=person(args.who),
                station=station(),
                ascii_only=args.ascii,
                theme_name=args.theme,
                owns_watch=owns_watch,
                spare=spare,
            )
            return app.run() or "leave"


def spare_horn(config: HornConfig) -> Horn:
    """Return a horn of all outputs but the bell, which is the screen's own."""
    outputs = outputs_of(config, data_folder() / "horn")
    return Horn([output for output in outputs if not isinstance(output, Bell)])


def show_replay(args: argparse.Namespace) -> int:
    """Play a recording on the screen."""
    from tui.app import MonitorApp
    from tui.replay import ReplayFollower

    with closing(open_recording(args.recording)) as recording:
        span = recording.span()
        if span is None:
            raise InputError(f"{args.recording}: holds no row yet; nothing to replay")
        config = config_of(recording.meta())
        source = ReplayFollower(recording, config, time.monotonic)
        at = parse_time(args.at, span[0])
        if at is not None:
            if not span[0] - 60.0 <= at <= span[1] + 60.0:
                raise InputError(
                    f"replay: nothing was recorded at {iso(at)}; "
                    f"the recording runs from {iso(span[0])} to {iso(span[1])}"
                )
            source.seek(at)
        source.set_speed(args.speed)
        ready(args)
        MonitorApp(
            source,
            who=person(args.who),
            station=station(),
            ascii_only=args.ascii,
            theme_name=args.theme,
        ).run()
    return 0
