r"""Work of the drilling line, and when it is to be slipped and cut. SI, exact.

Weights are forces: a ton-mile is 2000 lbf over a mile.

References
----------
.. [1] API RP 9B, formulas of round trip, drilling, coring and casing, as on
   www.drillingformulas.com (round-trip ton-miles; ton-miles for coring operation), and
   www.netwasgroup.us (ton-miles while making short trip).
.. [2] Own proof for setting casing: stand by stand, the block goes down with the load and up
   empty, as in a round trip, so its term is 4 D M before the half. A published example has D M.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import isfinite, pi

from engine.well.answer import Answer, Unknown, finite
from engine.well.checks import not_negative, positive
from engine.well.weight_drag import Part, buoyed_weights, total

NEAR = (0.8, 0.9, 1.0)
"""Shares of the limit at which the crew is told. [-] common practice, no source"""
WHOLE_LAP = 0.05
"""A cut this near to whole laps leaves the wear where it was. [-] common practice, no source"""


@dataclass(frozen=True, slots=True)
class LineLoad:
    """What hangs on the line in a trip."""

    pipe: float
    """Buoyed. [N/m]"""
    block: float
    """Block, hook, top drive. [N]"""
    excess: float
    """Buoyed weight of the assembly above that of as much pipe; see `excess_weight`. [N]"""
    stand: float
    """Length of a stand, of a joint for casing. [m]"""

    def fault(self) -> Unknown | None:
        """Return why this cannot be a load; None if it can."""
        bad = not_negative(pipe_weight=self.pipe, block_weight=self.block, excess=self.excess)
        return bad or positive(stand=self.stand)


def excess_weight(assembly: Sequence[Part], pipe: float, mud: float) -> Answer:
    """Buoyed weight of the assembly less that of the same length of pipe [1]_. [N]

    Parameters
    ----------
    assembly : sequence of Part
        Collars, heavy-weight pipe, bit and tools.
    pipe : float
        Weight of the drill pipe in air. [kg/m]
    mud : float
        [kg/m3]
    """
    length = sum(part.length for part in assembly)
    heavy = total(buoyed_weights(assembly, mud))
    light = total(buoyed_weights([Part(length, pipe)], mud))
    if isinstance(heavy, Unknown):
        return heavy
    if isinstance(light, Unknown):
        return light
    return heavy - light if heavy >= light else Unknown("the assembly is lighter than the pipe")


def round_trip_work(load: LineLoad, depth: float) -> Answer:
    r"""Work of a trip out and in [1]_. [J]

    .. math:: w D (L_s + D) + 4 D (M + C/2)

    Parameters
    ----------
    load : LineLoad
    depth : float
        Of the bit; 0 is no trip: 0. [m]
    """
    if bad := load.fault() or not_negative(depth=depth):
        return bad
    w, d = load.pipe, depth
    work = w * d * (load.stand + d) + 4 * d * (load.block + load.excess / 2)
    return finite(work, "the work is too large to be one")


def drilling_work(before: Answer, after: Answer, *, reaming: bool) -> Answer:
    """Work of drilling from one depth to another [1]_. [J]

    Parameters
    ----------
    before, after : Answer
        Round trips from the two depths. [J]
    reaming : bool
        Every length drilled is reamed before the connection: 3 times the difference; else
        twice (the second from memory).
    """
    return _difference(before, after, 3 if reaming else 2)


def coring_work(before: Answer, after: Answer) -> Answer:
    """Work of coring: twice the difference of two round trips [1]_. [J]"""
    return _difference(before, after, 2)


def short_trip_work(shallow: Answer, deep: Answer) -> Answer:
    """Work of a trip from `deep` to `shallow` and back: their difference [1]_. [J]"""
    return _difference(shallow, deep, 1)


def _difference(less: Answer, more: Answer, times: int) -> Answer:
    if isinstance(less, Unknown):
        return less
    if isinstance(more, Unknown):
        return more
    if bad := not_negative(first_round_trip=less, second_round_trip=more):
        return bad
    if more < less:
        return Unknown("the second round trip is less work than the first; swap them")
    return times * (more - less)


def casing_work(load: LineLoad, depth: float) -> Answer:
    """Work of running casing: half a round trip, with no excess weight [2]_. [J]

    Parameters
    ----------
    load : LineLoad
        ``pipe`` is the casing; ``stand`` its joint; ``excess`` is left out.
    depth : float
        Of its shoe. [m]
    """
    work = round_trip_work(replace(load, excess=0.0), depth)
    return work if isinstance(work, Unknown) else work / 2


def stand_by_stand_work(load: LineLoad, stands: int) -> Answer:
    """Work of running or pulling `stands` one by one, block empty one way: half a trip. [J]"""
    if bad := load.fault() or not_negative(stands=stands):
        return bad
    n, length = int(stands), load.stand
    hanging = n * load.excess + load.pipe * length * n * (n + 1) / 2
    return finite(length * (2 * n * load.block + hanging), "the work is too large to be one")


def move_work(hook_load: float, travel: float) -> Answer:
    """Work of one move of the block: hook load x distance, either way. [J]"""
    if bad := not_negative(hook_load=hook_load):
        return bad
    if not isfinite(travel):
        return Unknown("travel is unknown")
    return finite(hook_load * abs(travel), "the work is too large to be one")


@dataclass(frozen=True, slots=True)
class LineWork:
    """Work of one length of line since its last cut, added up move by move."""

    done: float = 0.0
    """[J]"""
    estimated: float = 0.0
    """Part of `done` with the expected in place of an unknown hook load; mark it. [J]"""
    uncounted: float = 0.0
    """Travel with neither load known: nothing was counted for it. [m]"""

    def moved(self, hook_load: Answer, travel: float, expected: Answer) -> LineWork:
        """Return the work after one more move of the block.

        Parameters
        ----------
        hook_load : Answer
            [N]
        travel : float
            Either way; NaN while the position is unknown counts nothing. [m]
        expected : Answer
            Block and string by tally. [N]
        """
        if not isfinite(travel):
            return self
        work = hook_load if isinstance(hook_load, Unknown) else move_work(hook_load, travel)
        if not isinstance(work, Unknown):
            return replace(self, done=self.done + work)
        guess = expected if isinstance(expected, Unknown) else move_work(expected, travel)
        if isinstance(guess, Unknown):
            return replace(self, uncounted=self.uncounted + abs(travel))
        return replace(self, done=self.done + guess, estimated=self.estimated + guess)


class Due(Enum):
    """What the line needs by the work it has done; a look at it overrides any count."""

    NOTHING = "in service"
    SOON = "80 % of the limit"
    NEXT = "90 % of the limit: plan the cut"
    NOW = "limit reached: slip and cut"


@dataclass(frozen=True, slots=True)
class SlipAndCut:
    """Programme of one rope on one rig; both numbers are the rope maker's or the rig's own."""

    limit: float
    """Work between two cuts. [J]"""
    drum: float
    """Working diameter of the drum where the line is cut. [m]"""

    def used(self, done: Answer) -> Answer:
        """Share of the limit that is used. [-] Above 1: it is overdue."""
        if isinstance(done, Unknown):
            return done
        if bad := positive(limit=self.limit) or not_negative(work=done):
            return bad
        return finite(done / self.limit, "the limit is next to nothing")

    def due(self, done: Answer) -> Due | Unknown:
        """Return what is due; unknown if the work is."""
        used = self.used(done)
        if isinstance(used, Unknown):
            return used
        return list(Due)[sum(used >= share for share in NEAR)]

    def left(self, done: Answer) -> Answer:
        """Work left before the cut; 0 when it is due. [J]"""
        used = self.used(done)
        return used if isinstance(used, Unknown) else self.limit * max(0.0, 1.0 - used)

    def trips_left(self, done: Answer, trip: Answer) -> Answer:
        """Return how many round trips of this much work are left. [-]"""
        left = self.left(done)
        if isinstance(left, Unknown):
            return left
        if isinstance(trip, Unknown):
            return trip
        return positive(work_of_a_trip=trip) or finite(left / trip, "a trip is no work")

    def cut(self, laps: float) -> Answer:
        """Length to cut, `laps` of the drum. [m]

        Unknown for whole laps: the points where the line crosses over would wear on.
        """
        if bad := positive(drum=self.drum, laps=laps):
            return bad
        if abs(laps - round(laps)) < WHOLE_LAP:
            return Unknown(f"{laps:g} laps; add a part of one, so that cross-over points move")
        return finite(pi * self.drum * laps, "the drum is too large to be one")
