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
from engine.ops.primitives import NAN, IntArray, last_good, previous, stretches
from engine.ops.rig_state_table import DRILLING, TRIPPING
from engine.ops.table import ever, pick
from engine.ops.trip_pumps import TripPumps, TripPumpsState
from engine.ops.trip_rest import Rest as Resting
from engine.ops.trip_rest import RestState
from engine.ops.trip_rows import HELD, NAMES, Rows
from engine.ops.trip_sheet_steps import FULL, Steps
from engine.ops.trip_state import IN, Declared, Piece, Rest, Shown, Trip
from engine.states import RigState

UNUSABLE = "trip_tank_unusable"
_NO = np.uint16(Quality.NOT_APPLICABLE)
_OLD = np.uint16(Quality.OLD_REFERENCE | Quality.NO_REFERENCE | Quality.CONFLICT)
_NONE = np.empty(0, np.intp)


def _states(*states: RigState) -> Mask:
    """Return for each state, by number, whether it is one of these."""
    return np.array([state in states for state in RigState])


_DRILLING, _TRIPPING = _states(*DRILLING), _states(*TRIPPING)
_PUMPED = _DRILLING | _states(
    RigState.REAMING_UP, RigState.REAMING_DOWN, RigState.WASHING, RigState.CIRCULATING,
    RigState.ROTATING_OFF_BOTTOM,
)  # fmt: skip
"""In these the trip tank is not in use."""


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
    """Newest known depth of hole and bit. [m]"""
    bit: float = NAN
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
        s = self.state
        by = NAN if bit is None else bit - s.bit
        if not isfinite(by):
            return
        t = s.trip
        moved = {
            name: replace(getattr(t, name), bit=getattr(t, name).bit + by)
            for name in ("start", "end", "turn", "fill")
        }
        self.state = replace(
            s,
            bit=s.bit + by,
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
        s, tank = self.state, pick(table, "trip_tank_volume")
        if not len(tank):
            return {name: Block(tank.t, tank.value, tank.quality) for name in (*NAMES, UNUSABLE)}
        level = self._usable(tank)
        resting, pumps = Resting(s.rest), TripPumps(s.pumps)
        read = resting.process(table, level)
        filled, circulated = pumps.process(table)
        hole = last_good(pick(table, "hole_depth").usable(), s.hole)
        state = np.nan_to_num(pick(table, "rig_state").value).astype(np.intp)
        rows = Rows(
            read, pick(table, "bit_depth").usable(), hole, filled, circulated, _DRILLING[state],
            s.trip, s.last, s.piece, s.shown,
        )  # fmt: skip
        for a, b in stretches(len(tank), read.piece != previous(read.piece, s.number)):
            self._stretch(rows, a, b)
        self.state = TripFillState(
            s.declared, resting.state, pumps.state, rows.trip, rows.last, rows.piece, rows.shown,
            float(hole[-1]), float(last_good(rows.bit, s.bit)[-1]), int(read.piece[-1]),
        )  # fmt: skip
        return self._blocks(table, rows, np.isnan(level), state)

    def _usable(self, tank: Block) -> FloatArray:
        trip = self.config.trip
        low = trip.trip_tank_low
        high = np.inf if trip.trip_tank_high is None else trip.trip_tank_high
        value = tank.usable()
        return np.where((value >= low) & (value <= high), value, NAN)

    def _stretch(self, rows: Rows, a: int, b: int) -> None:
        """Go on by the rows `a` to `b`, all of one rest, or of none."""
        number, steps = int(rows.read.piece[a]), self._steps
        if rows.piece.number >= 0 and number != rows.piece.number:
            piece = rows.piece
            if rows.read.shifts[a] and isfinite(tank := float(rows.read.tank_before[a])):
                # The newest means have seen the beginning of it already.
                pits = float(rows.read.pits_before[a])
                taken = steps.taken(rows.trip, rows.last, piece, tank, pits, piece.filled)
                piece = replace(piece, tank=tank, pits=pits, taken=float(taken))
            rows.trip, rows.last = steps.end(rows.trip, rows.last, piece)
            rows.piece = Piece()
        first = a
        if rows.piece.number < 0:
            # A rest begins with its first known depth.
            known = np.flatnonzero(np.isfinite(rows.bit[a:b])) if number >= 0 else _NONE
            first = a + int(known[0]) if known.size else b
            rows.hold(a, first)
            if first < b:
                rows.trip, rows.last, rows.piece = steps.begin(
                    rows.trip, rows.last, self.state.declared, number, rows.seen(first)
                )
        if first < b:
            self._read(rows, first, b)

    def _read(self, rows: Rows, a: int, b: int) -> None:
        """Read the levels of rows `a` to `b` and work out what is shown there."""
        part, piece = slice(a, b), rows.piece
        tank, pits = rows.read.tank[part], rows.read.pits[part]
        taken = self._steps.taken(rows.trip, rows.last, piece, tank, pits, rows.filled[part])
        full: Mask = np.zeros(b - a, np.bool_)
        if rows.trip.way:
            full = self._show(rows, part, taken)
            rows.way[part], rows.blind[part] = rows.trip.way, piece.how == "blind"
        i, k = _newest(tank), _newest(taken)
        rows.piece = replace(
            piece,
            tank=float(tank[i]) if i >= 0 else piece.tank,
            pits=float(pits[i]) if i >= 0 else piece.pits,
            taken=float(taken[k]) if k >= 0 else piece.taken,
            full=bool(full[-1]),
            filled=float(rows.filled[b - 1]),
            circulated=float(rows.circulated[b - 1]),
        )
        rows.show(b - 1)

    def _show(self, rows: Rows, part: slice, taken: FloatArray) -> Mask:
        """Fill in the rows of a trip; return where the hole was seen to take its fill."""
        steps, declared = self._steps, self.state.declared
        trip, piece = rows.trip, rows.piece
        measured = trip.left - trip.missed
        owed = measured - (trip.fill.left - trip.fill.missed)
        ratio, full = np.zeros(taken.size), np.zeros(taken.size, np.bool_)
        pending, why = 0.0, 0
        stands, whole = steps.pulled(trip, piece.bit)
        if trip.way == IN:
            ratio, why = np.full(taken.size, NAN), int(_NO)
        elif whole >= 1:
            allowed, known = steps.rule(piece.bit, declared)
            due = whole / allowed if allowed >= 1 else stands / allowed
            why = 0 if known else int(Quality.PARTIAL)
            full = ever(taken - trip.fill.taken >= FULL * owed, piece.full)
            ratio = np.where(full, 0.0, np.where(np.isnan(taken), NAN, due))
            pending = owed if declared.programme and due <= 1.0 else 0.0
        partial = int(Quality.PARTIAL) if trip.partial else 0
        rows.value[0, part] = trip.way * (trip.left - trip.turn.left)
        rows.value[1, part] = trip.way * (taken - trip.turn.taken)
        rows.value[2, part] = measured - np.where(full, 0.0, pending) - taken
        rows.value[3, part] = ratio
        rows.bits[:, part] = np.array([[0], [partial], [partial], [why]], np.uint16)
        return full

    def _blocks(self, table: Table, rows: Rows, lost: Mask, state: IntArray) -> dict[str, Block]:
        """Add what each row itself says of tank and bit depth."""
        tank, bit = pick(table, "trip_tank_volume"), pick(table, "bit_depth")
        on, unknown = rows.way != 0, ~bit.good
        dark = lost & ~rows.blind
        bad = np.stack((unknown, dark | unknown, dark | unknown, dark | unknown))
        value = np.where(bad, NAN, rows.value)
        none = np.isnan(value)
        quality = rows.bits | (bit.quality & _OLD)
        quality = np.where(none, quality & ~HELD, quality)
        quality |= np.where(none & unknown, bit.quality & np.uint16(BAD), 0).astype(np.uint16)
        why = np.where(tank.good, np.uint16(Quality.OUT_OF_RANGE), tank.quality & np.uint16(BAD))
        quality[1:] |= np.where(none[1:] & lost, why, 0).astype(np.uint16)
        quality = mark(quality, none & (quality == 0), Quality.NO_REFERENCE)
        quality = np.where(on, quality, _NO)
        out = {name: Block(tank.t, value[i], quality[i]) for i, name in enumerate(NAMES)}
        tripping = _TRIPPING[state] | (on & ~_PUMPED[state])
        value = (tripping & lost).astype(np.float64)
        out[UNUSABLE] = Block(tank.t, value, no_quality(value.size))
        return out


def _newest(value: FloatArray) -> int:
    """Return the index of the newest number, -1 if there is none."""
    if np.isfinite(value[-1]):
        return value.size - 1
    known = np.flatnonzero(np.isfinite(value))
    return int(known[-1]) if known.size else -1
