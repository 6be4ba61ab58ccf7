"""The one page of the program: what a driller needs in a second, in an order that stays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from engine.commands import Acknowledge, Command, Reset, SetSpeed, Silence
from engine.snapshot import Snapshot
from tui import second_copy
from tui.keys import REPLAY, SYNTHETIC_SPEEDS, VIEW, WATCH, RepeatGuard
from tui.screens import ask_volumes, asks
from tui.screens.form import Answers, Ask, Form
from tui.screens.layout import CSS, SIZES, SMALLEST, refusal
from tui.screens.page import details, watched_page
from tui.screens.sight import sight_page
from tui.widgets.alarm_list import AlarmList
from tui.widgets.balance import Balance
from tui.widgets.banner import Banner
from tui.widgets.big_values import BigValues, tiles
from tui.widgets.depth import Depth
from tui.widgets.feeds import Feeds, feed_lines
from tui.widgets.key_line import KeyLine
from tui.widgets.limits import Limits, limit_rows
from tui.widgets.lines import Lines, Look
from tui.widgets.log import Log
from tui.widgets.strip_chart import StripChart
from tui.widgets.values import Values

TURN_BACK_S = 30.0
"""The first values come back by themselves, so that they are where everybody looks. [s]"""


class Monitor(Screen[None]):
    """Lays out the widgets, hands them the snapshot, turns keys into messages."""

    BINDINGS: ClassVar[list[BindingType]] = [*WATCH, *VIEW, *REPLAY]
    DEFAULT_CSS = CSS

    @dataclass
    class Issued(Message):
        """A person gives a command to the watch."""

        command: Command

    @dataclass
    class Transport(Message):
        """A person moves the replay: toggle, gear, step, event or seek."""

        what: str
        by: float = 0.0

    @dataclass
    class Wanted(Message):
        """A person wants something of the app: help, theme, horn or leave."""

        what: str

    def __init__(self, look: Look, clock: Callable[[], float], snapshot: Snapshot) -> None:
        super().__init__()
        self._look = look
        self._clock = clock
        self._guard = RepeatGuard(clock)
        self._snapshot = snapshot
        self._turn_back: Timer | None = None

    def compose(self) -> ComposeResult:
        """State first, then what is wrong, then where the bit is, then everything else."""
        look = self._look
        with Vertical(id="all"):
            yield Banner(look, id="banner")
            with Horizontal(id="top"):
                yield AlarmList(look, id="alarms")
                yield Log(look, id="log")
            yield BigValues(look, id="big")
            with Container(id="place"):
                yield Depth(look, id="depth")
                yield Balance(look, id="balance")
            with Horizontal(id="middle"):
                with Vertical(id="left"):
                    yield Values(look, id="values")
                    yield Limits(look, id="limits")
                yield StripChart(look, id="chart")
            yield Feeds(look, id="feeds")
            yield KeyLine(look, self._clock, id="keys")
        yield Static(id="refusal")

    def on_mount(self) -> None:
        """Show what is known so far: nothing, and why."""
        self.show(self._snapshot)

    def on_resize(self) -> None:
        """Choose the layout; below the smallest size say so instead of cutting values off."""
        width, height = self.app.size
        fitting = [name for name, w, h in SIZES if width >= w and height >= h]
        chosen = (fitting or ["-small"])[0]
        for name in ("-small", "-medium", "-large"):
            self.set_class(name == chosen, name)
        self.query_one(AlarmList).with_log = chosen != "-large"
        self.query_one(Values).elsewhere = () if chosen == "-small" else tiles(width)
        self.set_class(width < SMALLEST[0] or height < SMALLEST[1], "-refused")
        self._refuse(width, height)

    def _refuse(self, width: int, height: int) -> None:
        text = refusal(self._snapshot, width, height)
        self.query_one("#refusal", Static).update(Content(text))

    def show(self, snapshot: Snapshot) -> None:
        """Take the newest snapshot; the app's display tick calls this, five times a second."""
        self._snapshot = snapshot
        with self.app.batch_update():
            for widget in self.query(Lines):
                widget.show(snapshot)
        if self.has_class("-refused"):
            self._refuse(*self.app.size)

    def use(self, look: Look) -> None:
        """Draw everything in another look."""
        self._look = look
        for widget in self.query(Lines):
            widget.use(look)

    def say(self, text: str, role: str = "strong") -> None:
        """Show a message on the last row."""
        self.query_one(KeyLine).say(text, role)

    # keys for the watch

    def _issue(self, command: Command) -> None:
        if self._may_command() and self._guard.allows(type(command).__name__):
            self.post_message(self.Issued(command))

    def _may_command(self) -> bool:
        if self._snapshot.watch.replay:
            self.say("this is a replay: what was done was done", "changed")
        return not self._snapshot.watch.replay

    def action_acknowledge(self) -> None:
        """Acknowledge the alarm a person selected, else all."""
        self._issue(Acknowledge(self.query_one(AlarmList).chosen))

    def action_silence(self) -> None:
        """Silence the horn."""
        self._issue(Silence())

    def action_reset(self) -> None:
        """Let go of the selected latched alarm."""
        alarm = self.query_one(AlarmList).selected
        if alarm is None or alarm.state != "F":
            self.say("reset is for a LATCHED alarm that is acknowledged; select one", "changed")
            return
        self._issue(Reset(alarm.id))

    def action_faster(self) -> None:
        """Run the synthetic well at the next speed."""
        watch = self._snapshot.watch
        if not watch.synthetic or watch.replay:
            self.say("f is for a synthetic well: real time has one speed", "changed")
            return
        faster = [s for s in SYNTHETIC_SPEEDS if s > watch.speed]
        self._issue(SetSpeed((faster or [SYNTHETIC_SPEEDS[0]])[0]))

    def action_ask(self, what: str) -> None:
        """Ask before a command, in two steps."""
        self._form(*ask_volumes.FORMS[what](self._snapshot, self._look.fmt))

    def action_note(self) -> None:
        """Write a note."""
        self._form(*asks.note())

    def _form(self, ask: Ask, build: Callable[[Answers], Command]) -> None:
        if not self._may_command() or not self._guard.allows(ask.title):
            return

        def done(answers: Answers | None) -> None:
            if answers is not None:
                self.post_message(self.Issued(build(answers)))

        self.app.push_screen(Form(ask, self._look.glyphs.text), done)

    # keys for the screen

    def action_select(self, by: int) -> None:
        """Select another alarm."""
        self.query_one(AlarmList).select(by)

    def action_details(self) -> None:
        """Show the selected alarm in full."""
        alarm = self.query_one(AlarmList).selected
        if alarm is None:
            self.say("no alarm to show")
            return

        def done(result: str | None) -> None:
            if result == "ack":
                self._issue(Acknowledge(alarm.id))

        self.app.push_screen(details(alarm, self._look.fmt, self._look.glyphs.text), done)

    def action_values(self) -> None:
        """Show the values there was no room for."""
        values = self.query_one(Values)
        first, last, count = values.further()
        self.say(f"values {first} to {last} of {count}")
        if self._turn_back is not None:
            self._turn_back.stop()
        self._turn_back = self.set_timer(TURN_BACK_S, values.back)

    def action_watched(self) -> None:
        """Show every limit and every feed."""
        snapshot, look = self._snapshot, self._look
        limits = ["".join(text for text, _ in row) for row in limit_rows(snapshot, look)]
        at = look.fmt.clock(snapshot.now)
        feeds, copy = feed_lines(snapshot, look), second_copy.lines(snapshot, look.fmt.clock)
        self.app.push_screen(watched_page(at, limits, feeds, copy, look.glyphs.text))

    def action_sight(self) -> None:
        """Show which detectors cannot see, and why."""
        self.app.push_screen(sight_page(self._snapshot, self._look))

    def action_tracks(self) -> None:
        """Show other curves."""
        self.query_one(StripChart).next_tracks()

    def action_zoom(self, by: int) -> None:
        """Change the time scale of the chart."""
        self.query_one(StripChart).zoom(by)

    def action_wanted(self, what: str) -> None:
        """Ask for help, the other theme or a test of the horn."""
        if self._guard.allows(what):
            self.post_message(self.Wanted(what))

    def action_leave(self) -> None:
        """Ask to leave."""
        if self._guard.allows("leave"):
            self.post_message(self.Wanted("leave"))

    # keys for a replay

    def _move(self, what: str, by: float = 0.0) -> None:
        if self._snapshot.watch.replay:
            self.post_message(self.Transport(what, by))

    def action_play(self) -> None:
        """Play or pause."""
        if self._guard.allows("toggle"):
            self._move("toggle")

    def action_gear(self, by: int) -> None:
        """Play faster or slower."""
        self._move("gear", by)

    def action_step(self, by: int) -> None:
        """Go one row on or back."""
        self._move("step", by)

    def action_event(self, by: int) -> None:
        """Go to the next or previous event."""
        self._move("event", by)

    def action_go_to(self) -> None:
        """Ask for a time and go there."""
        snapshot, fmt = self._snapshot, self._look.fmt
        if not snapshot.watch.replay:
            return

        def done(answers: Answers | None) -> None:
            if answers is not None:
                self._move("seek", asks.time_of(answers["time"], snapshot.now, fmt))

        self.app.push_screen(Form(asks.go_to(snapshot, fmt), self._look.glyphs.text), done)
