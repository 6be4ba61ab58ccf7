"""A journal line as a sentence, in the units of the well."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from engine.channels import CHANNELS
from engine.units import UNITS

_ALARM_WORDS = {
    "trip": "ALARM", "clear": "cleared", "ack": "acknowledged", "reset": "reset",
    "re_alarm": "ALARM again", "suppress": "not armed in this state", "unsuppress": "armed again",
}  # fmt: skip


def amount(value: float | None, unit_id: str, units: Mapping[str, str]) -> str:
    """Return an SI `value` of SI unit `unit_id` in the unit that `units` names for it."""
    if value is None:
        return "unknown"
    shown = UNITS[units[UNITS[unit_id].quantity]]
    return f"{shown.from_si(value):.{shown.decimals}f} {shown.symbol}".strip()


def in_words(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    """Return the line as ``2026-03-14T06:00:00.000Z  what happened``.

    Parameters
    ----------
    fields : mapping
        From `engine.records.journal.read`.
    units : mapping
        Quantity to display unit id.
    """
    return f"{fields['at']}  {what(fields, units)}"


def what(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    """Return what happened, without the time."""
    kind, name, event = fields["kind"], fields["id"], fields["event"]
    if kind == "alarm":
        return _alarm(fields, units)
    if kind == "link":
        reason = f": {fields['reason']}" if fields.get("reason") else ""
        return f"feed {name} {event}{reason}"
    if kind == "command":
        return _command(fields)
    if kind == "watch":
        synthetic = ", SYNTHETIC data" if fields.get("synthetic") == "1" else ""
        return f"watch of {name} {event}{synthetic}"
    return f"{name} {event}"


_HEAD = {"seq", "at", "kind", "id", "event", "who", "station", "previous"}


_BARE = {"text", "reason", "said"}
"""Fields of a command that a person wrote; they need no name before them."""


def _command(fields: Mapping[str, Any]) -> str:
    name = str(fields["id"]).replace("_", " ")
    said = []
    for key, value in fields.items():
        if key in _HEAD or value in (None, ""):
            continue
        if isinstance(value, bool):
            value = "yes" if value else "no"
        shown = f"{value:g}" if isinstance(value, float) else str(value)
        said.append(shown if key in _BARE else f"{key.replace('_', ' ')} {shown}")
    effect = " without effect" if fields["event"] == "no_effect" else ""
    text = f"{name} by {fields.get('who') or 'someone'}{effect}"
    return f"{text}: {', '.join(said)}" if said else text


def _alarm(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    name, event = fields.get("label") or fields["id"], fields["event"]
    words = _ALARM_WORDS.get(event, event)
    text = f"P{fields['priority']} {name}: {words}"
    if event in {"trip", "re_alarm"}:
        unit_id = fields.get("unit") or "none"
        value = amount(fields.get("value"), unit_id, units)
        text += f", {value}, {fields['side']} limit {amount(fields['limit'], unit_id, units)}"
    if event in {"ack", "reset"} and fields.get("who"):
        text += f" by {fields['who']}"
    return text


def label(channel_id: str) -> str:
    """Return what a channel is called on paper."""
    return CHANNELS[channel_id].label
