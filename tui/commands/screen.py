"""Put a recording on the screen; the commands that end in a screen share this."""

from __future__ import annotations

import argparse
import time
from contextlib import closing

from adapters.watch_process import WatchProcess
from engine.commands import StopWatch
from engine.errors import InputError
from tui.commands.common import config_of, open_recording, parse_time, person, station


def watch_and_show(watch: WatchProcess, args: argparse.Namespace) -> int:
    """Show a watch that was just started; stop it if the person at the screen says so."""
    if show(str(watch.recording), args, owns_watch=True) == "stop":
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
        meta = recording.meta()
        config = config_of(meta).model_copy(update={"synthetic": meta["synthetic"] == "1"})
        source = Follower(recording, config, time.time)
        app = MonitorApp(
            source,
            who=person(args.who),
            station=station(),
            ascii_only=args.ascii,
            theme_name=args.theme,
            owns_watch=owns_watch,
        )
        return app.run() or "leave"


def show_replay(args: argparse.Namespace) -> int:
    """Play a recording on the screen."""
    from tui.app import MonitorApp
    from tui.replay import ReplayFollower

    with closing(open_recording(args.recording)) as recording:
        meta, span = recording.meta(), recording.span()
        if span is None:
            raise InputError(f"{args.recording}: holds no row yet; nothing to replay")
        config = config_of(meta).model_copy(update={"synthetic": meta["synthetic"] == "1"})
        source = ReplayFollower(recording, config, time.monotonic)
        at = parse_time(args.at, span[0])
        if at is not None:
            source.seek(at)
        source.set_speed(args.speed)
        MonitorApp(
            source,
            who=person(args.who),
            station=station(),
            ascii_only=args.ascii,
            theme_name=args.theme,
        ).run()
    return 0
