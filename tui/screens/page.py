"""A page of text over the lower rows, so that state and alarms stay in sight."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Key
from textual.widgets import Static

from engine.config import WellConfig
from engine.snapshot import AlarmView
from tui.format import Formatter
from tui.keys import REPLAY, VIEW, WATCH, shown
from tui.screens.over import Over
from tui.words import ALARM_STATES

CAUTION = (
    "This screen is an additional aid.",
    "It is not a safety system and not the only alarm.",
    "Before it come local rules, approved well-control procedures",
    "and licensed practice.",
    "",
    "A number it shows may be wrong; one it cannot trust is shown as dashes.",
    "If the screen and the rig disagree, take the worse of the two and check.",
)
"""R-66: must be accepted before the screen is used."""


class Page(Over[str]):
    """Text with its keys; gives back the result of the key, or "" if it was just closed."""

    DEFAULT_CSS = """
    Page { align: center bottom; background: transparent; }
    Page > Vertical { width: 100%; height: auto; padding: 0 1; background: $background; }
    Page VerticalScroll { height: auto; max-height: 11; scrollbar-size: 0 0; }
    Page .title { text-style: bold; background: $foreground; color: $background; }
    Page .title { margin-bottom: 1; width: 100%; padding: 0 1; }
    Page .keys { margin-top: 1; text-style: bold; }
    """
    AUTO_FOCUS: ClassVar[str | None] = "VerticalScroll"

    def __init__(
        self,
        title: str,
        lines: Sequence[str],
        keys: Mapping[str, tuple[str, str]],
        *,
        closes: bool = True,
        text: Callable[[str], str] = str,
    ) -> None:
        """Show `lines`; `keys` maps a key to its result and its words.

        With `closes` any of escape, enter and q leaves the page with "". `text` turns words
        into what the terminal can show.
        """
        super().__init__()
        self._title, self._lines, self._keys = title, lines, keys
        self._closes, self._text = closes, text

    def compose(self) -> ComposeResult:
        """Title, text, keys."""
        words = [f"{key}  {text}" for key, (_, text) in self._keys.items()]
        if self._closes:
            words.append("esc  back" + ("    up, down  scroll" if len(self._lines) > 11 else ""))
        with Vertical():
            yield Static(Content(self._text(self._title)), classes="title")
            with VerticalScroll():
                yield Static(Content(self._text("\n".join(self._lines))))
            yield Static(Content("\n".join(words)), classes="keys")

    def on_key(self, event: Key) -> None:
        """Leave by one of the keys."""
        if event.key in self._keys:
            event.stop()
            self.dismiss(self._keys[event.key][0])
        elif self._closes and event.key in ("escape", "enter", "q"):
            event.stop()
            self.dismiss("")

    def action_urgent(self, what: str) -> None:
        """Nothing is done before the caution is accepted."""
        if self._closes:
            super().action_urgent(what)


def caution() -> Page:
    """Return the page that must be accepted first; no other key leaves it."""
    lines = list(CAUTION)
    keys = {"y": ("yes", "I have read this and accept it"), "q": ("no", "leave the program")}
    return Page("BEFORE YOU START", lines, keys, closes=False)


def leaving(*, owns_watch: bool) -> Page:
    """Return the question what becomes of the watch; it goes on by itself unless told."""
    keys = {"w": ("leave", "leave the screen; the watch goes on recording")}
    if owns_watch:
        keys["x"] = ("stop", "stop the watch: nothing is recorded any more")
    lines = ["The watch records and alarms whether a screen is open or not."]
    return Page("LEAVE THE SCREEN?", lines, keys)


def watched_page(
    at: str,
    limits: Sequence[str],
    feeds: Sequence[str],
    copy: Sequence[str],
    text: Callable[[str], str],
) -> Page:
    """Return every limit, every feed and the second copy as they stood at `at`."""
    lines = ["Second copy of the recording", *(f"  {line}" for line in copy), ""]
    lines += ["Limits", *(f"  {line}" for line in limits), "", "Feeds"]
    lines += [f"  {line}" for line in feeds] or ["  none seen yet"]
    return Page(f"WATCHED, AS AT {at}", lines, {}, text=text)


def help_page(*, replay: bool, config: WellConfig) -> Page:
    """Return the list of keys and marks."""
    groups = [("Replay", REPLAY)] if replay else [("Watch", WATCH)]
    lines = []
    for title, bindings in [*groups, ("Screen", VIEW)]:
        lines.append(title)
        lines += [f"  {shown(b):8} {b.description}" for b in bindings]
        lines.append("")
    lines += [
        "Marks beside a value",
        "  H L      above or below its nearest armed limit",
        "  R        outside the sensor's range     F  has not moved when it should have",
        "  C        two witnesses disagree         O  from an old tare or an unsure depth",
        "  P        from a packet that was cut",
        "  ----     no value; the reason stands beside it",
        "  12s      age, shown once it is above 3 s (times the speed of a synthetic well)",
        "",
        "Charts     newest at the foot; at the left the time of day and the seconds a row;",
        "           the second curve is dotted; an arrow head: it left the scale",
        "",
        "Alarms",
    ]
    for letter in "BCDEF":
        lines.append(f"  {ALARM_STATES[letter]:12} {_MEANING[letter]}")
    lines += ["", "a and s work while a page is open, and in a form once its fields are done."]
    lines += ["", f"Well {config.well}, rig {config.rig.name}", *CAUTION[:4]]
    return Page("KEYS AND MARKS", lines, {})


_MEANING = {
    "B": "out of limits, nobody has acknowledged it: the horn sounds",
    "C": "out of limits, acknowledged",
    "D": "back inside before anybody acknowledged it",
    "E": "back inside, latched, not acknowledged: the horn sounds",
    "F": "back inside, latched, acknowledged: waits for the reset",
}


def details(alarm: AlarmView, fmt: Formatter, text: Callable[[str], str]) -> Page:
    """Return what is known about one alarm, in full."""
    unit = f" {fmt.unit(alarm.channel).symbol}".rstrip()
    value, limit = (fmt.text(alarm.channel, x) for x in (alarm.value, alarm.limit))
    word = ALARM_STATES.get(alarm.state, alarm.state)
    lines = [
        f"State        {word} since {fmt.clock(alarm.since)}, raised {fmt.clock(alarm.raised)}",
        f"Priority     {alarm.priority}",
        f"Value        {value}{unit} when raised; the {alarm.side} limit is {limit}{unit}",
        "",
        f"Cause        {alarm.cause or 'not given in the well file'}",
        f"Consequence  {alarm.consequence or 'not given in the well file'}",
        f"Action       {alarm.action or 'not given in the well file'}",
    ]
    return Page(alarm.label.upper(), lines, {"a": ("ack", "acknowledge it")}, text=text)
