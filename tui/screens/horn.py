"""The question whether the horn is heard, while it sounds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.content import Content
from textual.css.query import NoMatches
from textual.widgets import Static

from tui.screens.page import Page

_FIRST = (
    "It sounds once, as for an alarm of priority 1. Listen where you will work,",
    "with the noise that is there.",
    "",
)
_KEYS = {
    "y": ("yes", "I heard it"),
    "n": ("no", "I did not hear it"),
    "h": ("again", "sound it again"),
}


class HornPage(Page):
    """Gives back "yes", "no", "again", or "" if it was left without an answer."""

    def __init__(self, said: Sequence[str], text: Callable[[str], str]) -> None:
        """Ask; `said` is what the outputs say of themselves so far."""
        super().__init__("THE HORN SOUNDS: DID YOU HEAR IT?", [*_FIRST, *said], _KEYS, text=text)
        self._said = tuple(said)

    def say(self, said: Sequence[str]) -> None:
        """Show what the outputs say by now."""
        if tuple(said) == self._said:
            return
        try:
            words = self.query_one("VerticalScroll Static", Static)
        except NoMatches:  # not drawn yet
            return
        self._said = tuple(said)
        words.update(Content(self._text("\n".join((*_FIRST, *said)))))
