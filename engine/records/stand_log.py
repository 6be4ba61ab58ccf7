"""Every stand of a recording: its length, how it was connected, drilled, and what it weighed.

A stand lasts from the slips out of which it was pulled to those it was set in, or to the end of
the recording. Its length is the travel of the block while in slips; the tally of the well file,
if there is one, says what it should be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from engine.alarms.entries import number
from engine.block import Block, FloatArray, Mask, Quality, Table
from engine.config import WellConfig
from engine.interfaces import Recording
from engine.ops.drag import CHANNELS as LOADS
from engine.ops.primitives import last_good
from engine.ops.table import pick, times
from engine.records.connection_log import CHANNELS as CONNECTION_CHANNELS
from engine.records.connection_log import Logged, connections_of
from engine.records.per_metre import EDIT, GAP_S
from engine.records.tally_log import (
    bit_by_tally,
    change_of,
    stand_changed,
    tally_at_end,
    tally_of,
)
from engine.well.answer import Answer, Unknown
from engine.well.tally import Tally, off_tally
from engine.well.weight_drag import down_drag, up_drag

CHANNELS = (*CONNECTION_CHANNELS, *LOADS)
"""What the log is made from."""
FIRST = Unknown("it was made up before the recording began")
RUNS_ON = Unknown("the stand is not in slips yet")
NOT_WEIGHED = Unknown("not weighed on this stand")
NOTHING = Unknown("nothing was recorded")
FEW = Unknown("weighed on fewer than three stands")


@dataclass(frozen=True, slots=True)
class StandLogged:
    """One stand, from slips to slips."""

    start: float
    """Slips out, or the first row. [s since 1970-01-01 UTC]"""
    end: float
    """Slips set, or the last row. [s since 1970-01-01 UTC]"""
    connection: Logged | None
    """The time in slips before it; None for what came before the first one."""
    change: int | Unknown
    """1: it was made up in those slips, -1: another one was broken out. [-]"""
    length: Answer
    """What was made up or broken out, as the block travelled. [m]"""
    number: Answer
    """Of that stand in the tally, from the bottom. [-]"""
    tally: Answer
    """Its length by tally. [m]"""
    off: bool | Unknown
    """The two lengths differ by more than a reading can."""
    bit_depth: float | None
    """At its end. [m]"""
    bit_by_tally: Answer
    """The same by tally. [m]"""
    drilled: float
    """New hole seen being drilled. [m]"""
    drilled_time: float
    """On bottom. [s]"""
    loads: dict[str, Answer]
    """Channel of `LOADS` to the weight found on this stand. [N]"""

    @property
    def rate(self) -> Answer:
        """Mean rate of penetration over the time on bottom. [m/s]"""
        if not self.drilled_time > 0:
            return Unknown("no on-bottom time was seen")
        return self.drilled / self.drilled_time

    @property
    def drag_up(self) -> Answer:
        """Pick-up less rotating weight. [N]"""
        return up_drag(self.loads["pick_up_load"], self.loads["rotating_load"])

    @property
    def drag_down(self) -> Answer:
        """Rotating less slack-off weight. [N]"""
        return down_drag(self.loads["rotating_load"], self.loads["slack_off_load"])


@dataclass(frozen=True, slots=True)
class StandLog:
    """All stands of a recording."""

    stands: tuple[StandLogged, ...] = ()
    tally: Tally | Unknown = NOTHING
    """With what is in the hole at the end."""

    def trend(self, drag: str) -> Answer:
        """Return how ``drag_up`` or ``drag_down`` grows with depth. [N/m]

        The median slope between any two stands (P. K. Sen, Estimates of the Regression
        Coefficient Based on Kendall's Tau, JASA 63 (1968) 1379): one odd stand does not bend it.
        """
        points = [
            (one.bit_depth, found)
            for one in self.stands
            if isinstance(found := getattr(one, drag), float) and one.bit_depth is not None
        ]
        slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if b[0] > a[0]]
        return float(np.median(slopes)) if len(points) >= 3 and slopes else FEW


def stand_log(recording: Recording, config: WellConfig) -> StandLog:
    """Return all stands of a recording."""
    held = [name for name in CHANNELS if name in recording.channels()]
    if recording.span() is None or not held:
        return StandLog()
    return stands_of(recording.rows(channels=held), config)


def stands_of(table: Table, config: WellConfig) -> StandLog:
    """Return all stands of a table of rows.

    Parameters
    ----------
    table : mapping
        Channel id to `Block`, shape (n,); a channel of `CHANNELS` not there is unknown. [SI]
    config : WellConfig
        Length of a stand, tally.
    """
    t = times(table)
    if not t.size:
        return StandLog()
    log = connections_of(table, config)
    ends: list[tuple[Logged | None, Logged | None]] = [*pairwise([None, *log, None])]
    stands = [
        one for before, after in ends if (one := _stand(table, config, before, after)) is not None
    ]
    return StandLog(tuple(stands), tally_at_end(log, config, t.size))


def _stand(
    table: Table, config: WellConfig, before: Logged | None, after: Logged | None
) -> StandLogged | None:
    """Return the stand between two times in slips; None if there is no row between them."""
    t = times(table)
    a, b = before.pulled if before else 0, after.row if after else t.size
    if a >= b:
        return None
    tally = tally_of(config)
    changed = FIRST if before is None else stand_changed(before, tally, config)
    length: Answer = FIRST if before is None else before.travel
    length = length if isinstance(length, Unknown) else abs(length)
    by_tally = changed if isinstance(changed, Unknown) else changed.length
    bit = last_good(pick(table, "bit_depth").usable()[a:b], float("nan"))[-1]
    drilled, drilled_time = _drilled(table, a, b)
    return StandLogged(
        float(t[a]),
        float(t[b if after else b - 1]),
        before,
        FIRST if before is None else change_of(before, config),
        length,
        changed if isinstance(changed, Unknown) else float(changed.number),
        by_tally,
        length if isinstance(length, Unknown) else off_tally(length, by_tally),
        number(float(bit)) if after is None else after.bit_depth,
        RUNS_ON if after is None else bit_by_tally(tally, after, config),
        drilled,
        drilled_time,
        {name: _load(pick(table, name), a, b) for name in LOADS},
    )


def _drilled(table: Table, a: int, b: int) -> tuple[float, float]:
    """Return the hole made in rows `a` to `b` [m] and the time on bottom [s], as per metre."""
    part = slice(max(a - 1, 0), b)
    hole: FloatArray = pick(table, "hole_depth").usable()[part]
    on = pick(table, "on_bottom").usable()[part][1:] == 1.0
    dt, made = np.diff(times(table)[part]), np.diff(hole)
    use: Mask = on & (dt > 0) & (dt <= GAP_S) & (made >= 0) & (made <= EDIT)
    return float(made[use].sum()), float(dt[use].sum())


def _load(block: Block, a: int, b: int) -> Answer:
    """Return the newest weight taken on this stand; one from before the slips is not its own."""
    own = block.good & ((block.quality & np.uint16(Quality.OLD_REFERENCE)) == 0)
    rows = np.flatnonzero(own[a:b])
    return float(block.value[a + rows[-1]]) if rows.size else NOT_WEIGHED


def stands_only(log: Sequence[StandLogged]) -> list[StandLogged]:
    """Return those that drilled something or for which a stand was changed."""
    return [one for one in log if one.drilled > 0 or one.change in (1, -1)]
