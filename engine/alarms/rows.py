"""One block of rows as the alarms look at it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, QualityArray, Table
from engine.config import Alarm
from engine.detect.kinds import CALL_CHANNELS
from engine.errors import InputError
from engine.ops.primitives import IntArray
from engine.states import STATE_IDS


@dataclass(frozen=True, slots=True)
class Seen:
    """What was known at one row: of one alarm's channel and of the rig."""

    value: float = float("nan")
    """[SI]"""
    quality: int = int(Quality.NO_DATA)
    rig_state: int = 0
    bit_depth: float = float("nan")
    """[m]"""
    hole_depth: float = float("nan")
    """[m]"""


class Rows(NamedTuple):
    """n rows of the channels of k alarms, and of the rig."""

    t: FloatArray
    """[s since 1970-01-01 UTC]"""
    value: Sequence[FloatArray]
    """One for each alarm, shape (n,): its channel. [SI]"""
    quality: Sequence[QualityArray]
    good: Sequence[Mask]
    """One for each alarm, shape (n,): fit for use. [-]"""
    rig_state: IntArray
    """Codes of `engine.states`, 0 where the state is not known. [-]"""
    bit_depth: FloatArray
    hole_depth: FloatArray

    def seen(self, row: int, alarm: int) -> Seen:
        """Return what was known at `row` for the entry of `alarm`."""
        return Seen(
            float(self.value[alarm][row]),
            int(self.quality[alarm][row]),
            int(self.rig_state[row]),
            float(self.bit_depth[row]),
            float(self.hole_depth[row]),
        )


def _unknown(t: FloatArray) -> Block:
    return Block(t, np.full(t.size, np.nan), np.full(t.size, int(Quality.NO_DATA), np.uint16))


def look(alarms: Sequence[Alarm], table: Table) -> Rows:
    """Pick what the alarms need from `table`; `InputError` names a channel that is missing.

    A call that nothing makes is unknown: its detector does not run.
    """
    names = [alarm.channel for alarm in alarms]
    for name in (*names, "rig_state", "bit_depth", "hole_depth"):
        if name not in table and name not in CALL_CHANNELS:
            raise InputError(f"alarms: channel {name!r} is missing from the rows")
    if lacking := [name for name in names if name not in table]:
        table = {**table, **dict.fromkeys(lacking, _unknown(table["rig_state"].t))}
    rig = table["rig_state"]
    blocks = [table[name] for name in names]
    good = {name: table[name].good for name in names}  # several limits may share a channel
    code = np.nan_to_num(rig.usable())
    code[(code < 0) | (code >= len(STATE_IDS))] = 0
    return Rows(
        rig.t,
        [block.value for block in blocks],
        [block.quality for block in blocks],
        [good[name] for name in names],
        code.astype(np.intp),
        table["bit_depth"].value,
        table["hole_depth"].value,
    )
