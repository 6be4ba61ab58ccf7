"""The part of the well file that says what makes the noise; import from `engine.config`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field, field_validator, model_validator

from engine.config_base import Count, Model, TableError, Text, Wrong

KINDS: dict[str, tuple[str, ...]] = {
    "bell": (),
    "sound": ("player", "file"),
    "command": ("command",),
    "relay": ("port", "line", "on", "off"),
}
"""Kind of output to the keys that belong to it, besides ``kind``, ``name``, ``escalation``."""
LINES = ("rts", "dtr")

Words = Annotated[tuple[Text, ...], Field(min_length=1)]


class HornOutput(Model):
    """One thing that is heard or seen when an alarm calls."""

    kind: str
    """``bell`` of the screen's terminal, ``sound`` through a player, ``command``, ``relay``."""
    name: str = ""
    """In messages; left out: its kind."""
    escalation: Annotated[Count, Field(ge=0, le=2)] = 0
    """It joins in only when an alarm of priority 1 was told louder so often: 0 at once, 1 after
    30 s unacknowledged, 2 after 60 s. [-]"""
    player: Words | None = None
    """A program that plays a WAV file, and its arguments; the file stands in for ``{file}``, or
    comes last."""
    file: str = ""
    """Full path of a WAV file to play for every alarm; left out: the program's own tones."""
    command: Words | None = None
    """A program and its arguments, never given to a shell; ``{priority}`` and ``{escalation}``
    in them are replaced."""
    port: str = ""
    """Serial port or URL whose control line drives the relay."""
    line: str = "rts"
    """Which line: ``rts`` or ``dtr``."""
    on: Words | None = None
    """In place of a port: the command that switches the relay on."""
    off: Words | None = None
    """The command that switches it off."""

    @field_validator("kind", "line")
    @classmethod
    def _known(cls, value: str, info: Any) -> str:
        good = KINDS if info.field_name == "kind" else LINES
        if value not in good:
            raise ValueError(f"no {info.field_name} {value!r}; write {', '.join(good)}")
        return value

    @model_validator(mode="before")
    @classmethod
    def _lists(cls, raw: Any) -> Any:
        """Refuse a whole command line: only a list says where one argument ends."""
        out = dict(raw) if isinstance(raw, dict) else raw
        for key in ("player", "command", "on", "off"):
            if isinstance(out, dict) and isinstance(value := out.get(key), str):
                good = ", ".join(f'"{word}"' for word in value.split())
                out[key] = Wrong(f"must be a list of program and arguments: [{good}]", key)
        return out

    @model_validator(mode="after")
    def _whole(self) -> HornOutput:
        if problems := list(self._problems()):
            raise TableError(problems)
        return self

    def _problems(self) -> Iterator[tuple[str, str]]:
        mine = KINDS[self.kind]
        for kind, keys in KINDS.items():
            for key in sorted(self.model_fields_set & set(keys)):
                if key not in mine:
                    yield key, f"belongs to kind {kind!r}; this output is of kind {self.kind!r}"
        if self.kind == "sound" and self.player is None:
            yield "player", 'missing; a program that plays a WAV file, such as ["aplay", "-q"]'
        if self.kind == "command" and self.command is None:
            yield "command", "missing; the list of a program and its arguments"
        if self.file and not re.match(r"/|[A-Za-z]:[\\/]|\\\\", self.file):
            yield "file", f"{self.file!r} is no full path; write it from the root or the drive on"
        if self.kind == "relay":
            yield from self._relay()

    def _relay(self) -> Iterator[tuple[str, str]]:
        if self.port and (self.on or self.off):
            yield "port", "give either a port or the commands on and off, not both"
        elif not self.port and not self.on:
            yield "port", "missing; write COM3, /dev/ttyUSB1 or a URL, or the commands on and off"
        elif self.on and not self.off:
            yield "off", "missing; what is switched on must be switched off"


class HornConfig(Model):
    """Everything that sounds; at least one thing, since nobody may mute all alarms."""

    outputs: Annotated[tuple[HornOutput, ...], Field(min_length=1)] = (HornOutput(kind="bell"),)

    @model_validator(mode="after")
    def _heard_at_once(self) -> HornConfig:
        if all(output.escalation for output in self.outputs):
            text = "at least one output must have escalation 0, or a new alarm makes no sound"
            raise TableError([("outputs", text)])
        return self

    @property
    def rings(self) -> bool:
        """The terminal's bell is one of them."""
        return any(output.kind == "bell" for output in self.outputs)

    def names(self) -> tuple[str, ...]:
        """Return what each output is called; two of one name get numbers."""
        plain = [output.name or output.kind for output in self.outputs]
        seen: list[str] = []
        for name in plain:
            again = sum(other == name for other in plain) > 1
            number = sum(s.rpartition(" ")[0] == name for s in seen) + 1
            seen.append(f"{name} {number}" if again else name)
        return tuple(seen)
