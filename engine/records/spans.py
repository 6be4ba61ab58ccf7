"""Stretches of time in a recording: rig states, connections, gaps; all over whole arrays."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from engine.alarms.entries import number
from engine.block import Block, FloatArray, Mask, Quality, Table
from engine.ops.primitives import IntArray, hold, last_good, previous
from engine.records.journal import iso
from engine.states import STATE_IDS, RigState

DARK = int(Quality.NO_DATA | Quality.STALE | Quality.LINK_DOWN)
"""Bits of a channel from which nothing comes. [-]"""

NEAR_BOTTOM_STANDS = 1.5
"""A bit this near the bottom in slips is there to add a stand; a single stand has just been
drilled down, and half of one allows for the pick-up. Common practice, no source. [-]"""

_DRILLING = (RigState.DRILLING_ROTARY, RigState.DRILLING_SLIDE)
_TRIPPING = (RigState.TRIPPING_IN, RigState.TRIPPING_OUT)


def codes(table: Table) -> IntArray:
    """Return the rig state of each row, 0 where it is not known, shape (n,). [-]"""
    code = np.nan_to_num(table["rig_state"].usable())
    code[(code < 0) | (code >= len(STATE_IDS))] = 0
    whole: IntArray = code.astype(np.intp)
    return whole


def states(table: Table, start: float, end: float) -> list[dict[str, Any]]:
    """Return the rig states from `start` to `end`, without a gap between them.

    A state begins when it was really entered (``rig_state_since``), which is before the row in
    which it was recognised. Times are whole milliseconds, so that the seconds add up.
    """
    t, code = table["rig_state"].t, codes(table)
    rows = np.flatnonzero(code != previous(code, -1))
    begin = _back_dated(t, table["rig_state_since"], rows)
    edges = np.clip(np.maximum.accumulate(begin), start, end)
    out: list[dict[str, Any]] = []
    for name, (a, b) in zip(
        (STATE_IDS[c] for c in code[rows].tolist()), pairwise([*edges.tolist(), end]), strict=True
    ):
        a, b = round(a, 3), round(b, 3)
        if out and out[-1]["state"] == name and b > a:
            out[-1]["end"] = b
        elif b > a:
            out.append({"state": name, "start": a, "end": b})
    return [
        {
            "state": one["state"],
            "start": iso(one["start"]),
            "end": iso(one["end"]),
            "seconds": round(one["end"] - one["start"], 3),
        }
        for one in out
    ]


def _back_dated(t: FloatArray, since: Block, rows: IntArray) -> FloatArray:
    """Return when the state of each of `rows` began: `since`, or the row if that says nothing.

    A date that is not past, or that was there before the change, is not the date of the change;
    taking it would wipe out the state in between.
    """
    dated = since.usable()
    new = (dated != previous(dated, np.nan)) & (dated <= t)
    begin: FloatArray = np.where(new, dated, t)[rows]
    return begin


def connections(
    table: Table, start: float, end: float, stand: float | None
) -> list[dict[str, Any]]:
    """Return every time in slips that touches `start` to `end`.

    Parameters
    ----------
    stand : float or None
        Length of a stand. [m] None if it is not known.

    Returns
    -------
    list of dict
        ``slips_in`` None: the recording began in slips; ``slips_out`` None: they are still set.
        ``kind`` is drilling, tripping or, if that cannot be told, None.
    """
    slips = table["in_slips"]
    inside = last_good(slips.usable(), 0.0) > 0.5
    turn = np.flatnonzero(inside != previous(inside, False))
    when = _back_dated(slips.t, table["slips_since"], turn)
    unseen = inside.size and inside[0] and np.isnan(table["slips_since"].usable()[0])
    bit, hole = table["bit_depth"].usable(), table["hole_depth"].usable()
    family = drilling_or_tripping(table)
    out = []
    for j in range(0, turn.size, 2):
        row = int(turn[j])
        slips_in = None if row == 0 and unseen else float(when[j])
        slips_out = float(when[j + 1]) if j + 1 < turn.size else None
        if (slips_in or start) > end or (slips_out is not None and slips_out < start):
            continue
        seconds = None
        if slips_in is not None and slips_out is not None:
            seconds = round(round(slips_out, 3) - round(slips_in, 3), 3)
        depths = number(bit[row]), number(hole[row])
        out.append(
            {
                "slips_in": _time(slips_in),
                "slips_out": _time(slips_out),
                "seconds": seconds,
                "bit_depth_m": depths[0],
                "hole_depth_m": depths[1],
                "kind": kind_of(int(family[row]), depths, stand),
            }
        )
    return out


def drilling_or_tripping(table: Table) -> IntArray:
    """Return the newest of drilling (1) or tripping (2) up to each row, 0 before either, (n,)."""
    code = codes(table)
    drilling, tripping = np.isin(code, _DRILLING), np.isin(code, _TRIPPING)
    family: IntArray = hold(np.where(drilling, 1, 2), drilling | tripping, 0)
    return family


def kind_of(
    family: int, depths: tuple[float | None, float | None], stand: float | None
) -> str | None:
    """Return what a time in slips was for: drilling, tripping, None if that cannot be told.

    Parameters
    ----------
    family : int
        From `drilling_or_tripping`, at its first row. [-]
    depths : (float or None, float or None)
        Bit and hole there. [m]
    stand : float or None
        Length of a stand. [m]
    """
    bit, hole = depths
    if family != 1:
        return "tripping" if family == 2 else None
    if bit is None or hole is None or stand is None:
        return None
    return "drilling" if hole - bit <= NEAR_BOTTOM_STANDS * stand else "tripping"


def _time(at: float | None) -> str | None:
    return None if at is None else iso(at)


def gaps(
    table: Table, raw: Sequence[str], mapped: Sequence[str], limits: tuple[float, float, float]
) -> list[dict[str, Any]]:
    """Return the stretches in which a channel that should send did not.

    Parameters
    ----------
    raw : sequence of str
        Channels a feed may fill.
    mapped : sequence of str
        Those of them that a feed is set up to fill; one never received is a gap throughout.
    limits : (start, end, stale_after)
        The window, and the age beyond which a value is no longer shown. [s]

    Returns
    -------
    list of dict
        By time; channels with the very same gap are together. A gap that is not over ends with
        the window.
    """
    start, end, stale_after = limits
    found: dict[tuple[float, float], list[str]] = {}
    for name in raw:
        seen = ~np.isnan(table[name].value)
        if seen.any():
            spans = _dark(table[name], seen, stale_after)
        else:
            spans = [(start, end)] if name in mapped else []
        for a, b in spans:
            if a <= end and b > start:
                found.setdefault((max(a, start), min(b, end)), []).append(name)
    return [
        {"start": iso(a), "end": iso(b), "channels": names}
        for (a, b), names in sorted(found.items())
    ]


def _dark(block: Block, seen: Mask, stale_after: float) -> list[tuple[float, float]]:
    """Return when a channel that had sent something sent nothing. [s]

    Either its rows say so, or there are no rows: nobody was watching.
    """
    t, n = block.t, len(block)
    dark = ((block.quality & np.uint16(DARK)) != 0) & np.maximum.accumulate(seen)
    turn = np.flatnonzero(dark != previous(dark, False))
    first, after = turn[0::2], turn[1::2]
    ends = np.append(t[after], [np.inf] * (first.size - after.size))
    spans = list(zip(t[first].tolist(), ends.tolist(), strict=True))
    alone = np.flatnonzero(np.diff(t) > stale_after)
    alone = alone[np.maximum.accumulate(seen)[alone] & ~dark[alone]]
    for i in alone.tolist():
        joins = i + 1 < n and bool(dark[i + 1])
        a, b = float(t[i]) + stale_after, float(t[i + 1])
        if joins:
            spans = [(a, y) if x == b else (x, y) for x, y in spans]
        else:
            spans.append((a, b))
    return spans


def missing(
    table: Table, raw: Sequence[str], limits: tuple[float, float, float]
) -> tuple[int, float]:
    """Return how many rows carry something fresh, and for how long nothing fresh was known.

    Parameters
    ----------
    raw : sequence of str
        Channels a feed may fill.
    limits : (start, end, stale_after)
        The window, and the age up to which a value still counts as known. [s]

    Returns
    -------
    frames : int
        Rows of the window in which at least one channel was received with a value. [-]
    missing : float
        Time in the window in which the newest value of any channel was older than
        `stale_after`, or in which there had not been one yet. [s]
    """
    start, end, stale_after = limits
    t = table[raw[0]].t
    fresh = np.zeros(t.size, np.bool_)
    for name in raw:
        block = table[name]
        fresh |= ((block.quality & np.uint16(Quality.HELD)) == 0) & ~np.isnan(block.value)
    at = t[fresh]
    begin = np.append(t[:1], at + stale_after)  # before the first value there is none at all
    over = np.append(at, max(end, float(t[-1])))
    dark = np.clip(over, start, end) - np.clip(begin, start, end)
    frames = int(np.count_nonzero((at >= start) & (at <= end)))
    return frames, round(float(np.maximum(dark, 0.0).sum()), 3)
