"""A journal line as a sentence, in the units of the well."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from engine.channels import CHANNELS
from engine.records.journal import iso
from engine.units import UNITS

_ALARM_WORDS = {
    "trip": "ALARM", "clear": "cleared", "ack": "acknowledged", "reset": "reset",
    "re_alarm": "ALARM again", "suppress": "not armed in this state", "unsuppress": "armed again",
    "shelve": "shelved", "unshelve": "back from the shelf", "shelf_ending": "shelf ends soon",
    "out_of_service": "OUT OF SERVICE", "return": "back in service", "escalate": "STILL",
    "change_limit": "new limit",
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
    if kind == "flood":
        minutes = fields["window_s"] / 60.0
        many = f"FLOOD of alarms: {fields['alarms']} in {minutes:g} min; only P1 sounds anew"
        return many if event == "start" else "the flood of alarms is over"
    if kind == "link":
        reason = f": {fields['reason']}" if fields.get("reason") else ""
        return f"feed {name} {event}{reason}"
    if kind == "command":
        return _command(fields)
    if kind == "trial":
        return _trial(fields, units)
    if kind == "event":
        return _call(fields, units)
    if kind == "detector":
        verb = "cannot see:" if event == "blind" else "sees again; could not for:"
        return f"{name.replace('_', ' ')} {verb} {fields.get('reason') or 'no reason given'}"
    if kind == "watch":
        synthetic = ", SYNTHETIC data" if fields.get("synthetic") == "1" else ""
        return f"watch of {name} {event}{synthetic}"
    return f"{name} {event}"


def _call(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    name = str(fields["id"]).replace("_", " ")
    if fields["event"] == "end":
        return f"{name}: no longer called"
    evidence = fields.get("evidence") or {}
    volume = evidence.get("volume_m3")
    said = [] if volume is None else [amount(volume, "m3", units)]
    said += [f"seen by {', '.join(evidence['witnesses'])}"] if evidence.get("witnesses") else []
    return ": ".join([f"{name}, {fields['event']}", *(["; ".join(said)] if said else [])])


_HEAD = {"seq", "at", "kind", "id", "event", "who", "station", "previous"}


_BARE = {"text", "reason"}
"""Fields of a command that a person wrote; they need no name before them."""


def _command(fields: Mapping[str, Any]) -> str:
    if fields["id"] == "second_copy":
        return _second_copy(fields)
    name = str(fields["id"]).replace("_", " ")
    said = []
    for key, value in fields.items():
        if key in _HEAD or value in (None, ""):
            continue
        if isinstance(value, bool):
            value = "yes" if value else "no"
        if isinstance(value, dict):  # the card itself tells its numbers, in units
            continue
        shown = f"{value:g}" if isinstance(value, float) else str(value)
        said.append(shown if key in _BARE else f"{key.replace('_', ' ')} {shown}")
    effect = " without effect" if fields["event"] == "no_effect" else ""
    text = f"{name} by {fields.get('who') or 'someone'}{effect}"
    return f"{text}: {', '.join(said)}" if said else text


def _second_copy(fields: Mapping[str, Any]) -> str:
    place, to = fields["place"], fields.get("complete_to")
    if not place:
        return "no second copy of the recording is kept any more"
    if not fields.get("problem"):
        return f"second copy complete, and written along: {place}"
    known = "not known to hold anything" if to is None else f"complete to {iso(to)}"
    return f"SECOND COPY NOT COMPLETE: {fields['problem']}; {known}: {place}"


def _trial(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    if fields["event"] == "verdict":
        why = [_named(b["what"]) for b in fields["breaches"]] or fields["why"]
        said = f": {', '.join(why)}" if why else ""
        return f"{fields['id']} of {fields['by']}: {fields['verdict'].upper()}{said}"
    value, limit = (amount(fields[key], fields["unit"], units) for key in ("value", "limit"))
    return f"{fields['id']}: {_named(fields['what'])} {fields['how']} {value}, limit {limit}"


def _named(name: str) -> str:
    return label(name) if name in CHANNELS else name


def _alarm(fields: Mapping[str, Any], units: Mapping[str, str]) -> str:
    name, event = fields.get("label") or fields["id"], fields["event"]
    words = _ALARM_WORDS.get(event, event)
    text = f"P{fields['priority']} {name}: {words}"
    unit_id = fields.get("unit") or "none"
    if event in {"trip", "re_alarm"}:
        value = amount(fields.get("value"), unit_id, units)
        limit = f"{value}, {fields['side']} limit {amount(fields['limit'], unit_id, units)}"
        text += f", {fields.get('severity') or limit}"
    elif event == "change_limit":
        new, old = (amount(fields.get(key), unit_id, units) for key in ("limit", "old_limit"))
        text += f" {new}, was {old},"
    elif event == "escalate":
        text += f" {fields.get('reason')}"
    if fields.get("shelved_until"):
        text += f" until {fields['shelved_until'][11:19]}"
    if fields.get("who"):
        text += f" by {fields['who']}"
        if fields.get("authoriser"):
            text += f", authorised by {fields['authoriser']}"
        if fields.get("reason"):
            text += f": {fields['reason']}"
    return text


def label(channel_id: str) -> str:
    """Return what a channel is called on paper."""
    return CHANNELS[channel_id].label
