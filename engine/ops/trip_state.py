"""What a trip has come to: the trip sheet as numbers that outlive a block."""

from __future__ import annotations

from dataclasses import dataclass, field

from engine.ops.primitives import NAN

OUT, IN = 1, -1


@dataclass(frozen=True, slots=True)
class Rest:
    """Depth and levels at the end of the newest rest."""

    bit: float = NAN
    """[m]"""
    tank: float = NAN
    """Newest known. [m3]"""
    pits: float = NAN
    """At the same time as `tank`. [m3]"""
    left: float = 0.0
    """`Trip.left` at that time. [m3]"""
    filled: float = 0.0
    """Pumped into the annulus since the start of the record. [m3]"""
    circulated: float = 0.0
    """Pumped through the string since the start of the record. [m3]"""


@dataclass(frozen=True, slots=True)
class Point:
    """A depth and what the sheet said there."""

    bit: float = NAN
    left: float = 0.0
    taken: float = 0.0
    missed: float = 0.0


@dataclass(frozen=True, slots=True)
class Trip:
    """One trip, or the rest before one. Volumes count from where it began; down is negative."""

    way: int = 0
    """1 out, -1 in, 0: not tripping. [-]"""
    left: float = 0.0
    """Steel, and bore if lost with it, that has left the hole. [m3]"""
    taken: float = 0.0
    """What the hole took, as measured. [m3]"""
    missed: float = 0.0
    """Part of `left` whose fill nobody measured. [m3]"""
    partial: bool = False
    by_pumps: bool = False
    """The hole was filled by the pumps and no trip tank was read."""
    start: Point = field(default_factory=Point)
    end: Point = field(default_factory=Point)
    """The furthest in this way; where it turns, the other way begins."""
    turn: Point = field(default_factory=Point)
    """Where this way began."""
    fill: Point = field(default_factory=Point)
    """Where the hole was last seen full."""


@dataclass(frozen=True, slots=True)
class Piece:
    """The rest that is being read."""

    number: int = -1
    """-1: none. [-]"""
    bit: float = NAN
    how: str = "follow"
    """How the levels are read: ``follow`` the tank; ``still``: mud was moved on purpose, or the
    levels begin anew; ``both``: the same while pipe moved, so tank and pits together; ``blind``:
    no trip tank."""
    tank: float = NAN
    """Newest readings of it. [m3]"""
    pits: float = NAN
    taken: float = NAN
    """`Trip.taken` by the newest reading; NaN: not known. [m3]"""
    full: bool = False
    """The hole was seen to take its fill."""
    filled: float = 0.0
    circulated: float = 0.0
    since: float = 0.0
    """`circulated` at its first reading. [m3]"""


@dataclass(frozen=True, slots=True)
class Shown:
    """What the channels hold until the next reading."""

    value: tuple[float, ...] = (NAN, NAN, NAN, NAN)
    """Expected, actual, difference [m3] and overdue [-]."""
    bits: tuple[int, ...] = (0, 0, 0, 0)
    """Quality of each, but for what the row itself adds. [-]"""
    blind: bool = False
    """No trip tank was read."""


@dataclass(frozen=True, slots=True)
class Declared:
    """What the crew says of the trip."""

    spilled: float
    """Share of the bore's mud that leaves with the pipe. [-]"""
    programme: int
    """Stands before a fill; 0: filled as each is pulled. [-]"""
