"""Journal entries of alarms and commands: which details, in which order."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict
from math import isfinite
from typing import Any

from engine.alarms.limits import limit_of
from engine.alarms.model import Event, State
from engine.alarms.rows import Seen
from engine.block import Quality
from engine.channels import channel
from engine.commands import Command, Issued
from engine.config import Alarm
from engine.records.journal import Entry
from engine.states import STATE_IDS
from engine.units import units_of


def number(value: float) -> float | None:
    """Return `value` as JSON knows it: a plain float, None for what is not a number."""
    return float(value) if isfinite(value) else None


def quality_words(quality: int) -> str:
    """Return the quality bits as words, ``good`` if there are none."""
    words = [bit.name.lower() for bit in Quality if bit.name and quality & bit]
    return "+".join(words) or "good"


def alarm_entry(
    alarm: Alarm,
    at: float,
    event: Event,
    before: State,
    after: State,
    seen: Seen,
    issued: Issued | None = None,
    reason: str | None = None,
) -> Entry:
    """Build the entry of something that happened to `alarm`.

    Parameters
    ----------
    alarm : Alarm
        Its limit, deadband and delays go into the entry as they are in force. [SI]
    at : float
        When. [s since 1970-01-01 UTC]
    event, before, after : Event, State, State
        What happened, and the state it found and left.
    seen : Seen
        The newest row.
    issued : Issued, optional
        The command, if a person did it.
    reason : str, optional
        Why, in words.

    Returns
    -------
    Entry
        Details in this order: label, before, after, priority, side, value, unit, quality,
        limit, deadband, on_delay_s, off_delay_s, rig_state, bit_depth_m, hole_depth_m, who,
        station, reason. Value, limit and deadband are in the SI unit named; unknown is None.
    """
    high = alarm.high is not None
    details: dict[str, Any] = {
        "label": alarm.label,
        "before": before.value,
        "after": after.value,
        "priority": alarm.priority,
        "side": "high" if high else "low",
        "value": number(seen.value),
        "unit": units_of(channel(alarm.channel).quantity)[0].id,
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
    }
    return Entry(at, "alarm", alarm.id, event.value, details)


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
    own = {
        journal_key(key): _plain(value) for key, value in asdict(issued.command).items()
    }
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
    "flow": "flow_m3_s", "inputs": "inputs_si",
}  # fmt: skip
"""Fields of commands whose journal key carries a unit."""
