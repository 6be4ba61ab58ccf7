"""The program on the screen: joins what it follows, the tick, the page and the commands."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, tzinfo
from functools import partial
from typing import ClassVar

from textual.app import App
from textual.binding import BindingType

from engine.alarms.entries import command_name
from engine.commands import Command, HornTest, Silence, SoundHorn
from engine.errors import RigError
from engine.snapshot import Snapshot, WatchView
from tui.fold import Fold
from tui.follow import Source
from tui.format import Formatter
from tui.glyphs import Glyphs, choose
from tui.replay import ReplayFollower
from tui.screens.horn import HornPage
from tui.screens.monitor import Monitor
from tui.screens.over import Over
from tui.screens.page import caution, help_page, leaving
from tui.sound import Sound, Spare
from tui.theme import LANTERN, PALETTES
from tui.tick import INTERVAL_S, Reader, Tick
from tui.widgets.lines import Look

COVERED_S = 1.0
"""Between pictures under a page: each of them paints the whole terminal. [s]"""


class MonitorApp(App[str]):
    """The monitor; `run` gives "leave" or "stop" (the watch this screen started).

    Parameters
    ----------
    follower : Source
        What to show: a `Follower` or a `ReplayFollower`.
    who, station : str
        Written beside every command.
    glyphs : Glyphs, optional
        Characters to draw with; chosen from the terminal if not given.
    ascii_only : bool
        Plain characters, whatever the terminal can do.
    theme_name : str
        Of `tui.theme.PALETTES`; empty: the dark one.
    owns_watch : bool
        Leaving may stop the watch.
    accepted : bool
        This sign-on is done: the caution was read and accepted, the horn was heard.
    spare : Spare, optional
        Sounds when the watch, which sounds the horn otherwise, is there no more.
    zone : tzinfo
        Zone of the clock on the wall.
    clock : callable
        Seconds that only go forward.
    """

    BINDINGS: ClassVar[list[BindingType]] = []
    ENABLE_COMMAND_PALETTE = False
    TITLE = "kellydown"

    def __init__(
        self,
        follower: Source,
        who: str,
        station: str,
        *,
        glyphs: Glyphs | None = None,
        ascii_only: bool = False,
        theme_name: str = "",
        owns_watch: bool = False,
        accepted: bool = False,
        spare: Spare | None = None,
        zone: tzinfo = UTC,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__()
        self._source = follower
        self._who, self._station = who, station
        self._owns_watch, self._accepted = owns_watch, accepted
        self._clock = clock
        self._palette = PALETTES.get(theme_name, LANTERN)
        if theme_name and theme_name not in PALETTES:
            raise_unknown_theme(theme_name)
        stream = sys.__stderr__
        encoding = stream.encoding if stream else None
        config = follower.config
        self._look = Look(
            styles=self._palette.styles(),
            glyphs=glyphs or choose(os.environ.get("TERM", ""), encoding, plain=ascii_only),
            fmt=Formatter(config.display_units(), zone),
            stand_length=config.rig.stand_length,
            place=f"{config.well}, {config.rig.name}",
        )
        unseen = WatchView(
            False, float("inf"), synthetic=config.synthetic, problem="reading the recording ..."
        )
        self._empty = Fold(config).snapshot(0.0, unseen, ())
        self._newest = self._empty
        self._reader = Reader()
        self._tick = Tick(self, self._reader, follower.poll, self.show, clock, self._empty)
        self.monitor = Monitor(self._look, clock, self._empty)
        self._painted_at = float("-inf")
        self._sound = Sound(config.horn, self._ring, clock, spare, heard=accepted or None)
        self._told: object = None
        """What the last picture told of alarms and watch."""
        self._was_alive = False
        self._hushed = False
        """The person silenced the bell for a watch that stopped."""
        for palette in PALETTES.values():
            self.register_theme(palette.textual())
        self.theme = self._palette.name

    async def on_mount(self) -> None:
        """Open the page, the caution over it, and start the tick."""
        await self.push_screen(self.monitor)
        if not self._accepted:
            await self.push_screen(caution(), self._cautioned)
        self.set_interval(INTERVAL_S, self._tick.run)
        self._tick.run()

    def on_unmount(self) -> None:
        """Let the reading thread end."""
        self._reader.close()

    def _cautioned(self, result: str | None) -> None:
        if result != "yes":
            self.exit("leave")
        elif not isinstance(self._source, ReplayFollower):
            self._test_horn()

    def show(self, snapshot: Snapshot) -> None:
        """Show `snapshot` and ring if it is time; a replay shows its horn but makes no sound."""
        watch = snapshot.watch
        if watch.alive:
            self._was_alive, self._hushed = True, False
        else:
            lost = (self._was_alive or snapshot.horn) and not watch.ended
            snapshot = replace(snapshot, horn=lost and not self._hushed)
        self._newest = snapshot = replace(snapshot, sound=self._sound.view(snapshot))
        self._paint(snapshot)
        self._sound.follow(snapshot)

    def _ring(self) -> None:
        self.bell()

    def _paint(self, snapshot: Snapshot) -> None:
        """Hand over to the page; under another page only now and then, or when alarms change."""
        told = (snapshot.alarms, snapshot.horn, snapshot.watch.alive, snapshot.sound)
        covered = self.screen is not self.monitor
        if isinstance(self.screen, HornPage):
            self.screen.say(self._sound.said(snapshot))
        if covered and told == self._told and self._clock() - self._painted_at < COVERED_S:
            return
        self._told, self._painted_at = told, self._clock()
        self.monitor.show(snapshot)

    # what the page asks for

    async def on_monitor_issued(self, message: Monitor.Issued) -> None:
        """Post a command; say what became of it."""
        self.run_worker(self._post(message.command), exclusive=False)

    def on_over_urgent(self, message: Over.Urgent) -> None:
        """Acknowledge or silence from a page or form."""
        if message.what == "silence":
            self.monitor.action_silence()
        else:
            self.monitor.action_acknowledge()

    async def _post(self, command: Command) -> None:
        name = command_name(command).replace("_", " ")
        if isinstance(command, Silence) and not self._newest.watch.alive:
            self._hushed = True
            self.monitor.say("silence: this screen rings no more for the watch that is not there")
            return
        post = partial(self._source.post, command, self._who, self._station)
        try:
            await asyncio.wait_for(self._reader.ask(post), timeout=5.0)
        except RigError as error:
            self.monitor.say(f"{name}: not done: {error}", "changed")
        except TimeoutError:
            self.monitor.say(f"{name}: the recording does not answer; try again", "changed")
        else:
            late = "" if self._newest.watch.alive else "; no watch is running to do it"
            role = "changed" if late else "strong"
            self.monitor.say(f"{name}: sent to the watch{late}", role)

    async def on_monitor_transport(self, message: Monitor.Transport) -> None:
        """Move the replay."""
        self.run_worker(self._move(message.what, message.by), exclusive=False)

    async def _move(self, what: str, by: float) -> None:
        source = self._source
        if not isinstance(source, ReplayFollower):
            return
        calls: dict[str, Callable[[], object]] = {
            "toggle": source.toggle,
            "gear": partial(source.gear, int(by)),
            "step": partial(source.step, int(by)),
            "event": partial(source.event, int(by)),
            "seek": partial(source.seek, by),
        }
        try:
            moved = await self._reader.ask(calls[what])
            self.show(await self._reader.ask(source.poll))
        except RigError as error:
            self.monitor.say(str(error), "changed")
            return
        if moved is False:
            self.monitor.say("no further event that way")

    def on_monitor_wanted(self, message: Monitor.Wanted) -> None:
        """Open a page, change the theme or leave."""
        replay = isinstance(self._source, ReplayFollower)
        if message.what == "help":
            self.push_screen(help_page(replay=replay, config=self._source.config))
        elif message.what == "horn":
            self._test_horn()
        elif message.what == "theme":
            names = list(PALETTES)
            following = names[(names.index(self._palette.name) + 1) % len(names)]
            self._palette = PALETTES[following]
            self.theme = following
            self._look = Look(
                self._palette.styles(), self._look.glyphs, self._look.fmt,
                self._look.stand_length, self._look.place,
            )  # fmt: skip
            self.monitor.use(self._look)
        elif replay:
            self.exit("leave")
        else:
            self.push_screen(leaving(owns_watch=self._owns_watch), self._left)

    def _test_horn(self) -> None:
        """Sound everything once and ask whether it was heard."""
        watch = self._newest.watch
        if watch.replay or watch.ended:
            self.monitor.say("the horn is for a watch that runs: here it makes no sound", "changed")
            return
        if self._sound.test(self._newest):
            self.run_worker(self._post(SoundHorn()), exclusive=False)
        page = HornPage(self._sound.said(self._newest), self._look.glyphs.text)
        self.push_screen(page, self._heard)

    def _heard(self, result: str | None) -> None:
        if result == "again":
            self._test_horn()
        elif result in ("yes", "no"):
            heard = result == "yes"
            said = "; ".join(self._sound.said(self._newest))
            self._sound.heard = heard
            self.run_worker(self._post(HornTest(heard, said)), exclusive=False)

    def _left(self, result: str | None) -> None:
        if result:
            self.exit(result)


def raise_unknown_theme(name: str) -> None:
    """Say which themes there are."""
    from engine.errors import InputError

    raise InputError(f"theme: there is no {name!r}; use {' or '.join(PALETTES)}")
