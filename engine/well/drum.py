r"""From the drum of the drawworks to the block: travel for each turn, count and minute.

References
----------
.. [1] Common practice, no source: :math:`\pi D_k / n` of travel for each turn, on layer
   :math:`k` of rope :math:`D_k = D + d (1 + (k - 1) \sqrt 3)`, ropes lying in the grooves.
"""

from __future__ import annotations

from math import pi, sqrt

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import number, positive


def layer_diameter(drum: float, rope: float, layer: int) -> Answer:
    """Working diameter of the drum on a layer of rope [1]_. [m]

    Parameters
    ----------
    drum, rope : float
        Diameters of the bare drum and of the rope. [m]
    layer : int
        From 1. [-]
    """
    if bad := positive(drum=drum, rope=rope, layer=layer):
        return bad
    return finite(drum + rope * (1 + (layer - 1) * sqrt(3)), "the drum is unknown")


def travel_per_turn(working: float, lines: float) -> Answer:
    """Travel of the block for one turn of the drum [1]_. [m]

    Parameters
    ----------
    working : float
        Working diameter, see `layer_diameter`. [m]
    lines : float
        Strung to the block. [-]
    """
    if bad := positive(working_diameter=working, lines=lines):
        return bad
    return finite(pi * working / lines, "the drum is unknown")


def travel_per_count(working: float, lines: float, counts: float) -> Answer:
    """Travel of the block for one count of the drum encoder. [m]

    Parameters
    ----------
    working, lines : float
        See `travel_per_turn`.
    counts : float
        Counts in a turn: four for each pulse of a quadrature encoder. [-]
    """
    if bad := positive(counts_in_a_turn=counts):
        return bad
    turn = travel_per_turn(working, lines)
    return turn if isinstance(turn, Unknown) else turn / counts


def block_speed(working: float, lines: float, rotation: float) -> Answer:
    """Speed of the block. [m/s]

    Parameters
    ----------
    working, lines : float
        See `travel_per_turn`.
    rotation : float
        Of the drum; negative lowers. [rad/s]
    """
    if bad := number(drum_rotation=rotation):
        return bad
    turn = travel_per_turn(working, lines)
    return turn if isinstance(turn, Unknown) else turn * rotation / (2 * pi)


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "block-speed",
        "speed of the block, and travel for one turn of the drum",
        (
            Input("drum", "length", "working diameter of the drum on this layer", low=0.0),
            Input("lines", "count", "lines strung to the block", low=1.0),
            Input("rotation", "rotation", "of the drum"),
        ),
        (
            Output("speed", "speed", "of the block"),
            Output("travel", "length", "for one turn of the drum"),
        ),
        "common practice",
        lambda v: {
            "speed": block_speed(v["drum"], v["lines"], v["rotation"]),
            "travel": travel_per_turn(v["drum"], v["lines"]),
        },
    ),
    Calculation(
        "encoder-resolution",
        "travel of the block for one count of the drum encoder",
        (
            Input("drum", "length", "working diameter of the drum on this layer", low=0.0),
            Input("lines", "count", "lines strung to the block", low=1.0),
            Input("counts", "count", "counts in a turn: four for each pulse", low=1.0),
        ),
        (Output("travel", "length", "for one count"),),
        "common practice",
        lambda v: {"travel": travel_per_count(v["drum"], v["lines"], v["counts"])},
    ),
)
