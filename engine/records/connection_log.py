"""Every connection of a recording: its figures, what happened when, and how long each part took.

A state is dated to its first row; the slips to when they were really set or pulled. What a
channel does not tell makes only those figures unknown that need it.

References
----------
.. [1] Common practice, no source: pumps are off below a tenth of the drilling flow and on again
   above nine tenths; surveys, flow checks and circulating are told apart from the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.alarms.entries import number
from engine.alarms.model import State
from engine.block import FloatArray, Mask, Quality, Table
from engine.config import WellConfig
from engine.interfaces import JournalLine, Recording
from engine.ops.bottom import LEAST_WEIGHT
from engine.ops.flow import FLOWING
from engine.ops.primitives import NAN, IntArray, hold, last_good, previous
from engine.ops.table import pick, times
from engine.records.journal import read
from engine.records.spans import codes, drilling_or_tripping, kind_of
from engine.states import STATE_IDS, RigState
from engine.well.answer import Answer, Unknown
from engine.well.connection_times import (
    HOLD,
    LONGEST_GAP,
    Connection,
    Record,
    connections,
    steady,
)

CHANNELS = (
    "in_slips", "slips_since", "flow_in", "weight_on_bit", "on_bottom", "bit_depth", "hole_depth",
    "block_position", "rig_state",
)  # fmt: skip
"""What the log is made from."""
OFF_SHARE, ON_SHARE = 0.1, 0.9
"""Of the drilling flow: pumps off below, on above [1]_. [-]"""
DONE_ON_PURPOSE = {RigState.CIRCULATING: 300.0, RigState.STATIC: 300.0}
"""More of it within a connection is no part of making one: hole cleaning, or a flow check or
survey. [s] common practice, no source"""
URGENT = 2
"""An alarm of this priority or above within a connection sets it apart. [-]"""
PAIRS = {
    "on_bottom": ("left_bottom", "on_bottom"),
    "weight_on_bit": ("weight_off", "weight_on"),
    "flow_in": ("pumps_off", "pumps_on"),
}
"""Channel to the moments it tells, before and after the slips; the slips tell the others."""
NEEDS = {name: channel for channel, pair in PAIRS.items() for name in pair}
"""Moment to the channel that tells it."""
_WORDS = {"flow_in": "flow in", "weight_on_bit": "weight on bit", "on_bottom": "on bottom"}


@dataclass(frozen=True, slots=True)
class Logged:
    """One time in slips and what was around it."""

    times: Connection
    """Moments and figures, each a number or the reason why there is none."""
    row: int
    """First row in slips. [-]"""
    pulled: int
    """First row out of them again; the number of rows if they are still set. [-]"""
    kind: str | None
    """drilling, tripping, None: cannot be told."""
    bit_depth: float | None
    """With the slips set. [m]"""
    hole_depth: float | None
    """[m]"""
    travel: Answer
    """Of the block while in slips, up positive: the stand as measured. [m]"""
    spent: Mapping[str, float]
    """Rig state to how long it lasted between weight off and weight on, or between the outermost
    moments known. [s]"""
    excluded: str = ""
    """Why it is no part of a target."""

    @property
    def at(self) -> float | None:
        """When the slips were set. [s since 1970-01-01 UTC]"""
        at = self.times.at["slips_set"]
        return None if isinstance(at, Unknown) else at


def connection_log(recording: Recording, config: WellConfig) -> tuple[Logged, ...]:
    """Return every time in slips of a recording, by time; alarms make it no part of a target."""
    held = [name for name in CHANNELS if name in recording.channels()]
    if recording.span() is None or not held:
        return ()
    log = connections_of(recording.rows(channels=held), config)
    return tuple(_with_alarms(log, recording.journal()))


def connections_of(table: Table, config: WellConfig) -> tuple[Logged, ...]:
    """Return every time in slips of a table of rows.

    Parameters
    ----------
    table : mapping
        Channel id to `Block`, shape (n,), one time array; a channel of `CHANNELS` that is not
        there is unknown. [SI]
    config : WellConfig
        Length of a stand, usual flow.
    """
    t = times(table)
    if not t.size:
        return ()
    slips, slips_known = _slips(table)
    flow = pick(table, "flow_in").usable()
    load = pick(table, "weight_on_bit")
    drag = (load.quality & np.uint16(Quality.NOT_APPLICABLE)) != 0
    # In slips or while the string is moved there is no weight, whatever else is not known.
    weight = np.where(slips | drag, 0.0, load.usable())
    bottom = np.where(slips, 0.0, pick(table, "on_bottom").usable())
    biting, biting_known = _held(t, weight > LEAST_WEIGHT, ~np.isnan(weight))
    # Weight shows bottom some seconds before the channel is sure of it.
    on, on_known = _held(t, (bottom > 0.5) | (weight > LEAST_WEIGHT), ~np.isnan(bottom))
    pumping = _pumping(flow, slips, biting, config)
    _, flow_known = _held(t, pumping, ~np.isnan(flow))
    known = {"flow_in": flow_known, "weight_on_bit": biting_known, "on_bottom": on_known}
    found = _timed(Record(t, slips, pumping, biting, on), slips_known, known)
    return tuple(_logged(table, config, steady(t, slips, HOLD["slips"]), found))


def _slips(table: Table) -> tuple[Mask, Mask]:
    """Return in slips, from the row at which they were really set or pulled, and if known."""
    block, since = pick(table, "in_slips"), pick(table, "slips_since").usable()
    t, value = block.t, block.usable()
    inside = last_good(value, 0.0) > 0.5
    for i in np.flatnonzero(inside != previous(inside, bool(inside[:1].sum()))).tolist():
        start = int(np.searchsorted(t[:i], since[i] - 1e-6)) if since[i] <= t[i] else i
        inside[start:i] = inside[i]
    return _held(t, inside, ~np.isnan(value))


def _held(t: FloatArray, state: Mask, known: Mask) -> tuple[Mask, Mask]:
    """Return `state` held while unknown, and whether it was known lately, shape (n,)."""
    at = hold(t, known, -np.inf)
    return hold(state, known, False), t - at <= LONGEST_GAP


def _pumping(flow: FloatArray, slips: Mask, biting: Mask, config: WellConfig) -> Mask:
    """Return where the pumps are on: each stand is measured by its own drilling flow."""
    stand = np.cumsum(~slips & previous(slips, False))
    usual = config.profile.flow_normal or NAN
    drilling = biting & (flow > FLOWING)
    own = np.full(int(stand[-1]) + 1, NAN)
    for k in np.unique(stand[drilling]).tolist():
        own[k] = np.median(flow[drilling & (stand == k)])
    before, after = last_good(own, NAN), last_good(own[::-1], NAN)[::-1]
    usual_of = np.where(np.isnan(before), after, before)
    share = flow / np.where(np.isnan(usual_of), usual, usual_of)[stand]
    on, off = share >= ON_SHARE, share <= OFF_SHARE
    return hold(on, on | off, False)


def _timed(record: Record, slips_known: Mask, known: Mapping[str, Mask]) -> list[Connection]:
    """Time all connections; a moment is lost only with the channel that tells it."""
    whole = connections(record)
    by_channel = {
        name: connections(replace(record, known=mask & slips_known)) for name, mask in known.items()
    }
    bare = connections(replace(record, known=slips_known))
    out = []
    n, inside = record.t.size, steady(record.t, record.slips, HOLD["slips"])
    turn = [0, *np.flatnonzero(inside[1:] != inside[:-1]) + 1, n]
    if n and inside[0]:
        turn.insert(0, 0)
    for k, one in enumerate(whole):
        before, after = turn[2 * k : 2 * k + 2], turn[2 * k + 2 : 2 * k + 4] or [n, n]
        at = dict(bare[k].at)
        for name, channel in NEEDS.items():
            alone = by_channel[channel][k]
            at[name] = alone.at[name]
            a, b = before if name == PAIRS[channel][0] else (after[0], after[-1])
            if isinstance(at[name], Unknown) and not known[channel][a:b].all():
                at[name] = Unknown(f"{_WORDS[channel]} was not known")
        for channel, (off, on) in PAIRS.items():
            # Lost in between, the first time that it came back may have been missed.
            gaps = by_channel[channel][k].gaps
            start = "slips_set" if isinstance(at[off], Unknown) else off
            lost = gaps[on] - gaps[start] != one.gaps[on] - one.gaps[start]
            if lost and not isinstance(at[on], Unknown):
                at[on] = Unknown(f"{_WORDS[channel]} was lost meanwhile")
        out.append(Connection(at, one.gaps))
    return out


def _logged(
    table: Table, config: WellConfig, slips: Mask, found: Sequence[Connection]
) -> list[Logged]:
    t = times(table)
    turn = np.flatnonzero(slips != previous(slips, False))
    bit, hole = pick(table, "bit_depth").usable(), pick(table, "hole_depth").usable()
    z = pick(table, "block_position").usable()
    state = pick(table, "rig_state")
    code = codes({"rig_state": state})
    family = drilling_or_tripping({"rig_state": state})
    out: list[Logged] = []
    for k, one in enumerate(found):
        row = int(turn[2 * k])
        pulled = int(turn[2 * k + 1]) if 2 * k + 1 < turn.size else t.size
        depths = number(float(bit[row])), number(float(hole[row]))
        kind = kind_of(int(family[row]), depths, config.rig.stand_length)
        spent = _spent(t, code, one)
        why = _set_apart(spent, out[-1].kind if out else None) if kind == "drilling" else ""
        travel = _travel(z, slips, row, pulled)
        out.append(Logged(one, row, pulled, kind, *depths, travel, spent, why))
    return out


def _travel(z: FloatArray, slips: Mask, row: int, pulled: int) -> Answer:
    if row == 0:
        return Unknown("slips set is not in the record")
    if pulled == slips.size:
        return Unknown("slips out is not in the record")
    inside = np.flatnonzero(~np.isnan(z[row:pulled])) + row
    if not inside.size or inside[0] - row > 3 or pulled - inside[-1] > 4:
        return Unknown("the block position is not known")
    # Medians of a few rows, and not the first: the block still settles while slips take hold.
    few = min(3, inside.size)
    return float(np.median(z[inside[-few:]]) - np.median(z[inside[:few]]))


def _spent(t: FloatArray, code: IntArray, one: Connection) -> dict[str, float]:
    """Return how long each rig state lasted within the connection. [s]"""
    known = [at for at in one.at.values() if not isinstance(at, Unknown)]
    if len(known) < 2:
        return {}
    start, end = (one.at[name] for name in ("weight_off", "weight_on"))
    first = min(known) if isinstance(start, Unknown) else start
    last = max(known) if isinstance(end, Unknown) else end
    a, b = np.searchsorted(t, [first - 1e-6, last - 1e-6])
    lasts = np.diff(t[a : b + 1])
    seconds = np.bincount(code[a : a + lasts.size], lasts, len(STATE_IDS))
    return {STATE_IDS[i]: float(s) for i, s in enumerate(seconds) if s > 0}


def _set_apart(spent: Mapping[str, float], before: str | None) -> str:
    """Return why a connection is no part of a target, empty if it is."""
    if before == "tripping":
        return "first after a trip"
    for state, limit in DONE_ON_PURPOSE.items():
        if (seconds := spent.get(state.id, 0.0)) > limit:
            words = "circulated" if state is RigState.CIRCULATING else "stood still"
            return f"{words} for {seconds / 60:.0f} min"
    return ""


def _with_alarms(log: Sequence[Logged], lines: Sequence[JournalLine]) -> list[Logged]:
    """Set connections apart in which an alarm was told."""
    told = []
    for line in lines:
        if '"trip"' not in line.text:
            continue
        fields = read(line)
        trip = fields["kind"] == "alarm" and fields["event"] == "trip"
        if trip and fields["after"] == State.UNACKNOWLEDGED and fields["priority"] <= URGENT:
            told.append((line.at, str(fields.get("label") or fields["id"])))
    out = []
    for one in log:
        known = [at for at in one.times.at.values() if not isinstance(at, Unknown)]
        names = [name for at, name in told if known and min(known) <= at <= max(known)]
        if names and not one.excluded and one.kind == "drilling":
            one = replace(one, excluded=f"alarm: {names[0]}")
        out.append(one)
    return out
