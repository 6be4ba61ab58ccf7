r"""Travel of the block: how far it goes before it stops, how fast it may go. Kinematics only.

It stops nothing: the crown device is a separate, tested system.

References
----------
.. [1] Own kinematics: reaction at full speed, then constant deceleration.
.. [2] 30 CFR 250.404: crown block safety device, checked weekly and after each slip of the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from engine.units import G0
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import not_negative, number, positive

ASSUMED_BRAKING = 0.5
"""Taken where the brake has not been measured: a slow one. [m/s2] common practice, no source"""
OLDEST = 0.25
"""An older position of a moving block is no position. [s] half a brake's delay"""
STANDS = 0.02
"""A slower block stands. [m/s] common practice, no source"""
CROWN_MARGIN, FLOOR_MARGIN = 2.0, 1.0
"""Kept free. [m] common practice, no source; the length of the elevator comes on top"""


def braking_or_assumed(measured: Answer) -> tuple[float, bool]:
    """Return the deceleration [m/s2] and whether it is only assumed; 0 counts as unknown."""
    if isinstance(measured, Unknown) or positive(measured=measured):
        return ASSUMED_BRAKING, True
    return measured, False


def stopping_distance(speed: float, reaction: float, deceleration: float) -> Answer:
    r"""Distance to stop, :math:`v t_r + v^2 / 2a` [1]_. [m]

    Parameters
    ----------
    speed : float
        Either way; 0 needs nothing. [m/s]
    reaction : float
        Age of the reading, program and brake together. [s]
    deceleration : float
        [m/s2]
    """
    if bad := number(speed=speed) or not_negative(reaction=reaction):
        return bad
    if bad := positive(deceleration=deceleration):
        return bad
    v = abs(speed)
    return finite(v * reaction + v * v / (2 * deceleration), "the brake does next to nothing")


def allowed_speed(distance: float, reaction: float, deceleration: float) -> Answer:
    r"""Speed from which the block still stops in `distance` [m]. [m/s] 0 past the stop.

    .. math:: -a t_r + \sqrt{(a t_r)^2 + 2 a s}

    Parameters
    ----------
    distance, reaction, deceleration : float
        To the stop [m], as of `stopping_distance` [s], [m/s2].
    """
    if bad := number(distance=distance) or not_negative(reaction=reaction):
        return bad
    if bad := positive(deceleration=deceleration):
        return bad
    if distance <= 0:
        return 0.0
    late = deceleration * reaction
    # 2 a s / (late + root) is the same without the difference of two near numbers.
    root = late + sqrt(late * late + 2 * deceleration * distance)
    return finite(2 * deceleration * distance / root, "the brake is out of range") if root else (
        Unknown("the brake is out of range")
    )  # fmt: skip


def highest_at_full_speed(
    crown: float, margin: float, speed: float, reaction: float, deceleration: float
) -> Answer:
    """Block height above which it must slow down. [m]

    Parameters
    ----------
    crown, margin : float
        Height at which the block would strike, and what is kept free below it. [m]
    speed, reaction, deceleration : float
        As of `stopping_distance`.
    """
    if bad := number(crown=crown) or not_negative(margin=margin):
        return bad
    stop = stopping_distance(speed, reaction, deceleration)
    if isinstance(stop, Unknown):
        return stop
    return finite(crown - margin - stop, "the crown is out of range")


@dataclass(frozen=True, slots=True)
class Stops:
    """Where the block must not go, and how it brakes."""

    crown: float
    """Block height at which it strikes. [m]"""
    floor: float
    """Block height at which the elevator is on the floor. [m]"""
    reaction: float
    """[s]"""
    deceleration: float = ASSUMED_BRAKING
    """[m/s2]"""
    crown_margin: float = CROWN_MARGIN
    """[m]"""
    floor_margin: float = FLOOR_MARGIN
    """[m]"""


@dataclass(frozen=True, slots=True)
class Approach:
    """Where a moving block is heading."""

    stop: str
    """``crown`` or ``floor``."""
    distance: float
    """To the margin before it; negative past it. [m]"""
    seconds: float
    """Until it is there at this speed; 0 past it. [s]"""
    stopping: float
    """Distance it needs to stop. [m]"""
    allowed: float
    """Speed from which it still stops in time. [m/s]"""
    too_fast: bool


def approach(position: float, speed: float, age: float, stops: Stops) -> Approach | Unknown:
    """Predict when a moving block comes to the crown or the floor.

    Parameters
    ----------
    position, speed : float
        Block height [m] and speed, up positive [m/s], of the newest reading.
    age : float
        Of that reading. [s]
    stops : Stops

    Returns
    -------
    Approach or Unknown
        Unknown for a block that stands, and, while it moves, for a reading older than 0.25 s:
        show "position unknown", never green.
    """
    if number(position=position, speed=speed, age=age):
        return Unknown("position unknown")
    if abs(speed) < STANDS:
        return Unknown("the block stands")
    if not 0 <= age <= OLDEST:
        return Unknown("position unknown")
    up = speed > 0
    if bad := number(crown=stops.crown, floor=stops.floor) or not_negative(
        crown_margin=stops.crown_margin, floor_margin=stops.floor_margin
    ):
        return bad
    if up and stops.deceleration >= G0:
        return Unknown("hoisting, the line goes slack before the block slows that fast")
    distance = (
        stops.crown - stops.crown_margin - position
        if up
        else position - stops.floor - stops.floor_margin
    )
    stopping = stopping_distance(speed, stops.reaction, stops.deceleration)
    allowed = allowed_speed(distance, stops.reaction, stops.deceleration)
    if isinstance(stopping, Unknown):
        return stopping
    if isinstance(allowed, Unknown):
        return allowed
    seconds = finite(max(0.0, distance) / abs(speed), "position unknown")
    if isinstance(seconds, Unknown):
        return seconds
    return Approach(
        "crown" if up else "floor",
        distance,
        seconds,
        stopping,
        allowed,
        abs(speed) > allowed,
    )


def braking_factor(deceleration: float, *, hoisting: bool = False) -> Answer:
    """Hook load over that at rest while the block slows down. [-]

    Parameters
    ----------
    deceleration : float
        [m/s2]
    hoisting : bool
        Slowing on the way up takes load off: ``1 - a/g``, unknown from g on, where the line
        goes slack. On the way down it adds: ``1 + a/g``.
    """
    if bad := not_negative(deceleration=deceleration):
        return bad
    if hoisting and deceleration >= G0:
        return Unknown("the line goes slack")
    return finite(1 + (-1 if hoisting else 1) * deceleration / G0, "the brake is out of range")


def move_time(distance: float, speed: float, start: float, stop: float) -> Answer:
    r"""Time of a move at constant acceleration, speed and deceleration [1]_. [s]

    Too short for full speed, it turns from one to the other half way.

    Parameters
    ----------
    distance : float
        Either way; 0 takes no time. [m]
    speed : float
        Highest. [m/s]
    start, stop : float
        Acceleration and deceleration. [m/s2]
    """
    if bad := number(distance=distance) or positive(speed=speed, acceleration=start):
        return bad
    if bad := positive(deceleration=stop):
        return bad
    s, both = abs(distance), 1 / start + 1 / stop
    if s >= speed * speed / 2 * both:
        return finite(s / speed + speed / 2 * both, "the block hardly moves")
    return finite(sqrt(2 * s * both), "the block hardly moves")


def _limits(v: dict[str, float]) -> dict[str, Answer]:
    stop = stopping_distance(v["speed"], v["reaction"], v["deceleration"])
    return {
        "stopping": stop,
        "allowed": allowed_speed(v["distance"], v["reaction"], v["deceleration"]),
        "load_factor": braking_factor(v["deceleration"]),
    }


_SPEED = Input("speed", "speed", "of the block", low=0.0)
_BRAKING = Input("deceleration", "acceleration", "of the brake; 0.5 m/s2 is assumed",
                 ASSUMED_BRAKING, 1e-3, 100.0)  # fmt: skip

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "block-stop",
        "stopping distance, allowed speed, and load while braking on the way down",
        (
            _SPEED,
            Input("distance", "length", "to the stop; negative past it"),
            Input("reaction", "time", "age of the reading, program and brake", low=0.0),
            _BRAKING,
        ),
        (
            Output("stopping", "length", "distance to stop"),
            Output("allowed", "speed", "from which it still stops in the distance"),
            Output("load_factor", "ratio", "hook load over that at rest"),
        ),
        "kinematics: reaction, then constant deceleration",
        lambda v: _limits(dict(v)),
    ),
    Calculation(
        "block-move",
        "time of a move of the block",
        (
            Input("distance", "length", "of the move", low=0.0),
            Input("speed", "speed", "highest", low=1e-6),
            Input("acceleration", "acceleration", "from rest", low=1e-6),
            _BRAKING,
        ),
        (Output("time", "time", "from rest to rest"),),
        "kinematics: constant acceleration, speed, deceleration",
        lambda v: {
            "time": move_time(v["distance"], v["speed"], v["acceleration"], v["deceleration"])
        },
    ),
)
