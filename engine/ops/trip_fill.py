r"""Live trip sheet: what the hole should have taken, what it took, and how far the two are apart.

.. math:: D = \sum V\,\Delta z - \left(L_0 - L + T + P\right)

with V the steel (and the bore, if lost with it) of the pipe that left, L the trip tank, T what was
moved into it from the pits, P what the pumps put into the annulus. The sum is signed, so that it
holds for pulling and for running in alike: D is positive on the side of an influx.

Read while the pipe rests, in slips or not; between rests the newest numbers are held.

References
----------
.. [1] 30 CFR 250.456(c): the fill is measured; fill before 75 psi are lost or five stands pulled.
.. [2] Trip sheet by trip tank with wet and dry pipe: common practice, see
   `engine.well.trip_sheet`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np

from engine.block import (
    BAD,
    Block,
    FloatArray,
    Mask,
    Quality,
    Table,
    mark,
    no_quality,
)
from engine.config import WellConfig
from engine.ops.primitives import NAN, last_good, previous, stretches
from engine.ops.rig_state_table import DRILLING, TRIPPING
from engine.ops.table import ever, pick
from engine.ops.trip_pumps import TripPumps, TripPumpsState
from engine.ops.trip_rest import Rest as Resting
from engine.ops.trip_rest import RestState
from engine.ops.trip_rows import HELD, NAMES, Rows
from engine.ops.trip_sheet_steps import FULL, Steps
from engine.ops.trip_state import IN, Declared, Piece, Rest, Shown, Trip
from engine.states import RigState

PUMPED_STATES = (
    *DRILLING, RigState.REAMING_UP, RigState.REAMING_DOWN, RigState.WASHING, RigState.CIRCULATING,
    RigState.ROTATING_OFF_BOTTOM,
)  # fmt: skip
"""In these the trip tank is not in use. [-]"""
_NO = int(Quality.NOT_APPLICABLE)
_NONE = np.empty(0, np.intp)
_DRILLING, _TRIPPING = tuple(DRILLING), tuple(TRIPPING)
_OLD = int(Quality.OLD_REFERENCE | Quality.NO_REFERENCE | Quality.CONFLICT)


@dataclass(frozen=True, slots=True, eq=False)
class TripFillState:
    """All that must outlive a block, a restart or a seek."""

    declared: Declared
    rest: RestState = field(default_factory=RestState)
    pumps: TripPumpsState = field(default_factory=TripPumpsState)
    trip: Trip = field(default_factory=Trip)
    last: Rest = field(default_factory=Rest)
    piece: Piece = field(default_factory=Piece)
    shown: Shown = field(default_factory=Shown)
    hole: float = NAN
    """Newest known hole depth. [m]"""
    number: int = -1
    """`Readings.piece` of the newest row. [-]"""


@dataclass(slots=True, eq=False)
class TripFill:
    """Trip sheet of the well, stand by stand.

    Mud moved between the active pits and the trip tank is told from what the hole takes or
    gives by the pits, which change the other way by the same volume; without them every change
    of the tank counts as the hole's. A tank away for a while is bridged by its levels before
    and after. Fills by the pumps count while the string is in slips, or without standpipe
    pressure, until mud returns. Circulating through the string fills the hole unmeasured:
    those stands are left out of the difference, which is ``PARTIAL`` from then on.

    With a programme of several stands a fill that is not due yet is no shortage; without one
    each stand counts at once.
    """

    config: WellConfig
    state: TripFillState = field(init=False)
    _steps: Steps = field(init=False)

    def __post_init__(self) -> None:
        self._steps = Steps(self.config)
        trip = self.config.trip
        spilled = 1.0 - trip.recovered_share if trip.wet else 0.0
        self.state = TripFillState(Declared(spilled, trip.programme_stands or 0))

    def declare(self, spilled: float, programme: int) -> tuple[float, int]:
        """Take what a person says of the pipe pulled from the next rest on.

        Parameters
        ----------
        spilled : float
            Share of the bore's mud that leaves with it: 0 dry, 1 wet. [-]
        programme : int
            Stands before a fill; 0: filled as each is pulled. [-]

        Returns
        -------
        tuple
            Both as they were before.
        """
        old = self.state.declared
        self.state = replace(self.state, declared=Declared(spilled, programme))
        return old.spilled, old.programme

    def depth_set(self, bit: float | None) -> None:
        """Take a bit depth [m] that was corrected by hand: no pipe was moved."""
        if bit is None:
            return
        s = self.state
        by = bit - (s.last.bit if s.piece.number < 0 else s.piece.bit)
        t = s.trip
        moved = {
            name: replace(getattr(t, name), bit=getattr(t, name).bit + by)
            for name in ("start", "end", "turn", "fill")
        }
        self.state = replace(
            s,
            trip=replace(t, **moved),
            last=replace(s.last, bit=s.last.bit + by),
            piece=replace(s.piece, bit=s.piece.bit + by),
        )

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``trip_tank_volume``, ``pit_volume`` [m3], ``bit_depth``, ``hole_depth`` [m],
            ``in_slips``, ``rig_state`` [-], ``block_speed`` [m/s], ``flow_in``, ``flow_out``
            [m3/s], ``standpipe_pressure`` [Pa], shape (n,); what is missing is unknown.

        Returns
        -------
        dict
            Since the pipe began to go this way: ``trip_fill_expected`` (fill, or displacement
            running in) and ``trip_fill_actual``; since the trip began: ``trip_fill_difference``
            [m3]; ``trip_fill_overdue``: stands since the last fill over those allowed [-];
            ``trip_tank_unusable``, 0 or 1. Shape (n,). NaN and ``NOT_APPLICABLE`` off a trip,
            NaN with the reason of tank or bit depth where that is bad; ``HELD`` while pipe
            moves; ``PARTIAL`` where a fill was not measured, or the rule of 75 psi has no
            answer.
        """
        tank, bit = pick(table, "trip_tank_volume"), pick(table, "bit_depth")
        level = self._usable(tank)
        resting = Resting(self.state.rest)
        read = resting.process(table, level)
        pumps = TripPumps(self.state.pumps)
        filled, circulated = pumps.process(table)
        self.state = replace(self.state, rest=resting.state, pumps=pumps.state)
        before = self.state.number
        hole = last_good(pick(table, "hole_depth").usable(), self.state.hole)
        drilling = np.isin(pick(table, "rig_state").value, _DRILLING)
        rows = Rows(read, bit.usable(), hole, filled, circulated, drilling)
        n = len(tank)
        if n:
            self.state = replace(self.state, hole=float(hole[-1]), number=int(read.piece[-1]))
        for a, b in stretches(n, read.piece != previous(read.piece, before)):
            self._stretch(rows, a, b)
        return self._blocks(table, rows, np.isnan(level))

    def _usable(self, tank: Block) -> FloatArray:
        trip = self.config.trip
        low = trip.trip_tank_low
        high = np.inf if trip.trip_tank_high is None else trip.trip_tank_high
        value = tank.usable()
        return np.where((value >= low) & (value <= high), value, NAN)

    def _stretch(self, rows: Rows, a: int, b: int) -> None:
        """Go on by the rows `a` to `b`, all of one rest, or of none."""
        s, number, steps = self.state, int(rows.read.piece[a]), self._steps
        trip, last, piece = s.trip, s.last, s.piece
        if piece.number >= 0 and number != piece.number:
            if rows.read.shifts[a] and isfinite(tank := float(rows.read.tank_before[a])):
                # The newest means have seen the beginning of it already.
                pits = float(rows.read.pits_before[a])
                taken = steps.taken(trip, last, piece, tank, pits, piece.filled)
                piece = replace(piece, tank=tank, pits=pits, taken=float(taken))
            trip, last = steps.end(trip, last, piece)
            piece = Piece()
        first = a
        if piece.number < 0:
            # A rest begins with its first known depth.
            known = np.flatnonzero(np.isfinite(rows.bit[a:b])) if number >= 0 else _NONE
            first = a + int(known[0]) if known.size else b
            rows.hold(s.shown, a, first)
            rows.way[a:first] = s.trip.way
            if first < b:
                seen = rows.seen(first)
                trip, last, piece = steps.begin(trip, last, s.declared, number, seen)
        self.state = replace(s, trip=trip, last=last, piece=piece)
        if first < b:
            self._read(rows, first, b)
            rows.way[first:b] = trip.way

    def _read(self, rows: Rows, a: int, b: int) -> None:
        """Read the levels of rows `a` to `b` and work out what is shown there."""
        s, steps, part = self.state, self._steps, slice(a, b)
        trip, piece = s.trip, s.piece
        tank, pits = rows.read.tank[part], rows.read.pits[part]
        taken = steps.taken(trip, s.last, piece, tank, pits, rows.filled[part])
        full: Mask = np.zeros(b - a, np.bool_)
        if trip.way:
            full = self._show(rows, part, taken)
        else:
            rows.value[:, part], rows.bits[:, part] = NAN, _NO
        rows.blind[part] = piece.how == "blind"
        i, k = _newest(tank), _newest(taken)
        piece = replace(
            piece,
            tank=float(tank[i]) if i >= 0 else piece.tank,
            pits=float(pits[i]) if i >= 0 else piece.pits,
            taken=float(taken[k]) if k >= 0 else piece.taken,
            full=bool(full[-1]),
            filled=float(rows.filled[b - 1]),
            circulated=float(rows.circulated[b - 1]),
        )
        self.state = replace(s, piece=piece, shown=rows.shown(b - 1))

    def _show(self, rows: Rows, part: slice, taken: FloatArray) -> Mask:
        """Fill in the rows of a trip; return where the hole was seen to take its fill."""
        s, steps = self.state, self._steps
        trip, piece = s.trip, s.piece
        measured = trip.left - trip.missed
        owed = measured - (trip.fill.left - trip.fill.missed)
        ratio, full = np.zeros(taken.size), np.zeros(taken.size, np.bool_)
        pending, why = 0.0, 0
        stands, whole = steps.pulled(trip, piece.bit)
        if trip.way == IN:
            ratio, why = np.full(taken.size, NAN), _NO
        elif whole >= 1:
            allowed, known = steps.rule(piece.bit, s.declared)
            due = whole / allowed if allowed >= 1 else stands / allowed
            why = 0 if known else int(Quality.PARTIAL)
            full = ever(taken - trip.fill.taken >= FULL * owed, piece.full)
            ratio = np.where(full, 0.0, np.where(np.isnan(taken), NAN, due))
            pending = owed if s.declared.programme and due <= 1.0 else 0.0
        partial = int(Quality.PARTIAL) if trip.partial else 0
        rows.value[0, part] = trip.way * (trip.left - trip.turn.left)
        rows.value[1, part] = trip.way * (taken - trip.turn.taken)
        rows.value[2, part] = measured - np.where(full, 0.0, pending) - taken
        rows.value[3, part] = ratio
        rows.bits[:, part] = np.array([[0], [partial], [partial], [why]], np.uint16)
        return full

    def _blocks(self, table: Table, rows: Rows, lost: Mask) -> dict[str, Block]:
        """Add what each row itself says of tank and bit depth."""
        tank, bit = pick(table, "trip_tank_volume"), pick(table, "bit_depth")
        out = {}
        on = rows.way != 0
        tank_why = np.where(
            tank.good, np.uint16(Quality.OUT_OF_RANGE), tank.quality & np.uint16(BAD)
        )
        bit_why = np.where(bit.good, np.uint16(0), bit.quality & np.uint16(BAD | _OLD))
        for i, name in enumerate(NAMES):
            value, quality = rows.value[i], rows.bits[i] | (bit.quality & np.uint16(_OLD))
            bad, why = on & ~bit.good, np.where(on, bit_why, 0)
            if name != "trip_fill_expected":
                dark = on & lost & ~rows.blind
                bad, why = (
                    bad | dark,
                    why | np.where(dark | (on & np.isnan(value) & lost), tank_why, 0),
                )
            value = np.where(bad, NAN, value)
            quality = np.where(np.isnan(value), (quality & ~HELD) | why, quality).astype(np.uint16)
            quality = mark(quality, np.isnan(value) & (quality == 0), Quality.NO_REFERENCE)
            out[name] = Block(tank.t, value, np.where(on, quality, _NO).astype(np.uint16))
        state = pick(table, "rig_state").value
        tripping = np.isin(state, _TRIPPING) | (on & ~np.isin(state, PUMPED_STATES))
        value = (tripping & lost).astype(np.float64)
        out["trip_tank_unusable"] = Block(tank.t, value, no_quality(value.size))
        return out


def _newest(value: FloatArray) -> int:
    known = np.flatnonzero(np.isfinite(value))
    return int(known[-1]) if known.size else -1
