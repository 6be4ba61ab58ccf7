"""Pick-up, slack-off and rotating weight of every stand of a recording, and where drag is going.

References
----------
.. [1] C. A. Johancsik, D. B. Friesen and R. Dawson, Torque and drag in directional wells:
   prediction and measurement, SPE 11380 (1984), from memory: drag is what the hook carries more,
   or less, than the rotating string.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, Table
from engine.interfaces import Recording
from engine.ops.drag import CHANNELS
from engine.ops.primitives import last_good, previous
from engine.ops.table import pick, times
from engine.records.in_spans import in_spans
from engine.well import weight_drag
from engine.well.answer import Answer, Unknown

NEEDS = ("in_slips", "bit_depth", "expected_hook_load", *CHANNELS)
SPAN_S = 6 * 3600.0
"""Read at once; any span gives the same. [s]"""
LAST = 5
"""Stands that a trend is taken over. [-] common practice, no source"""
LEAST = 3
"""With fewer weights there is no trend. [-]"""
NOT_TAKEN = Unknown("the string did not move steadily in this way")
NO_DEPTH = Unknown("the bit depth is unknown")
NOT_EXPECTED = Unknown("the expected hook load is unknown")
OLD = np.uint16(Quality.HELD | Quality.OLD_REFERENCE)


@dataclass(frozen=True, slots=True)
class StandDrag:
    """One time out of the slips in which a weight was taken; loads as at the hook."""

    began: float
    """First row out of the slips. [s since 1970-01-01 UTC]"""
    ended: float
    """Last one. [s since 1970-01-01 UTC]"""
    depth: Answer = NO_DEPTH
    """Of the bit when a weight was last taken. [m]"""
    pick_up: Answer = NOT_TAKEN
    """Steadily up, without rotation. [N]"""
    slack_off: Answer = NOT_TAKEN
    """Steadily down, without rotation. [N]"""
    rotating: Answer = NOT_TAKEN
    """Turning off bottom. [N]"""
    expected: Answer = NOT_EXPECTED
    """By the well file, when a weight was last taken. [N]"""

    @property
    def free(self) -> Answer:
        """What drag is counted from: the rotating weight; not taken, the expected load. [N]"""
        return self.expected if isinstance(self.rotating, Unknown) else self.rotating

    @property
    def up_drag(self) -> Answer:
        """Pick-up weight above the free one. [N]"""
        return weight_drag.up_drag(self.pick_up, self.free)

    @property
    def down_drag(self) -> Answer:
        """Slack-off weight below the free one. [N]"""
        return weight_drag.down_drag(self.free, self.slack_off)

    @property
    def gap(self) -> Answer:
        """Mean of pick-up and slack-off weight less rotating weight: near 0 if sound. [N]"""
        return weight_drag.rotating_gap(self.pick_up, self.slack_off, self.rotating)


def drag_log(recording: Recording) -> tuple[StandDrag, ...]:
    """Return the weights of each stand, in order of time.

    Parameters
    ----------
    recording : Recording
        A channel it does not hold is unknown; without ``in_slips`` there are no stands.

    Returns
    -------
    tuple of StandDrag
        Stands without any weight are left out. Of several weights of a kind the last counts.
    """
    walk = _Walk()
    for table in _tables(recording):
        walk.take(table)
    return walk.stands()


def trend(values: Sequence[Answer], last: int = LAST) -> Answer:
    """Least-squares slope over the `last` of `values`, unknown ones passed over.

    Parameters
    ----------
    values : sequence of Answer
        One a stand, such as its up-drag. [N]
    last : int
        How many stands count, known or not. [-]

    Returns
    -------
    float or Unknown
        Change a stand. [N] Unknown with fewer than 3 known values.
    """
    newest = values[len(values) - last :] if last < len(values) else values
    known = [(i, v) for i, v in enumerate(newest) if not isinstance(v, Unknown)]
    if len(known) < LEAST:
        return Unknown(f"{len(known)} of the last {last} stands have it; a trend takes {LEAST}")
    x, y = np.array(known, np.float64).T
    x = x - x.mean()
    return float((x * (y - y.mean())).sum() / (x * x).sum())


def _tables(recording: Recording) -> Iterator[Table]:
    held = set(recording.channels())
    if "in_slips" in held:
        yield from in_spans(recording, SPAN_S, [channel for channel in NEEDS if channel in held])


@dataclass(slots=True)
class _Walk:
    """Goes through the rows in order of time."""

    found: list[StandDrag] = field(default_factory=list)
    open: bool = False
    """The last of `found` is still out of the slips."""
    slips: float = np.nan

    def take(self, table: Table) -> None:
        t = times(table)
        slips = last_good(pick(table, "in_slips").usable(), self.slips)
        loads = [_new(pick(table, name)) for name in CHANNELS]
        depth, expected = (pick(table, name).usable() for name in NEEDS[1:3])
        edges = np.flatnonzero(slips != previous(slips, np.nan)).tolist()
        for a, b in zip([0, *edges], [*edges, t.size], strict=True):
            if a == b:
                continue
            if slips[a] != 0.0:
                self.open = False
                continue
            if not self.open:
                self.found.append(StandDrag(float(t[a]), float(t[a])))
                self.open = True
            self.found[-1] = _with(
                replace(self.found[-1], ended=float(t[b - 1])),
                [x[a:b] for x in loads], depth[a:b], expected[a:b],
            )  # fmt: skip
        self.slips = float(slips[-1])

    def stands(self) -> tuple[StandDrag, ...]:
        weights = ((s, (s.pick_up, s.slack_off, s.rotating)) for s in self.found)
        return tuple(s for s, w in weights if not all(isinstance(x, Unknown) for x in w))


def _new(block: Block) -> FloatArray:
    """Weights where they were taken, NaN where an older one is repeated, shape (n,). [N]"""
    repeated: Mask = (block.quality & OLD) != 0
    return np.where(repeated, np.nan, block.usable())


def _with(
    stand: StandDrag, loads: Sequence[FloatArray], depth: FloatArray, expected: FloatArray
) -> StandDrag:
    """Return `stand` with what more rows of it hold."""
    taken = [np.flatnonzero(~np.isnan(load)) for load in loads]
    newest = max((int(k[-1]) for k in taken if k.size), default=None)
    if newest is None:
        return stand
    values = {
        name: float(load[k[-1]])
        for name, load, k in zip(("pick_up", "slack_off", "rotating"), loads, taken, strict=True)
        if k.size
    }
    for name, column in (("depth", depth), ("expected", expected)):
        if not np.isnan(column[newest]):
            values[name] = float(column[newest])
    return replace(stand, **values)
