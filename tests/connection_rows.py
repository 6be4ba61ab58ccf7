"""Rows of one connection with times known to the second, for tests of the logs."""

from __future__ import annotations

from typing import Any

import numpy as np

from engine.block import Block, Quality
from engine.states import RigState
from tests.tables import NAN, T0, table_of, with_bits

START = 300
"""Rows before the weight comes off. [s]"""
FLOW = 0.045
STAND = 28.5


def connection(**changes: Any) -> dict[str, Block]:
    """Return 1 s rows: weight off 0, pumps off 30, slips 75 to 225, pumps on 260, weight on 330 s.

    Seconds count from `START` rows after `T0`; the connection of engineering handbooks' making
    adds a stand of 28.5 m; before and after it 1 cm of hole is made a second.
    """
    n = 900
    s = np.arange(n) - START
    slips = (s >= 75) & (s < 225)
    down = (s < 0) | (s >= 330)
    hole = 2400.0 + 0.01 * np.cumsum(np.where(s < 0, 1.0, 0.0) + np.where(s > 330, 1.0, 0.0))
    bit = np.where(down, hole, hole - 3.0)
    up = np.clip((s - 100) / 50, 0.0, 1.0)
    state = np.select(
        [slips, down, s < 30, s < 75, s < 260],
        [RigState.IN_SLIPS, RigState.DRILLING_ROTARY, RigState.REAMING_UP, RigState.STATIC,
         RigState.STATIC],
        RigState.CIRCULATING,
    )  # fmt: skip
    columns: dict[str, Any] = {
        "in_slips": slips.astype(float),
        "slips_since": T0 + START + np.where(s < 75, -START, np.where(s < 225, 75, 225)),
        "flow_in": np.where((s < 30) | (s >= 260), FLOW, 0.0),
        "weight_on_bit": np.where(slips, NAN, np.where(down, 1.4e5, 0.0)),
        "on_bottom": down.astype(float),
        "bit_depth": bit,
        "hole_depth": hole,
        "block_position": np.where(slips, 4.0 + STAND * up, np.where(s < 75, 4.0, 4.0 + STAND)),
        "rig_state": state.astype(float),
        **changes,
    }
    table = table_of(n, **columns)
    load = table["weight_on_bit"]
    if "weight_on_bit" not in changes:
        table["weight_on_bit"] = with_bits(load, Quality.NOT_APPLICABLE, slips)
    return table


def later(table: dict[str, Block], seconds: float) -> dict[str, Block]:
    """Return the rows so much later, dates in them too. [s]"""
    out = {}
    for name, block in table.items():
        value = block.value + seconds if name == "slips_since" else block.value
        out[name] = Block(block.t + seconds, value, block.quality)
    return out


def joined(*tables: dict[str, Block]) -> dict[str, Block]:
    """Return tables one after the other."""
    return {
        name: Block(
            np.concatenate([t[name].t for t in tables]),
            np.concatenate([t[name].value for t in tables]),
            np.concatenate([t[name].quality for t in tables]),
        )
        for name in tables[0]
    }
