"""Levels of trip tank and pits while the pipe rests: what a trip sheet may be read from.

While pipe moves, the level in the hole, the flow line and the tank run after it. So levels are
read at rest only, as means that leave out what a rise or a fall has already touched.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, Mask, Table
from engine.ops.primitives import (
    NAN,
    Dwell,
    DwellState,
    Hysteresis,
    IntArray,
    Past,
    Trailing,
    Window,
    previous,
    stretches,
)
from engine.ops.table import pick

STILL = 0.02
"""A block slower than this moves no pipe: 72 m/h. [m/s]"""
SETTLE_S = 15.0
"""After the pipe stops, the trip tank's flow comes to rest. [s] common practice, no source"""
LONGEST_S = 120.0
"""A longer rest is read in pieces, so that a flow into the tank is seen. [s]"""
YOUNGEST_S = 20.0
"""A piece tells nothing sooner: a rise is seen within so long, and its start is left out. [s]"""
LAG_S = 5.0
"""The newest seconds of a piece may already belong to the next move. [s]"""
SPAN_S = 5.0
"""Levels are compared as means over so long. [s]"""
FAST = 0.12
"""A change so large within `YOUNGEST_S` is mud on purpose, 6 L/s, or a well that flows: either way
the piece ends. Above the noise of a rough gauge, 0.15 bbl. [m3]"""
SLOW = 0.04
"""It is over below this. [m3]"""


@dataclass(frozen=True, slots=True, eq=False)
class RestState:
    """All that is carried from block to block."""

    still: DwellState = field(default_factory=DwellState)
    levels: tuple[float, float] = (NAN, NAN)
    """The two newest of the tank. [m3]"""
    level: Past = field(default_factory=Past)
    rises: bool = False
    falls: bool = False
    calm: DwellState = field(default_factory=DwellState)
    slot: int = -1
    piece: int = 0
    sums: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    past: Past = field(default_factory=Past)


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What the levels are at rest; arrays of shape (n,)."""

    piece: IntArray
    """Number of the piece that can be read at this sample, -1: none. [-]"""
    tank: FloatArray
    """Mean of the piece up to `LAG_S` ago. [m3]"""
    pits: FloatArray
    tank_before: FloatArray
    """The same up to `YOUNGEST_S` ago: before a rise or a fall that shows now. [m3]"""
    pits_before: FloatArray
    shifts: Mask
    """The level rises or falls fast."""


@dataclass(slots=True, eq=False)
class Rest:
    """Cut the time at rest into pieces and take the mean levels of each."""

    state: RestState = field(default_factory=RestState)

    def process(self, table: Table, tank: FloatArray) -> Readings:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``in_slips``, ``block_speed`` [m/s], ``pit_volume`` [m3], shape (n,).
        tank : ndarray
            Volume in the trip tank, NaN where it cannot be used, shape (n,). [m3]
        """
        s = self.state
        slips = pick(table, "in_slips")
        t, n = slips.t, len(slips)
        speed = np.abs(pick(table, "block_speed").usable())
        dwell = Dwell(s.still)
        resting = (slips.usable() == 1.0) | (speed < STILL)
        began = dwell.process(t, resting)
        level, levels = _without_spikes(tank, s.levels)
        trailing = Trailing(YOUNGEST_S + SPAN_S, s.level)
        change = _change(t, trailing.process(t, level))
        rising, falling = Hysteresis(FAST, SLOW, s.rises), Hysteresis(FAST, SLOW, s.falls)
        known = ~np.isnan(change)
        shifts = known & (rising.process(change) | falling.process(-change))

        calm = resting & (t - began >= SETTLE_S) & ~shifts
        run = Dwell(s.calm)
        since = run.process(t, calm)
        slot = np.where(calm, ((t - since) // LONGEST_S).astype(np.intp), -1)
        starts = calm & ((slot != previous(slot, s.slot)) | (since == t))
        piece = s.piece + np.cumsum(starts)
        pits = pick(table, "pit_volume").usable()
        sums = _sums(calm, starts, np.stack((level, pits)), s.sums)
        past = Trailing(YOUNGEST_S, s.past)
        window = past.process(t, *sums, piece.astype(np.float64), np.where(calm, since, NAN))
        end = window.end - 1
        five = np.minimum(np.searchsorted(window.t, t - LAG_S, side="left"), end)
        twenty = window.begin
        old = calm & (t - since - LONGEST_S * np.maximum(slot, 0) >= YOUNGEST_S)
        if n:
            self.state = RestState(
                dwell.state, levels, trailing.state, rising.state, falling.state, run.state,
                int(slot[-1]), int(piece[-1]), tuple(float(x) for x in sums[:, -1]), past.state,
            )  # fmt: skip
        return Readings(
            np.where(old, piece, -1), *_means(window, five, piece), *_means(window, twenty, piece),
            shifts,
        )  # fmt: skip


def _without_spikes(
    value: FloatArray, before: tuple[float, float]
) -> tuple[FloatArray, tuple[float, float]]:
    """Take the median of each sample and the two before it, where all three are known."""
    padded = np.concatenate((before, value))
    a, b, c = padded[:-2], padded[1:-1], padded[2:]
    middle = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))
    out: FloatArray = np.where(np.isnan(middle), value, middle)
    return out, (float(padded[-2]), float(padded[-1]))


def _change(t: FloatArray, window: Window) -> FloatArray:
    """Return the level now less that of `YOUNGEST_S` ago, NaN if either is unknown. [m3]"""
    at = window.t
    new = Window(at, window.columns, np.searchsorted(at, t - SPAN_S, side="left"), window.end)
    end = np.minimum(np.searchsorted(at, t - YOUNGEST_S, side="right"), window.end)
    begin = np.minimum(np.searchsorted(at, t - YOUNGEST_S - SPAN_S, side="left"), window.end - 1)
    old = Window(at, window.columns, begin, np.maximum(end, begin + 1))
    out: FloatArray = new.total() / (new.end - new.begin) - old.total() / (old.end - old.begin)
    return np.where(end > begin, out, NAN)


def _sums(calm: Mask, starts: Mask, value: FloatArray, carry: tuple[float, ...]) -> FloatArray:
    """Sum and count of the known rows of `value` in each piece so far, shape (4, n)."""
    use = calm & ~np.isnan(value)
    steps = np.stack((
        np.where(use[0], value[0], 0.0), use[0], np.where(use[1], value[1], 0.0), use[1],
    ))  # fmt: skip
    out = np.empty(steps.shape)
    last = np.array(carry)
    for a, b in stretches(calm.size, starts):
        if starts[a]:
            last = np.zeros(4)
        part = np.concatenate((last[:, None], steps[:, a:b]), axis=1)
        out[:, a:b] = np.add.accumulate(part, axis=1)[:, 1:]
        last = out[:, b - 1]
    return out


def _means(window: Window, at: IntArray, piece: IntArray) -> tuple[FloatArray, FloatArray]:
    """Mean level of tank and pits up to the sample `at`, NaN if that is of another piece."""
    total, count, pits, pits_count, number, since = (column[at] for column in window.columns)
    same = (number == piece) & ~np.isnan(since)
    means = []
    for a, b in ((total, count), (pits, pits_count)):
        fit = same & (b > 0)
        means.append(np.where(fit, a / np.where(fit, b, 1.0), NAN))
    return means[0], means[1]
