"""Block speed that keeps swab, or surge, within the margin of the well file. Advisory."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from engine.block import Block, Quality, Table, mark
from engine.config import WellConfig
from engine.ops.primitives import NAN, hold
from engine.ops.table import pick
from engine.well.answer import Unknown
from engine.well.hydraulics import Circuit
from engine.well.speed_table import SpeedTable
from engine.well.well_file import circuit_of

MOVES = 0.05
"""Slower is drilling or standing, and says nothing of the way the string goes. [m/s]"""
STEP = 10.0
"""The advice is that of the next full step of bit depth, so that it stands still to be read.
[m] Deeper is slower: it errs to the safe side, by less than a stand."""
DEEPEST = 15e3
"""No hole is deeper. [m]"""


@dataclass(frozen=True, slots=True)
class AdvisedSpeedState:
    """All that must outlive a block."""

    way: float = NAN
    """Which way the string last moved: 1 up, -1 down; NaN: it has not yet. [-]"""


@dataclass(slots=True, eq=False)
class AdvisedSpeed:
    """Greatest mean block speed of a stand that spends no more than the margin.

    Worked out from bit depth, hole, string and mud of the well file, the string taken as closed;
    the highest speed of a stand is taken as 1.5 times its mean. Pulling it is the speed that
    swabs by ``swab_margin``, running in the one that surges by ``surge_margin``; see
    `engine.well.swab_surge` for what the model leaves out. The way is that of the last motion of
    the string, so between two stands and while it stands the advice stays.
    """

    config: WellConfig
    unknown: dict[str, str] = field(init=False)
    """Why the channel can never be known with this well file, in words; by channel."""
    state: AdvisedSpeedState = field(default_factory=AdvisedSpeedState, init=False)
    _circuit: Circuit | None = field(init=False)

    def __post_init__(self) -> None:
        circuit, profile = circuit_of(self.config), self.config.profile
        self.unknown = {}
        if isinstance(circuit, Unknown):
            self.unknown["advised_block_speed"] = circuit.reason
        elif profile.swab_margin is None and profile.surge_margin is None:
            self.unknown["advised_block_speed"] = (
                "no margin in the well file: under [profile], swab_margin_kPa, surge_margin_kPa"
            )
        self._circuit = None if isinstance(circuit, Unknown) else circuit

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``bit_depth`` [m], ``block_speed`` [m/s], ``in_slips`` [-], shape (n,); what is
            missing is taken as unknown.

        Returns
        -------
        dict
            ``advised_block_speed``, shape (n,). [m/s] NaN with the reasons of the bit depth;
            ``NO_REFERENCE`` where the well file lacks the margin of this way or what the model
            takes (`unknown`), or the string does not go into the hole at that depth;
            ``NOT_APPLICABLE`` before the string has moved. 0: no speed stays within it.
        """
        depth = pick(table, "bit_depth")
        speed = pick(table, "block_speed").usable()
        # In slips the block moves without the string.
        moves = (pick(table, "in_slips").usable() == 0.0) & (np.abs(speed) >= MOVES)
        way = hold(np.sign(speed), moves, self.state.way)
        if way.size:
            self.state = AdvisedSpeedState(float(way[-1]))
        value, z = np.full(way.size, NAN), depth.usable()
        profile = self.config.profile
        if self._circuit is not None and "advised_block_speed" not in self.unknown:
            last = self.config.hole[-1].bottom
            deepest = DEEPEST if last is None else last
            limits = _table(self._circuit, deepest)
            # A number beyond the hole, or above the floor, stays what it is: unknown.
            up = np.where(z <= deepest, np.minimum(np.ceil(z / STEP) * STEP, deepest), z)
            for sign, margin in ((1.0, profile.swab_margin), (-1.0, profile.surge_margin)):
                here = np.flatnonzero((way == sign) & ~np.isnan(z))
                if margin is not None and here.size:
                    each, back = np.unique(up[here], return_inverse=True)
                    value[here] = limits.at(each, margin)[back]
        none = np.isnan(value) & ~np.isnan(z)
        waits = none & np.isnan(way) & ("advised_block_speed" not in self.unknown)
        quality = mark(depth.quality, waits, Quality.NOT_APPLICABLE)
        quality = mark(quality, none & ~waits, Quality.NO_REFERENCE)
        return {"advised_block_speed": Block(depth.t, value, quality)}


@lru_cache(maxsize=8)
def _table(circuit: Circuit, deepest: float) -> SpeedTable:
    """Work out the table of a well once in a program, when it is first asked for."""
    return SpeedTable.of(circuit, deepest)
