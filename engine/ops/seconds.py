"""Work that is done once per second of data, however fast the rows come."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from engine.block import Block, FloatArray, Quality, Table, mark
from engine.ops.primitives import NAN, hold, previous
from engine.ops.table import times

APART = 0.6
"""Rows as far apart as this are each worked out, in whatever second they fall. [s] So rows a
second apart are all fresh, though a fifth of a second of jitter puts two of them into one."""


@dataclass(frozen=True, slots=True)
class SecondsState:
    """When work was last done, and what came of it."""

    tick: float = NAN
    """Second of the newest row. [s]"""
    rows: tuple[tuple[float, int], ...] = ()
    """Value and quality of each channel, in the order of their names."""
    last: float = NAN
    """Newest row. [s]"""


@dataclass(slots=True, eq=False)
class Seconds:
    """Hand on the first row of each second, and rows far apart; repeat the result as ``HELD``."""

    state: SecondsState = SecondsState()

    def process(self, table: Table, work: Callable[[Table], dict[str, Block]]) -> dict[str, Block]:
        """Return what `work` makes of `table`, on all its times.

        Parameters
        ----------
        table : mapping
            Channel id to `Block`, shape (n,), one time array for all.
        work : callable
            Takes a table of m <= n rows, gives blocks of m rows, always the same channels.
        """
        t = times(table)
        tick = np.floor(t)
        first = tick != previous(tick, self.state.tick)
        first |= t - previous(t, self.state.last) >= APART
        if first.all():
            out = work(table)
            if t.size:
                self._keep(t, out)
            return out
        kept = np.flatnonzero(first)
        done = work(
            {name: Block(b.t[kept], b.value[kept], b.quality[kept]) for name, b in table.items()}
        )
        before = self.state.rows or ((NAN, int(Quality.NO_DATA)),) * len(done)
        out = {}
        for (name, block), (value, quality) in zip(done.items(), before, strict=True):
            values, bits = np.empty(t.size), np.empty(t.size, np.uint16)
            values[kept], bits[kept] = block.value, block.quality
            bits = hold(bits, first, np.uint16(quality))
            out[name] = Block(t, hold(values, first, value), mark(bits, ~first, Quality.HELD))
        if kept.size:
            self._keep(t, done)
        else:
            self.state = replace(self.state, last=float(t[-1]))
        return out

    def _keep(self, t: FloatArray, done: dict[str, Block]) -> None:
        rows = tuple((float(b.value[-1]), int(b.quality[-1])) for b in done.values())
        self.state = SecondsState(float(np.floor(t[-1])), rows, float(t[-1]))
