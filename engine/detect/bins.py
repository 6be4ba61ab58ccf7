"""Rows gathered into bins of five seconds: what the slow detectors look at.

A bin holds all rows of one span of time, so its medians are the same however the rows are cut
into blocks. Detectors may loop over bins: twelve hours are 8,640 of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, QualityArray, Table
from engine.detect.medians import medians
from engine.ops.primitives import IntArray
from engine.ops.table import pick, times
from engine.ops.windows import rows_of

BIN_S = 5.0
"""Half of the shortest time that a call by volume or pressure may take; noise of the usual
level gauges has a time constant of 5 to 10 s, so a shorter bin would tell nothing more. [s]"""

MEDIANS = (
    "pit_volume",
    "trip_tank_volume",
    "reserve_volume",
    "flow_in",
    "flow_in_measured",
    "flow_out",
    "flow_out_share",
    "flow_difference",
    "standpipe_pressure",
    "annulus_pressure",
    "annulus_b_pressure",
    "kill_line_pressure",
    "pump_1_rate",
    "pump_2_rate",
    "pump_3_rate",
    "rotary",
    "torque",
    "hook_load",
    "weight_on_bit",
    "rop",
    "block_speed",
    "expected_pressure",
    "temperature_in",
    "temperature_out",
    "density_in",
    "density_out",
    "gas",
    "overpull",
)
"""Channels of which a bin keeps the median of the good samples: one wild reading is none. [-]"""
NEWEST = (
    "rig_state",
    "in_slips",
    "on_bottom",
    "bit_depth",
    "hole_depth",
    "lagged_depth",
    "block_position",
    "stand_count",
    "stand_length",
    "lag_strokes",
    "strokes",
    "trip_fill_difference",
    "trip_fill_expected",
    "trip_fill_actual",
    "trip_tank_unusable",
    "advised_block_speed",
)
"""Channels of which a bin keeps the newest sample, NaN if that is not good. [-]"""
MEANS = {"flow_in_mean": "flow_in"}
"""Means of the good samples within a tenth of the median. A counter of whole strokes moves a median
by half a stroke, which is 1 per cent of the pressure; its noise evens that out in a mean. [-]"""
NEAR = 0.1
AT_ONCE = 8192
"""Rows of all channels that fit into a fast cache. [-]"""
_ALL = (*MEDIANS, *NEWEST)


@dataclass(frozen=True, slots=True, eq=False)
class Bins:
    """The m bins that a block has closed; every array has the shape (m,)."""

    row: IntArray
    """Row of the block with which each became known: the first row after its end. [-]"""
    t: FloatArray
    """End. [s since 1970-01-01 UTC]"""
    values: Mapping[str, FloatArray]
    """Median or newest good value by channel, NaN where there is none. [SI]"""
    quality: Mapping[str, QualityArray]
    """Bits of the newest sample by channel; `Quality` says why there is no value. [-]"""

    def __len__(self) -> int:
        return int(self.t.size)

    def __getitem__(self, channel_id: str) -> FloatArray:
        return self.values[channel_id]

    def known(self, *channel_ids: str) -> Mask:
        """Bins in which all `channel_ids` have a value, shape (m,). [-]"""
        out = np.ones(len(self), np.bool_)
        for name in channel_ids:
            out &= ~np.isnan(self.values[name])
        return out


@dataclass(frozen=True, slots=True, eq=False)
class BinsState:
    """The rows of the bin that is still open."""

    slot: int = -1
    """Number of the bin. [-]"""
    value: FloatArray = field(default_factory=lambda: np.empty((len(_ALL), 0)))
    quality: QualityArray = field(default_factory=lambda: np.empty((len(_ALL), 0), np.uint16))


@dataclass(slots=True, eq=False)
class Binner:
    """Gathers rows until their bin is over."""

    state: BinsState = field(default_factory=BinsState)

    def process(self, table: Table) -> Bins:
        """Return the bins that end at or before the newest row of `table`.

        Parameters
        ----------
        table : mapping
            Channel id to `Block`, shape (n,), one time array for all. [SI]

        Returns
        -------
        Bins
            A span without any row makes no bin: the next one's ``t`` shows the gap.
        """
        n, blocks = times(table).size, [pick(table, name) for name in _ALL]
        parts = [self._part(blocks, a, min(a + AT_ONCE, n)) for a in range(0, n, AT_ONCE)]
        return _joined([part for part in parts if len(part)])

    def _part(self, blocks: Sequence[Block], first: int, end: int) -> Bins:
        """Go on by some of the rows."""
        s, t = self.state, blocks[0].t[first:end]
        carried = s.value.shape[1]
        value = np.empty((len(_ALL), carried + t.size))
        quality = np.empty(value.shape, np.uint16)
        value[:, :carried], quality[:, :carried] = s.value, s.quality
        for i, block in enumerate(blocks):
            value[i, carried:] = block.value[first:end]
            quality[i, carried:] = block.quality[first:end]
        slot = np.floor(t / BIN_S).astype(np.int64)
        slots = np.concatenate((np.full(carried, s.slot), slot))
        starts = np.concatenate(([0], np.flatnonzero(np.diff(slots)) + 1))
        ends = starts[1:]  # the last bin is still open
        out = _bins(
            first + ends - carried, (slots[starts[:-1]] + 1) * BIN_S, value[:, : starts[-1]],
            quality[:, : starts[-1]], starts[:-1],
        )  # fmt: skip
        open_ = slice(int(starts[-1]), None)
        self.state = BinsState(int(slots[-1]), value[:, open_].copy(), quality[:, open_].copy())
        return out


def _bins(
    row: IntArray, t: FloatArray, value: FloatArray, quality: QualityArray, starts: IntArray
) -> Bins:
    m, k = t.size, len(MEDIANS)
    if not m:
        return _joined([])
    ends = np.concatenate((starts[1:], [value.shape[1]]))
    bits = quality[:, ends - 1]
    last = _good(value[k:, ends - 1], bits[k:])
    usable = _good(value[:k], quality[:k])
    sent = ~np.isnan(usable).all(axis=1)  # most rigs send a part of the channels
    mid = np.full((k, m), np.nan)
    mid[sent] = medians(usable[sent], starts, ends)
    values = dict(zip(_ALL, np.concatenate((mid, last)), strict=True))
    for name, source in MEANS.items():
        rows = rows_of(usable[MEDIANS.index(source)], starts, ends)
        values[name] = mean(rows, values[source])
    return Bins(row, t, values, dict(zip(_ALL, bits, strict=True)))


def _joined(parts: Sequence[Bins]) -> Bins:
    """Return the bins of all the parts, in order."""
    if len(parts) == 1:
        return parts[0]
    if not parts:
        none = dict.fromkeys((*_ALL, *MEANS), np.empty(0))
        bits = dict.fromkeys(_ALL, np.empty(0, np.uint16))
        return Bins(np.empty(0, np.intp), np.empty(0), none, bits)
    return Bins(
        np.concatenate([part.row for part in parts]),
        np.concatenate([part.t for part in parts]),
        {name: np.concatenate([part.values[name] for part in parts]) for name in parts[0].values},
        {name: np.concatenate([part.quality[name] for part in parts]) for name in _ALL},
    )


def _good(value: FloatArray, quality: QualityArray) -> FloatArray:
    """Return the values that are good, NaN in place of the others, of the same shape."""
    return np.where((quality & np.uint16(BAD)) == 0, value, np.nan)


def mean(rows: FloatArray, median: FloatArray) -> FloatArray:
    """Mean of what is within `NEAR` of the `median` of each row, NaN if empty, shape (m,).

    Summed column by column: the same to the last bit, however long the longest row is.
    """
    near = np.abs(rows - median[:, None]) <= NEAR * np.abs(median)[:, None]
    total, count = np.zeros(rows.shape[0]), np.zeros(rows.shape[0])
    for j in range(rows.shape[1]):
        total += np.where(near[:, j], rows[:, j], 0.0)
        count += near[:, j]
    return total / np.where(count > 0, count, np.nan)


def newest(row: IntArray, n: int) -> IntArray:
    """Return which of the moments at `row` is the newest at each of `n` rows, shape (n,). [-]

    1 is the first of them, 0 is none yet.
    """
    at = np.zeros(n, np.intp)
    at[row] = np.arange(1, row.size + 1)
    return np.maximum.accumulate(at)
