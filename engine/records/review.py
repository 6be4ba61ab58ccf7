"""What happened on a tour, worked out from its recording alone: one JSON object."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from typing import Any

from engine.alarms.entries import number
from engine.block import FloatArray, Table
from engine.channels import RAW
from engine.config import WellConfig, parse_config
from engine.errors import ConfigError, InputError
from engine.interfaces import Recording
from engine.records.happened import alarms_between, events_between
from engine.records.journal import iso
from engine.records.sight import blind_between
from engine.records.spans import connections, gaps, missing, states
from engine.records.trial_log import trials_between

STALE_AFTER = 5.0
"""Age up to which a value counts as known if the well file cannot be read; it is also what a
feed has that says nothing about it. [s]"""

_DERIVED = (
    "rig_state", "rig_state_since", "in_slips", "slips_since", "bit_depth", "hole_depth",
)  # fmt: skip


def review(
    recording: Recording, start: float | None = None, end: float | None = None
) -> dict[str, Any]:
    """Review a recording, or the part of it from `start` to `end`.

    Parameters
    ----------
    recording : Recording
        Only read.
    start, end : float, optional
        Window; cut to what was recorded. [s since 1970-01-01 UTC]

    Returns
    -------
    dict
        JSON values only; times are ISO 8601 UTC, lengths metres, alarm values in the SI unit
        named beside them, and None is what is not known. Keys: recording; span (start, end,
        frames, missing_s); states (state, start, end, seconds), one after the other over the
        whole span; connections (slips_in, slips_out, seconds, bit_depth_m, hole_depth_m, kind);
        depth (bit_m, hole_m: first and last); alarms (id, priority, raised, acknowledged,
        cleared, value, limit, unit); events (kind, at, severity, evidence); trials (as
        `engine.records.trial_log.trials_between` gives them); blind (kind,
        minutes within the window, reasons, spells): detectors that could not see; gaps (start,
        end, channels).

        States, connections and alarms are those that touch the window; a connection or alarm
        keeps its own times even where they lie outside of it.

    Raises
    ------
    InputError
        If the window ends before it starts, or lies outside of the recording.
    """
    if start is not None and end is not None and end < start:
        raise InputError(f"review: the window ends at {iso(end)}, before its start {iso(start)}")
    whole = recording.span()
    lines = recording.journal()
    asked = _or(start, float("-inf")), _or(end, float("inf"))
    told = {
        "alarms": alarms_between(lines, *asked),
        "events": events_between(lines, *asked),
        "trials": trials_between(lines, *asked),
    }
    if whole is None:
        return _nothing(recording) | told
    first, last = max(_or(start, whole[0]), whole[0]), min(_or(end, whole[1]), whole[1])
    if first > last:
        raise InputError(
            f"review: nothing was recorded in the window; "
            f"the recording runs from {iso(whole[0])} to {iso(whole[1])}"
        )
    meta = recording.meta()
    config, mapped = _config(meta), _listed(meta, "channels_mapped")
    raw = tuple(name for name in RAW if mapped is None or name in mapped) or RAW
    expected = _listed(meta, "channels_expected") or ()
    table = recording.rows(channels=(*raw, *_DERIVED))
    limits = first, last, _stale_after(config)
    frames, missing_s = missing(table, raw, limits)
    return {
        "recording": recording.path,
        "span": {
            "start": iso(first),
            "end": iso(last),
            "frames": frames,
            "missing_s": missing_s,
        },
        "states": states(table, first, last),
        "connections": connections(table, first, last, config.rig.stand_length if config else None),
        "depth": {
            "bit_m": _ends(table, "bit_depth", first, last),
            "hole_m": _ends(table, "hole_depth", first, last),
        },
        **told,
        "blind": blind_between(lines, first, last),
        "gaps": gaps(table, raw, expected, limits),
    }


def _nothing(recording: Recording) -> dict[str, Any]:
    return {
        "recording": recording.path,
        "span": {"start": None, "end": None, "frames": 0, "missing_s": None},
        "states": [],
        "connections": [],
        "depth": {"bit_m": [None, None], "hole_m": [None, None]},
        "alarms": [],
        "events": [],
        "trials": [],
        "blind": [],
        "gaps": [],
    }


def _or(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given


def _ends(table: Table, name: str, start: float, end: float) -> list[float | None]:
    """Return the first and last known value in the window. [SI]"""
    block = table[name]
    inside = (block.t >= start) & (block.t <= end)
    known: FloatArray = block.value[inside & block.good]
    return [number(known[0]), number(known[-1])] if known.size else [None, None]


def _config(meta: Mapping[str, str]) -> WellConfig | None:
    """Return the well file in the recording's head, None if this program cannot read it."""
    try:
        return parse_config(tomllib.loads(meta.get("well_file", "")), "well_file")
    except (ConfigError, tomllib.TOMLDecodeError):
        return None


def _listed(meta: Mapping[str, str], key: str) -> tuple[str, ...] | None:
    """Return the channels listed in the head under `key`, None if that is not on record."""
    text = meta.get(key)
    return None if text is None else tuple(str(name) for name in json.loads(text))


def _stale_after(config: WellConfig | None) -> float:
    """Return the age beyond which no feed's value is shown any more. [s]"""
    feeds = config.feeds if config else ()
    return max((feed.stale_after for feed in feeds), default=STALE_AFTER)
