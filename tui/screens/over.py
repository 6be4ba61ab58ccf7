"""What lies over the monitor: a page or a form, under which the alarms stay within reach."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, TypeVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.screen import ModalScreen

Result = TypeVar("Result")


class Over(ModalScreen[Result]):
    """Base of pages and forms: acknowledge and silence work unless a text field has the focus."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "urgent('acknowledge')", "acknowledge", id="over.acknowledge"),
        Binding("s", "urgent('silence')", "silence the horn", id="over.silence"),
    ]

    @dataclass
    class Urgent(Message):
        """A person acknowledges or silences from here."""

        what: str

    def action_urgent(self, what: str) -> None:
        """Pass it on; what lies over the monitor stays open."""
        self.post_message(self.Urgent(what))
