"""A form over the lower rows: what is needed for a command, then a second, deliberate step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Input, Static

from engine.errors import InputError
from tui.screens.over import Over

Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Field:
    """One line to fill in."""

    name: str
    label: str
    value: str = ""
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Ask:
    """What a form asks."""

    title: str
    facts: tuple[str, ...]
    fields: tuple[Field, ...]
    check: Callable[[Answers], str]
    """Words of what will be done; raises `InputError` if the answers will not do."""
    two_steps: bool = True


class Form(Over[Answers | None]):
    """Gives back the answers, or None if nothing is to be done."""

    DEFAULT_CSS = """
    Form { align: center bottom; background: transparent; }
    Form > Vertical { width: 100%; height: auto; padding: 0 1; background: $background; }
    Form .title { text-style: bold; background: $foreground; color: $background; }
    Form .title { margin-bottom: 1; width: 100%; padding: 0 1; }
    Form Input, Form Input:focus { border: none; height: 1; padding: 0 1; width: 60; }
    Form Input { background: $foreground 12%; }
    Form Input:focus { background: $foreground 20%; }
    Form .problem { text-style: bold; margin-top: 1; }
    Form .keys { margin-top: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave it", id="form.leave"),
        Binding("y", "do_it", "do it", id="form.do"),
    ]

    def __init__(self, ask: Ask, text: Callable[[str], str]) -> None:
        """Ask `ask`; `text` turns words into what the terminal can show."""
        super().__init__()
        self._ask, self._text = ask, text
        self._sure: Answers | None = None

    def compose(self) -> ComposeResult:
        """Title, facts, fields, and what is wrong or will be done."""
        with Vertical():
            yield Static(Content(self._ask.title), classes="title")
            if self._ask.facts:
                yield Static(Content(self._text("\n".join(self._ask.facts))))
            for field in self._ask.fields:
                yield Static(Content(self._text(field.label)))
                yield Input(field.value, id=f"field-{field.name}")
            yield Static(Content(""), classes="problem")
            yield Static(Content("enter  next    esc  leave it"), classes="keys")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go to the next field; after the last one check and ask to be sure."""
        inputs = list(self.query(Input))
        index = inputs.index(event.input)
        if index + 1 < len(inputs):
            inputs[index + 1].focus()
            return
        answers = {f.name: i.value.strip() for f, i in zip(self._ask.fields, inputs, strict=True)}
        for field, box in zip(self._ask.fields, inputs, strict=True):
            if field.needed and not answers[field.name]:
                self._say(f"{field.label}: must not be empty")
                box.focus()
                return
        try:
            words = self._ask.check(answers)
        except InputError as error:
            self._say(str(error))
            inputs[0].focus()
            return
        if not self._ask.two_steps:
            self.dismiss(answers)
            return
        self._sure = answers
        for box in inputs:
            box.disabled = True
        self.set_focus(None)
        self._say(words)
        self.query_one(".keys", Static).update(Content("y  do it    esc  leave it"))

    def action_do_it(self) -> None:
        """Take the second step; before the first it is just a letter."""
        if self._sure is not None:
            self.dismiss(self._sure)

    def action_leave(self) -> None:
        """Do nothing."""
        self.dismiss(None)

    def _say(self, text: str) -> None:
        self.query_one(".problem", Static).update(Content(self._text(text)))


def number(answers: Answers, name: str, label: str) -> float | None:
    """Return the number typed, None if nothing was; `InputError` says what would be right."""
    text = answers.get(name, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{label}: {text!r} is no number; write it like 2405.5") from None
    if not 0 <= value < 20000:
        raise InputError(f"{label}: {text} is no depth; it must be from 0 to 20000")
    return value
