r"""How many stands may be pulled before the hole must be filled, and with how much.

The hole is filled before the pressure on bottom has fallen by 75 psi, or every five stands,
whichever is the smaller fall [1]_. The numbers for drill pipe and for collars, and the
volumes, are posted at the driller's station.

References
----------
.. [1] 30 CFR 250.456(c) (also 250.514(c), 250.614(b)).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor

from engine.config import Component, WellConfig
from engine.units import PSI
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.capacities import STEEL, circle
from engine.well.checks import not_negative, positive
from engine.well.sheet import EXACT, ConstantSet
from engine.well.trip import displaced, length_to_lose, level_fall, pressure_drop

LIMIT = 75 * PSI
"""Most pressure that may be lost before the hole is filled. [Pa] 30 CFR 250.456(c)"""
MOST_STANDS = 5
"""Most stands that may be pulled before the hole is filled. [-] 30 CFR 250.456(c)"""


@dataclass(frozen=True, slots=True)
class Fill:
    """How to keep the hole full with one kind of pipe; units of the constant set."""

    taken: float
    """What each metre pulled takes out of the hole. [capacity]"""
    to_limit: Answer
    """Stands until 75 psi are lost, not rounded. [-]"""
    allowed: int | Unknown
    """Stands before filling: whole, at most five; 0: fill continuously. [-]"""
    over_five: Answer
    """Pressure lost over five stands. [pressure]"""
    each: float
    """Fill for each stand. [volume]"""
    volume: Answer
    """Fill after the allowed stands; unknown where filling is continuous. [volume]"""
    fall: Answer
    """Fall of the level that costs 75 psi. [length]"""

    @property
    def text(self) -> str:
        """What to do, in words for the driller."""
        if isinstance(self.allowed, Unknown):
            return self.allowed.reason
        if self.allowed == 0:
            return "fill continuously"
        return "fill every stand" if self.allowed == 1 else f"fill every {self.allowed} stands"


def fill(cs: ConstantSet, mud: float, hole: float, taken: float, stand: float) -> Fill | Unknown:
    """Apply the rule of 75 psi or five stands to one kind of pipe.

    Parameters
    ----------
    cs : ConstantSet
        Constants and units.
    mud : float
        Mud weight.
    hole : float
        Capacity of the casing or hole at the fluid level.
    taken : float
        What each metre pulled takes: steel when dry, steel and bore when wet or closed.
    stand : float
        Length of a stand.

    Returns
    -------
    Fill or Unknown
        Unknown if an input is. Within `Fill`, where the pipe takes all the room in the
        casing, the stands and the pressure are unknown; the fill for each stand is not.
    """
    if bad := positive(hole_capacity=hole, stand_length=stand, pipe_volume=taken):
        return bad
    if bad := not_negative(mud_weight=mud):
        return bad
    limit = cs.of("pressure", LIMIT)
    length = length_to_lose(cs, limit, mud, hole, taken)
    over_five = pressure_drop(cs, mud, level_fall(MOST_STANDS * stand, hole, taken))
    each = finite(stand * taken, "the fill for a stand is too large")
    if isinstance(each, Unknown):
        return each
    if isinstance(length, Unknown):
        return Fill(taken, length, length, over_five, each, length, length)
    stands = finite(length / stand, "the stand is too short")
    if isinstance(stands, Unknown):
        return stands
    allowed = floor(min(MOST_STANDS, stands + 1e-9))
    volume: Answer = allowed * each if allowed else Unknown("fill continuously")
    fall = finite(limit / (cs.hydrostatic * mud), "the mud is unknown")
    return Fill(taken, stands, allowed, over_five, each, volume, fall)


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line of the fill card."""

    part: str
    """Name of the part of the string."""
    wet: bool
    """The bore's mud leaves with the pipe."""
    float_holds: bool
    """A float or plug keeps the bore closed: it neither drains nor fills."""
    fill: Fill | Unknown


def fill_card(config: WellConfig, mud: float | None = None) -> tuple[CardLine, ...]:
    """Make the fill card of a well, SI and exact: every part of the string, top part first.

    Parameters
    ----------
    config : WellConfig
        String, hole, stand length and mud.
    mud : float, optional
        Mud weight instead of that of the well file. [kg/m3]

    Returns
    -------
    tuple of CardLine
        For each part dry and wet, without and with a float that holds. The level is taken
        in the top section of the hole; where it would leave it, the line is unknown.
    """
    weight = config.mud.density if mud is None else mud
    lines: list[CardLine] = []
    for part in reversed(config.string):
        for holds in (False, True):
            for wet in (False, True):
                found = part_fill(config, part, float(wet or holds), weight)
                lines.append(CardLine(part.name, wet, holds, found))
    return tuple(lines)


def part_fill(config: WellConfig, part: Component, spilled: float, mud: float) -> Fill | Unknown:
    """Apply the rule to one part of the string, the level in the top section of the hole.

    Parameters
    ----------
    config : WellConfig
        Hole and stand length.
    part : Component
        What is at the floor.
    spilled : float
        Share of the bore's mud that is lost: 0 dry, 1 wet or closed. [-]
    mud : float
        [kg/m3]
    """
    if not config.hole:
        return Unknown("no hole in the well file; it needs a [[hole]] table")
    top = config.hole[0]
    taken = displaced(part.weight / STEEL, circle(part.inner), spilled)
    if isinstance(taken, Unknown):
        return taken
    found = fill(EXACT, mud, circle(top.diameter), taken, config.rig.stand_length)
    if isinstance(found, Unknown) or isinstance(found.fall, Unknown):
        return found
    if top.bottom is not None and found.fall > top.bottom:
        return Unknown(f"the level would leave {top.name}, which ends at {top.bottom:g} m")
    return found


def _work(v: Mapping[str, float]) -> dict[str, Answer]:
    names = ("to_limit", "allowed", "fill", "each", "over_five")
    taken = displaced(v["steel"], v["bore"], v["spilled"])
    if isinstance(taken, Unknown):
        return dict.fromkeys(names, taken)
    found = fill(EXACT, v["mud_weight"], v["hole"], taken, v["stand"])
    if isinstance(found, Unknown):
        return dict.fromkeys(names, found)
    answers = (found.to_limit, found.allowed, found.volume, found.each, found.over_five)
    return dict(zip(names, answers, strict=True))


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "stands-to-fill",
        "stands before the hole must be filled (75 psi or five stands), and the volume",
        (
            mud_input("mud_weight", "mud in the hole"),
            Input("hole", "capacity", "casing capacity at the fluid level", low=0.0),
            Input("steel", "capacity", "open-end displacement of the pipe", low=0.0),
            Input("bore", "capacity", "bore capacity of the pipe", 0.0, 0.0),
            Input("spilled", "ratio", "share of the bore lost: 0 dry, 1 wet or closed", 0, 0, 1),
            Input("stand", "length", "length of a stand", low=0.0),
        ),
        (
            Output("to_limit", "count", "stands until 75 psi are lost"),
            Output("allowed", "count", "stands before filling; 0: fill continuously"),
            Output("fill", "volume", "fill after the allowed stands"),
            Output("each", "volume", "fill for each stand"),
            Output("over_five", "pressure", "pressure lost over five stands without filling"),
        ),
        "30 CFR 250.456(c)",
        _work,
        caution=True,
    ),
)
