"""Tally of what is run: joints in stands, running total, next stand, derrick, bit depth.

References
----------
.. [1] Common practice: bit depth is bottom-hole assembly plus stands run less the stick-up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from engine.errors import InputError
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import number

LONGEST_JOINT = 16.0
"""API range 3 joints are under 14 m; a longer one is a typing slip. [m] common practice"""
APART = 0.20
"""Block travel and tally stand differ by more than this only by a slip. [m] common practice"""


@dataclass(frozen=True, slots=True)
class Stand:
    """Joints that are racked together, from the bottom up."""

    number: int
    """From 1 in the order they are run. [-]"""
    joints: tuple[float | None, ...]
    """Length of each; None: not measured. [m]"""

    @property
    def length(self) -> Answer:
        """[m] Unknown with the joint that was not measured."""
        total = 0.0
        for i, joint in enumerate(self.joints, 1):
            if joint is None:
                return Unknown(f"joint {i} of stand {self.number} is not measured")
            total += joint
        return total


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the tally sheet."""

    stand: Stand
    total: Answer
    """Bottom-hole assembly and all stands up to this one. [m]"""
    bit: Answer
    """Bit depth with this stand in slips. [m]"""
    in_hole: bool


@dataclass(frozen=True, slots=True)
class Tally:
    """Bottom-hole assembly, and stands in the order they are run."""

    bha: float
    """Length of what is below the first stand. [m]"""
    stands: tuple[Stand, ...]
    stick_up: float
    """Pipe above the floor when it stands in slips. [m]"""
    in_hole: int = 0
    """Stands in the hole. [-]"""

    @classmethod
    def of(
        cls,
        joints: Sequence[float | None],
        *,
        each: int,
        bha: float,
        stick_up: float,
        in_hole: int = 0,
    ) -> Tally:
        """Build a tally from a list of joints.

        Parameters
        ----------
        joints : sequence of float or None
            In running order; None: not measured. [m]
        each : int
            Joints in a stand; the last stand may have fewer. [-]
        bha, stick_up : float
            [m]
        in_hole : int
            Stands in the hole already. [-]

        Raises
        ------
        InputError
            One message with every impossible length or number.
        """
        problems = [
            f"joint {i}: {n!r} m is no length; above 0, up to {LONGEST_JOINT:g} m"
            for i, n in enumerate(joints, 1)
            if n is not None and not (isfinite(n) and 0 < n <= LONGEST_JOINT)
        ]
        if each < 1:
            problems.append(f"joints in a stand: {each}; at least 1")
        for name, value in (("bottom-hole assembly", bha), ("stick-up", stick_up)):
            if not (isfinite(value) and value >= 0):
                problems.append(f"{name}: {value!r} m; 0 or more")
        count = -(-len(joints) // each) if each >= 1 else 0
        if not 0 <= in_hole <= count:
            problems.append(f"stands in the hole: {in_hole}; the tally has {count}")
        if problems:
            raise InputError("tally: " + "; ".join(problems))
        stands = tuple(Stand(n + 1, tuple(joints[n * each : (n + 1) * each])) for n in range(count))
        return cls(bha, stands, stick_up, in_hole)

    @property
    def next_stand(self) -> Stand | None:
        """The next one to run; None if all are in the hole."""
        return self.stands[self.in_hole] if self.in_hole < len(self.stands) else None

    @property
    def in_derrick(self) -> tuple[Stand, ...]:
        """Stands that are not in the hole, in running order."""
        return self.stands[self.in_hole :]

    @property
    def left(self) -> Answer:
        """Length left in the derrick. [m]"""
        return _add(0.0, self.in_derrick)

    @property
    def total(self) -> Answer:
        """Length below the connection in slips: assembly and stands in the hole. [m]"""
        return _add(self.bha, self.stands[: self.in_hole])

    @property
    def bit_depth(self) -> Answer:
        """Bit depth with the last stand in slips. [m] Unknown above the floor."""
        return bit_from_tally(self.total, self.stick_up)

    def run(self, count: int = 1) -> Tally:
        """Return the tally after `count` stands more are in the hole; negative: pulled.

        Raises
        ------
        InputError
            If there are not so many in the derrick, or in the hole.
        """
        now = self.in_hole + count
        if not 0 <= now <= len(self.stands):
            where = "derrick" if count > 0 else "hole"
            there = len(self.in_derrick) if count > 0 else self.in_hole
            raise InputError(f"tally: {abs(count)} stands, but {there} are in the {where}")
        return Tally(self.bha, self.stands, self.stick_up, now)

    def lines(self) -> tuple[Line, ...]:
        """Return the sheet: every stand with its running total and bit depth."""
        out: list[Line] = []
        total: Answer = self.bha
        for stand in self.stands:
            total = total if isinstance(total, Unknown) else _add(total, (stand,))
            bit = bit_from_tally(total, self.stick_up)
            out.append(Line(stand, total, bit, stand.number <= self.in_hole))
        return tuple(out)


def bit_from_tally(total: Answer, stick_up: float) -> Answer:
    """Bit depth = length below the connection less the stick-up. [m]

    Parameters
    ----------
    total : float or Unknown
        Bottom-hole assembly and stands. [m]
    stick_up : float
        [m]

    Returns
    -------
    float or Unknown
        [m] Unknown if the bit would be above the floor.
    """
    if isinstance(total, Unknown):
        return total
    if bad := number(length_of_string=total, stick_up=stick_up):
        return bad
    depth = total - stick_up
    return depth if depth >= 0 else Unknown(f"the bit is {-depth:.2f} m above the floor")


def off_tally(travel: float, stand: Answer) -> bool | Unknown:
    """Whether the block travel of a connection contradicts the tally by more than 0.20 m.

    Parameters
    ----------
    travel : float
        Block travel in slips, or the length of a stand as seen by the block. [m]
    stand : float or Unknown
        Length by tally. [m]
    """
    if isinstance(stand, Unknown):
        return stand
    return number(block_travel=travel, stand=stand) or abs(travel - stand) > APART


def _add(start: float, stands: Sequence[Stand]) -> Answer:
    for stand in stands:
        length = stand.length
        if isinstance(length, Unknown):
            return length
        start += length
    return start


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "bit-depth-from-tally",
        "bit depth from what has been run",
        (
            Input("bha", "length", "bottom-hole assembly", 0.0, 0.0),
            Input("pipe", "length", "stands run above it", low=0.0),
            Input("stick_up", "length", "pipe above the floor in slips", 0.0, 0.0),
        ),
        (Output("bit_depth", "length", "measured depth of the bit"),),
        "common practice",
        lambda v: {"bit_depth": bit_from_tally(v["bha"] + v["pipe"], v["stick_up"])},
    ),
)
