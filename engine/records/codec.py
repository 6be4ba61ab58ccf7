"""Inputs and commands as JSON text and back: versioned, exact, strict when read.

One event is one JSON object: ``{"v":1,"kind":"frame","at":...,"feed":...}`` with the fields of
its class; a field that has its default is left out. Numbers are written by ``repr``, so that
they come back to the last bit. Bytes are text in which each character is one byte (latin-1).
A number that is not finite, which no decoder should send, is kept as ``NaN`` or ``Infinity``.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, asdict, fields
from typing import Any, cast

from engine import commands as c
from engine import commands_copy as cc
from engine import commands_trial as ct
from engine import events as e
from engine.errors import RecordingError
from engine.interfaces import FeedHealth, InputEvent

VERSION = 1
"""Written into every text; raised when a field changes its meaning. [-]"""

_EVENTS: dict[str, type] = {
    "frame": e.Frame, "bad_line": e.BadLine, "link_up": e.LinkUp, "link_down": e.LinkDown,
    "tick": e.Tick, "issued": c.Issued,
}  # fmt: skip
_COMMANDS: dict[str, type] = {
    "acknowledge": c.Acknowledge, "silence": c.Silence, "reset": c.Reset, "zero_pits": c.ZeroPits,
    "set_depth": c.SetDepth, "tare_now": c.TareNow, "note": c.Note, "set_speed": c.SetSpeed,
    "stop_watch": c.StopWatch, "slip_line": c.SlipLine, "crown_check": c.CrownCheck,
    "mark_pump": c.MarkPump, "shelve": c.Shelve, "unshelve": c.Unshelve,
    "out_of_service": c.OutOfService, "return_to_service": c.ReturnToService,
    "change_limit": c.ChangeLimit,
    "enter_slow_rate": c.EnterSlowRate, "enter_card": c.EnterCard,
    "enter_standpipe": c.EnterStandpipe,
    "declare_transfer": c.DeclareTransfer, "rebase_balance": c.RebaseBalance,
    "declare_trip": c.DeclareTrip, "declare_job": c.DeclareJob,
    "set_lines": c.SetLines,
    "start_trial": ct.StartTrial, "mark_trial": ct.MarkTrial, "end_trial": ct.EndTrial,
    "override_trial": ct.OverrideTrial,
    "sound_horn": c.SoundHorn, "horn_test": c.HornTest, "horn_outputs": c.HornOutputs,
    "second_copy": cc.SecondCopy,
}  # fmt: skip
_KIND = {cls: kind for kind, cls in (_EVENTS | _COMMANDS).items()}
_REQUIRED = object()
_ENCODE = json.JSONEncoder(separators=(",", ":")).encode


def _is_number(value: object) -> bool:
    return isinstance(value, float | int) and not isinstance(value, bool)


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_text(value: object) -> bool:
    return isinstance(value, str)


def _is_bytes(value: object) -> bool:
    return isinstance(value, str) and (not value or max(value) <= "\xff")


def _mapping_of(*types: type) -> Callable[[object], bool]:
    wanted = set(types)  # exact types, so that `true` is no number; a set because frames are many
    return lambda value: isinstance(value, dict) and wanted.issuperset(map(type, value.values()))


_CHECKS: dict[str, tuple[str, Callable[[object], bool]]] = {
    "float": ("a number", _is_number),
    "int": ("a whole number", _is_count),
    "float | None": ("a number or null", lambda v: v is None or _is_number(v)),
    "str": ("a text", _is_text),
    "bool": ("true or false", lambda v: isinstance(v, bool)),
    "bytes": ("a text of byte characters", _is_bytes),
    "Command": ("an object", lambda v: isinstance(v, dict)),
    "Mapping[str, float]": ("an object of numbers", _mapping_of(float, int)),
    "Mapping[str, str]": ("an object of texts", _mapping_of(str)),
    "Mapping[str, int]": ("an object of counts", _mapping_of(int)),
}
"""Annotation of a field to what its JSON value must be."""


def _layout(cls: type) -> tuple[tuple[str, str, Any], ...]:
    """Name, annotation and default (or ``_REQUIRED``) of each field of `cls`."""
    out = []
    for f in fields(cls):
        default = f.default if f.default is not MISSING else _REQUIRED
        if f.default_factory is not MISSING:
            default = f.default_factory()
        out.append((f.name, str(f.type), default))
    return tuple(out)


_LAYOUTS = {cls: _layout(cls) for cls in _KIND}


def kind_of(item: InputEvent | c.Command) -> str:
    """Return the word that names the class of `item` in its text."""
    return _KIND[type(item)]


def encode_event(event: InputEvent) -> str:
    """Return `event` as text; `RecordingError` if a field holds what JSON cannot."""
    return _text({"v": VERSION, **_pack(event)})


def encode_command(command: c.Command) -> str:
    """Return `command` as text; `RecordingError` if a field holds what JSON cannot."""
    return _text({"v": VERSION, **_pack(command)})


def decode_event(text: str, where: str = "input") -> InputEvent:
    """Return the event that `encode_event` wrote.

    Parameters
    ----------
    text : str
        What was kept.
    where : str
        Where it was kept, for the message of an error.

    Raises
    ------
    RecordingError
        If `text` is no JSON object, or of an unknown version or kind, or has a field too many,
        too few, or of the wrong type.
    """
    return cast(InputEvent, _unpack(_head(text, where), _EVENTS, where))


def decode_command(text: str, where: str = "command") -> c.Command:
    """Return the command that `encode_command` wrote; errors as in `decode_event`."""
    return cast(c.Command, _unpack(_head(text, where), _COMMANDS, where))


def encode_feeds(feeds: Sequence[FeedHealth]) -> str:
    """Return the health of all feeds as a JSON array."""
    return _text([asdict(feed) for feed in feeds])


def decode_feeds(text: str, where: str = "status") -> tuple[FeedHealth, ...]:
    """Return what `encode_feeds` wrote; `RecordingError` if it is something else."""
    try:
        return tuple(FeedHealth(**feed) for feed in json.loads(text))
    except (ValueError, TypeError) as error:
        raise RecordingError(f"{where}: the feeds cannot be read: {error}") from None


def _text(packed: object) -> str:
    try:
        return _ENCODE(packed)
    except (TypeError, ValueError) as error:
        raise RecordingError(f"cannot be written as JSON: {error}, in {packed!r:.200}") from None


def _pack(item: InputEvent | c.Command) -> dict[str, Any]:
    cls = type(item)
    out: dict[str, Any] = {"kind": _KIND[cls]}
    for name, type_name, default in _LAYOUTS[cls]:
        value = getattr(item, name)
        if value == default and repr(value) == repr(default):  # -0.0 is not 0.0
            continue
        if type_name == "bytes":
            value = value.decode("latin-1")
        elif type_name == "Command":
            value = _pack(value)
        elif isinstance(value, Mapping):
            value = dict(value)
        out[name] = value
    return out


def _head(text: str, where: str) -> dict[str, Any]:
    """Read the object and take its version off."""
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise RecordingError(f"{where}: not JSON ({error}): {text!r:.80}") from None
    if not isinstance(raw, dict):
        raise RecordingError(f"{where}: must be a JSON object, got {text!r:.80}")
    version = raw.pop("v", None)
    if version != VERSION or isinstance(version, bool):
        raise RecordingError(
            f"{where}: version {version!r} is unknown; this program reads version {VERSION}"
        )
    return raw


def _unpack(raw: dict[str, Any], classes: Mapping[str, type], where: str) -> object:
    kind = raw.pop("kind", None)
    cls = classes.get(kind) if isinstance(kind, str) else None
    if cls is None:
        known = ", ".join(classes)
        raise RecordingError(f"{where}: kind {kind!r} is unknown; this program reads {known}")
    values: dict[str, Any] = {}
    for name, type_name, default in _LAYOUTS[cls]:
        if name not in raw:
            if default is _REQUIRED:
                raise RecordingError(f"{where}: {kind} without its {name}")
            continue
        value = raw.pop(name)
        wanted, fits = _CHECKS[type_name]
        if not fits(value):
            raise RecordingError(f"{where}: {kind}.{name} must be {wanted}, got {value!r:.80}")
        if type_name == "bytes":
            value = value.encode("latin-1")
        elif type_name == "Command":
            value = _unpack(value, _COMMANDS, f"{where}.command")
        values[name] = value
    if raw:
        raise RecordingError(f"{where}: {kind} has no field {next(iter(raw))!r}")
    return cls(**values)
