"""The steps of the live trip sheet: from one rest of the pipe to the next."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import floor, isfinite, isnan

import numpy as np

from engine.block import FloatArray
from engine.config import Component, WellConfig
from engine.ops.primitives import NAN
from engine.ops.trip_state import IN, OUT, Declared, Piece, Point, Rest, Trip
from engine.well.answer import Unknown
from engine.well.fill_card import MOST_STANDS, part_fill
from engine.well.geometry import WellGeometry

STAND = 0.5
"""So much of a stand moved is a stand made up or broken out. [-]"""
WHOLE = 0.2
"""A stand counts as pulled when so much of it is missing: stands are never quite equal. [-]"""
CIRCULATED = 0.2
"""Pumped through the string between two rests: the hole is full. [m3]"""
LEAST_MOVED = 0.15
"""Least volume that can be told to have been moved on purpose: five times the noise. [m3]"""
APART, APART_SHARE = 0.12, 0.25
"""The pits must have changed by the same volume, within this and this share of it. [m3], [-]"""
FULL = 0.4
"""The hole was filled if it took this share of what left it; a swabbing well takes more. [-]"""
NEAR = 1.5
"""Stands off bottom within which circulating ends a trip. [-]"""


@dataclass(frozen=True, slots=True)
class Seen:
    """What is read at one row."""

    bit: float
    hole: float
    tank: float
    pits: float
    filled: float
    circulated: float
    drilling: bool


@dataclass(slots=True)
class Steps:
    """Work out each step; nothing is kept here but what the well file says."""

    config: WellConfig
    _geometry: WellGeometry = field(init=False)

    def __post_init__(self) -> None:
        self._geometry = WellGeometry.of(self.config)

    def left(self, before: float, after: float, spilled: float) -> float:
        """Return what leaves the hole as the bit goes from one depth to another [m]. [m3]"""
        depths = [max(before, 0.0), max(after, 0.0)]  # a bit above the floor: nothing is in
        steel, bore = self._geometry.open_at(depths), self._geometry.string_at(depths)
        return float((steel[0] - steel[1]) + spilled * (bore[0] - bore[1]))

    def rule(self, bit: float, declared: Declared) -> tuple[float, bool]:
        """Return the stands that may be pulled without a fill [-] and whether all rules are known.

        Below 1 the hole must be filled continuously.
        """
        found = part_fill(
            self.config, self._at_floor(bit), declared.spilled, self.config.mud.density
        )
        most = float(MOST_STANDS)
        known = not isinstance(found, Unknown) and not isinstance(found.allowed, Unknown)
        if not isinstance(found, Unknown):
            if isinstance(found.allowed, int) and found.allowed > 0:
                most = float(found.allowed)
            elif isinstance(found.to_limit, float):
                most = min(most, found.to_limit)
        return (min(most, float(declared.programme)) if declared.programme else most), known

    def _at_floor(self, bit: float) -> Component:
        below = bit
        for part in self.config.string:
            if part.length is None or below <= part.length:
                return part
            below -= part.length
        return self.config.string[-1]

    def begin(
        self, trip: Trip, rest: Rest, declared: Declared, number: int, seen: Seen
    ) -> tuple[Trip, Rest, Piece]:
        """Go on from the rest before to a new one."""
        piece = Piece(
            number, seen.bit, filled=seen.filled, circulated=seen.circulated,
            since=seen.circulated,
        )  # fmt: skip
        if isnan(rest.bit) or self._home(trip, rest, seen):
            trip, rest = _anchor(seen)
            return trip, rest, piece
        up = seen.bit < rest.bit
        closed = self.config.trip.float_holds
        spilled = declared.spilled if up else float(closed)
        left = self.left(rest.bit, seen.bit, spilled)
        trip = replace(trip, left=trip.left + left)
        if seen.circulated - rest.circulated > CIRCULATED:
            # The pumps kept the hole full and nobody measured with what.
            trip = replace(
                trip, missed=trip.missed + left, partial=trip.partial or abs(left) > 0.01
            )
            trip = replace(trip, fill=_point(trip, seen.bit))
            rest = replace(rest, filled=seen.filled)
            how = "still" if isfinite(seen.tank) else "blind"
        else:
            how = self._how(trip, rest, seen)
            if how == "new":
                missed = trip.missed + trip.left - rest.left
                trip = replace(trip, missed=missed, partial=trip.partial or trip.left != rest.left)
                how = "still"
        trip = self._turned(trip, seen.bit)
        return trip, rest, replace(piece, how=how)

    def _home(self, trip: Trip, rest: Rest, seen: Seen) -> bool:
        """Whether this is drilling, or circulating where no trip goes on."""
        if seen.drilling:
            return True
        if seen.circulated - rest.circulated <= CIRCULATED:
            return False
        near = seen.hole - seen.bit < NEAR * self.config.rig.stand_length
        return trip.way == 0 or near

    def _how(self, trip: Trip, rest: Rest, seen: Seen) -> str:
        """Tell mud moved between trip tank and pits from what the hole took or gave."""
        if isnan(seen.tank):
            return "blind"
        if isnan(rest.tank):
            return "follow" if trip.left == rest.left else "new"
        pumped = seen.filled - rest.filled if trip.way != IN else 0.0
        odd = (seen.tank - rest.tank) + (trip.left - rest.left) - pumped
        other = seen.pits - rest.pits
        if abs(odd) < LEAST_MOVED or isnan(other):
            return "follow"
        if abs(odd + other) > max(APART, APART_SHARE * abs(odd)):
            return "follow"
        return "both" if abs(seen.bit - rest.bit) > 1.0 else "still"

    def _turned(self, trip: Trip, bit: float) -> Trip:
        """Begin a trip, or turn it round, once the bit has gone half a stand."""
        half = STAND * self.config.rig.stand_length
        if trip.way == 0:
            up = trip.start.bit - bit
            if abs(up) < half:
                return trip
            s = trip.start
            return replace(trip, way=OUT if up > 0 else IN, turn=s, end=s, fill=s)
        back = (bit - trip.end.bit) * trip.way
        if back < half:
            return trip
        fill = trip.end if trip.way == IN else trip.fill
        return replace(trip, way=-trip.way, turn=trip.end, fill=fill)

    def taken(
        self,
        trip: Trip,
        rest: Rest,
        piece: Piece,
        tank: FloatArray | float,
        pits: FloatArray | float,
        filled: FloatArray | float,
    ) -> FloatArray:
        """Return what the hole has taken by these readings [m3]; NaN where nobody measures it."""
        pumped = np.asarray(filled) - rest.filled if trip.way != IN else 0.0 * np.asarray(filled)
        if piece.how == "blind":
            return np.where((pumped > 0) | trip.by_pumps, trip.taken + pumped, NAN)
        if piece.how == "both":
            return np.asarray(trip.taken + (rest.tank + rest.pits - tank - pits))
        if piece.how == "still" or isnan(rest.tank):
            return np.asarray(trip.taken + pumped)
        return np.asarray(trip.taken + (rest.tank - tank) + pumped)

    def end(self, trip: Trip, rest: Rest, piece: Piece) -> tuple[Trip, Rest]:
        """Close a piece with its newest readings."""
        known = isfinite(piece.tank)
        if isfinite(piece.taken):
            trip = replace(trip, taken=piece.taken, by_pumps=piece.how == "blind")
        here = _point(trip, piece.bit)
        if piece.full or piece.circulated - piece.since > CIRCULATED:
            trip = replace(trip, fill=here)
        if trip.way and (piece.bit - trip.end.bit) * trip.way <= 0:
            trip = replace(trip, end=here)
        rest = Rest(
            piece.bit, piece.tank if known else rest.tank, piece.pits if known else rest.pits,
            trip.left if known else rest.left, piece.filled, piece.circulated,
        )  # fmt: skip
        if trip.way == 0 and piece.circulated - piece.since > CIRCULATED:
            seen = Seen(piece.bit, NAN, rest.tank, rest.pits, piece.filled, piece.circulated, False)
            return _anchor(seen)
        return trip, rest

    def pulled(self, trip: Trip, bit: float) -> tuple[float, int]:
        """Return stands pulled since the hole was last full: by length, and whole ones. [-]"""
        stands = (trip.fill.bit - bit) / self.config.rig.stand_length
        return max(stands, 0.0), floor(max(stands, 0.0) + WHOLE)


def _point(trip: Trip, bit: float) -> Point:
    return Point(bit, trip.left, trip.taken, trip.missed)


def _anchor(seen: Seen) -> tuple[Trip, Rest]:
    """Count from here: no trip is on."""
    here = Point(seen.bit)
    trip = Trip(start=here, end=here, turn=here, fill=here)
    return trip, Rest(seen.bit, seen.tank, seen.pits, 0.0, seen.filled, seen.circulated)
