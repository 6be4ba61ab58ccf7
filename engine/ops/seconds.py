"""Work that is done twice a second at most, however fast the rows come."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from engine.block import Block, Quality, Table, mark
from engine.ops.primitives import NAN, hold, previous
from engine.ops.table import times

A_SECOND = 2
"""Twice, not once: rows a second apart with some jitter are then all worked out. [1/s]"""


@dataclass(frozen=True, slots=True)
class SecondsState:
    """When work was last done, and what came of it."""

    tick: float = NAN
    """Number of the half second. [-]"""
    rows: tuple[tuple[float, int], ...] = ()
    """Value and quality of each channel, in the order of their names."""


@dataclass(slots=True, eq=False)
class Seconds:
    """Hand on the first row of each half second; repeat what it gives, as ``HELD``."""

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
        tick = np.floor(t * A_SECOND)
        first = tick != previous(tick, self.state.tick)
        if first.all():
            out = work(table)
            if t.size:
                self._keep(float(tick[-1]), out)
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
            self._keep(float(tick[-1]), done)
        return out

    def _keep(self, tick: float, done: dict[str, Block]) -> None:
        self.state = SecondsState(
            tick, tuple((float(b.value[-1]), int(b.quality[-1])) for b in done.values())
        )
