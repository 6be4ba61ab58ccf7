"""How much the active pits have gained since a zero that somebody can name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.block import Block, Table
from engine.config import WellConfig
from engine.ops.table import pick

ZERO_AGE_S = 60.0
"""A level older than this is no longer the present one and cannot become the zero. [s]"""


@dataclass(frozen=True, slots=True)
class VolumeState:
    """The zero, the newest good level and the time of the newest row."""

    zero: float | None = None
    """[m3]"""
    level: float | None = None
    """[m3]"""
    level_at: float = float("-inf")
    """[s since 1970-01-01 UTC]"""
    at: float = float("-inf")
    """[s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class Volume:
    """Pit gain: active pit volume minus its zero.

    The zero is the first good pit volume, until a person sets another one (`zero`). Nothing
    else ever moves it: not a connection, not a restart of the pumps, not a change of state.
    """

    config: WellConfig
    state: VolumeState = VolumeState()

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``pit_volume``, shape (n,). [m3]

        Returns
        -------
        dict
            ``pit_gain``, shape (n,). [m3] NaN with the reason of the pit volume where that is
            unknown or bad; a loss is negative.
        """
        pit = pick(table, "pit_volume")
        s = self.state
        zero, level, level_at = s.zero, s.level, s.level_at
        good = np.flatnonzero(pit.good)
        if good.size:
            level, level_at = float(pit.value[good[-1]]), float(pit.t[good[-1]])
            zero = float(pit.value[good[0]]) if zero is None else zero
        if len(pit):
            self.state = VolumeState(zero, level, level_at, float(pit.t[-1]))
        base = np.nan if zero is None else zero
        return {"pit_gain": Block(pit.t, pit.usable() - base, pit.quality)}

    def zero(self) -> tuple[float | None, float | None]:
        """Make the newest good pit volume the zero, between two blocks.

        Returns
        -------
        old, new : float or None
            The zero before and after. [m3] `new` is None, and the zero stays as it was, if
            there is no good pit volume of the last 60 s to take.
        """
        s = self.state
        if s.level is None or s.at - s.level_at > ZERO_AGE_S:
            return s.zero, None
        self.state = VolumeState(s.level, s.level, s.level_at, s.at)
        return s.zero, s.level
