"""Journal entries of alarms and commands: which details, in which order."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from math import isfinite
from typing import Any

from engine.alarms.flood import WINDOW_S, Flood
from engine.alarms.limits import limit_of
from engine.alarms.model import Event, Notice, State
from engine.alarms.rows import Seen
from engine.alarms.standing import Standing
from engine.block import Quality
from engine.channels import CHANNELS
from engine.commands import Command, Issued
from engine.config import Alarm
from engine.detect.kinds import Severity
from engine.records.journal import Entry
from engine.states import STATE_IDS
from engine.units import Unit, units_of


def number(value: float) -> float | None:
    """Return `value` as JSON knows it: a plain float, None for what is not a number."""
    return float(value) if isfinite(value) else None


@cache
def unit_of(channel_id: str) -> Unit:
    """Return the SI unit of a channel or of a call."""
    found = CHANNELS.get(channel_id)
    return units_of(found.quantity if found else "none")[0]


@cache
def quality_words(quality: int) -> str:
    """Return the quality bits as words, ``good`` if there are none."""
    words = [bit.name.lower() for bit in Quality if bit.name and quality & bit]
    return "+".join(words) or "good"


def alarm_entry(
    alarm: Alarm,
    at: float,
    event: Event | Notice,
    before: State,
    after: Standing,
    seen: Seen,
    issued: Issued | None = None,
    reason: str | None = None,
    *,
    sound: bool = False,
    more: Mapping[str, Any] | None = None,
) -> Entry:
    """Build the entry of something that happened to `alarm`.

    Parameters
    ----------
    alarm : Alarm
        Its limit, deadband and delays go into the entry as they are in force. [SI]
    at : float
        When. [s since 1970-01-01 UTC]
    event, before, after : Event or Notice, State, Standing
        What happened, the state it found, and how it left the alarm.
    seen : Seen
        The newest row.
    issued : Issued, optional
        The command, if a person did it.
    reason : str, optional
        Why, in words.
    sound : bool
        The horn sounds anew for it; not so in a flood, unless it is of priority 1.
    more : mapping, optional
        What only this event has: ``shelved_until`` and ``seconds``; ``authoriser``;
        ``old_limit``; ``level`` of an escalation.

    Returns
    -------
    Entry
        Details in this order: label, before, after, priority, side, value, unit, quality,
        limit, deadband, on_delay_s, off_delay_s, rig_state, bit_depth_m, hole_depth_m, who,
        station, reason, sound, first_out (it came first of its group, which still stands), then
        `more`. Value, limit and deadband are in the SI unit named; unknown is None. Of a call,
        whose value is a number for its severity, ``severity`` is the word for it.
    """
    high = alarm.high is not None
    details: dict[str, Any] = {
        "label": alarm.label,
        "before": before.value,
        "after": after.state.value,
        "priority": alarm.priority,
        "side": "high" if high else "low",
        "value": number(seen.value),
        "unit": unit_of(alarm.channel).id,
        "quality": quality_words(seen.quality),
        "limit": limit_of(alarm),
        "deadband": float(alarm.deadband),
        "on_delay_s": float(alarm.on_delay_s),
        "off_delay_s": float(alarm.off_delay_s),
        "rig_state": STATE_IDS[seen.rig_state],
        "bit_depth_m": number(seen.bit_depth),
        "hole_depth_m": number(seen.hole_depth),
        "who": issued.who if issued else None,
        "station": issued.station if issued else None,
        "reason": reason,
        "sound": sound,
        "first_out": after.first_out,
        **(more or {}),
    }
    if alarm.severity:
        details["severity"] = Severity(int(seen.value)).id if isfinite(seen.value) else "unknown"
    return Entry(at, "alarm", alarm.id, event.value, details)


def flood_entry(at: float, flood: Flood) -> Entry:
    """Build the entry of a flood that begins or ends: kind ``flood``, event ``start``, ``end``.

    Details are ``alarms``, how many came within ``window_s``.
    """
    event = "start" if flood.on else "end"
    details = {"alarms": flood.count(at), "window_s": WINDOW_S}
    return Entry(at, "flood", "alarms", event, details)


def command_name(command: Command) -> str:
    """Return the command's name as the journal has it: ``zero_pits`` for `ZeroPits`."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", type(command).__name__).lower()


def command_entry(issued: Issued, details: Mapping[str, Any] | None = None) -> Entry:
    """Build the entry that says a command was given, whatever comes of it.

    Parameters
    ----------
    issued : Issued
        The command, with who, where and when.
    details : mapping, optional
        What the command did (old and new base); JSON values, the unit in the key.

    Returns
    -------
    Entry
        Kind ``command``, event ``given``; details are the command's own fields, then
        `details`, then who and station.
    """
    own = {journal_key(key): _plain(value) for key, value in asdict(issued.command).items()}
    return Entry(
        issued.at,
        "command",
        command_name(issued.command),
        "given",
        {**own, **(details or {}), "who": issued.who, "station": issued.station},
    )


def no_effect_entry(issued: Issued, alarm: str | None, reason: str) -> Entry:
    """Build the entry that says a command changed nothing, and why.

    Kind ``command``, event ``no_effect``; `alarm` is None if it concerns no single alarm.
    """
    return Entry(
        issued.at,
        "command",
        command_name(issued.command),
        "no_effect",
        {"alarm": alarm, "who": issued.who, "station": issued.station, "reason": reason},
    )


def journal_key(field: str) -> str:
    """Return the key that a field of a command has in the journal."""
    return _KEYS.get(field, field)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return number(value) if isinstance(value, float) else value


_KEYS = {
    "bit_depth": "bit_depth_m", "hole_depth": "hole_depth_m", "length": "length_m", "cut": "cut_m",
    "rate": "rate_per_s", "pressure": "pressure_Pa", "density": "density_kg_m3",
    "flow": "flow_m3_s", "inputs": "inputs_si", "volume": "volume_m3",
}  # fmt: skip
"""Fields of commands whose journal key carries a unit."""
