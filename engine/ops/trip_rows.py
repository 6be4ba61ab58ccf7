"""One block of the live trip sheet while it is worked out."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray, Mask, Quality, QualityArray
from engine.ops.primitives import NAN
from engine.ops.trip_rest import Readings
from engine.ops.trip_sheet_steps import Seen
from engine.ops.trip_state import Piece, Rest, Shown, Trip

NAMES = ("trip_fill_expected", "trip_fill_actual", "trip_fill_difference", "trip_fill_overdue")
"""Channels in the order of the rows' values."""
HELD = np.uint16(Quality.HELD)
"""While pipe moves, the newest reading is repeated."""


@dataclass(slots=True, eq=False)
class Rows:
    """One block while it is worked out."""

    read: Readings
    bit: FloatArray
    hole: FloatArray
    filled: FloatArray
    circulated: FloatArray
    drilling: Mask
    trip: Trip
    last: Rest
    piece: Piece
    shown: Shown
    """As far as the rows have been worked out."""
    value: FloatArray = field(init=False)
    """In the order of `NAMES`, shape (4, n)."""
    bits: QualityArray = field(init=False)
    way: npt.NDArray[np.int8] = field(init=False)
    blind: Mask = field(init=False)

    def __post_init__(self) -> None:
        n = self.bit.size
        self.value, self.bits = np.full((4, n), NAN), np.zeros((4, n), np.uint16)
        self.way, self.blind = np.zeros(n, np.int8), np.zeros(n, np.bool_)

    def seen(self, i: int) -> Seen:
        """Return what row `i` says."""
        return Seen(
            float(self.bit[i]), float(self.hole[i]), float(self.read.tank[i]),
            float(self.read.pits[i]), float(self.filled[i]), float(self.circulated[i]),
            bool(self.drilling[i]),
        )  # fmt: skip

    def hold(self, a: int, b: int) -> None:
        """Repeat in the rows `a` to `b` what is shown; off a trip that is nothing."""
        if not self.trip.way:
            return
        self.value[:, a:b] = np.array(self.shown.value)[:, None]
        self.bits[:, a:b] = np.array(self.shown.bits, np.uint16)[:, None] | HELD
        self.blind[a:b], self.way[a:b] = self.shown.blind, self.trip.way

    def show(self, i: int) -> None:
        """Take what row `i` says as shown from now on; off a trip that is nothing."""
        if not self.trip.way:
            self.shown = Shown()
            return
        bits = tuple(self.bits[:, i].tolist())
        self.shown = Shown(tuple(self.value[:, i].tolist()), bits, bool(self.blind[i]))
