r"""What drilling itself does to the pits: changes that are no kick and no loss.

Volumes in, volumes out: any consistent units, SI by default.

References
----------
.. [1] Own balance of volumes: the bore of a new stand is filled from the pits and comes back as
   the stand goes into the hole; steel stays in it, rock leaves it.
"""

from __future__ import annotations

from dataclasses import dataclass

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.capacities import circle
from engine.well.checks import not_negative, positive


@dataclass(frozen=True, slots=True)
class StandChange:
    """Change of the pit volume by one stand; a fall is negative. [m3]"""

    filled: float
    """The bore of the new stand is filled from the pits."""
    drilled: float
    """The closed-end pipe goes into the hole, spread over the stand."""
    cuttings: float
    """Its rock leaves at the shakers one lag later, mud on it with it."""
    net: float
    """Sum of the three."""


def stand_change(
    length: float, hole: float, steel: float, bore: float, mud_on_cuttings: float = 0.0
) -> StandChange | Unknown:
    r"""Change of the pit volume by a stand drilled, net :math:`(d - H) L` and the mud lost [1]_.

    Parameters
    ----------
    length : float
        Of the stand. [m]
    hole, steel, bore : float
        Capacity of the hole drilled, steel and bore of the pipe. [m3/m]
    mud_on_cuttings : float
        Mud carried away, as a share of the rock. [-]
    """
    bad = not_negative(
        length=length, hole=hole, steel=steel, bore=bore, mud_on_cuttings=mud_on_cuttings
    )
    if bad:
        return bad
    if steel + bore >= hole:
        return Unknown("the pipe takes all the room in the hole")
    filled, drilled = -bore * length, (steel + bore) * length
    cuttings = -hole * length * (1 + mud_on_cuttings)
    return StandChange(filled, drilled, cuttings, (steel - hole * (1 + mud_on_cuttings)) * length)


def new_hole(hole: float, rop: float) -> Answer:
    """Volume of hole made in each unit of time. [m3/s]

    Parameters
    ----------
    hole : float
        Capacity of the hole. [m3/m]
    rop : float
        Rate of penetration. [m/s]
    """
    if bad := positive(hole_capacity=hole) or not_negative(rop=rop):
        return bad
    return finite(hole * rop, "the hole is unknown")


def pit_rate(hole: float, steel: float, rop: float) -> Answer:
    """Steady change of the pit volume while drilling, ``-(H - d) ROP`` [1]_. [m3/s]

    Mud left on the cuttings comes on top of it.

    Parameters
    ----------
    hole, steel : float
        Capacity of the hole, steel of the pipe. [m3/m]
    rop : float
        [m/s]
    """
    if bad := not_negative(steel=steel):
        return bad
    made = new_hole(hole, rop)
    if isinstance(made, Unknown):
        return made
    if steel >= hole:
        return Unknown("the pipe takes all the room in the hole")
    return finite(-(made - steel * rop), "the hole is unknown")


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "pit-change-drilling",
        "what drilling alone does to the pits; mud left on cuttings comes on top",
        (
            Input("hole", "length", "diameter of the hole drilled", low=0.0),
            Input("steel", "capacity", "open-end displacement of the pipe", low=0.0),
            Input("rop", "speed", "rate of penetration", low=0.0),
        ),
        (
            Output("new_hole", "flow", "hole made"),
            Output("pit_rate", "flow", "change of the pits; a fall is negative"),
        ),
        "balance of volumes",
        lambda v: {
            "new_hole": new_hole(circle(v["hole"]), v["rop"]),
            "pit_rate": pit_rate(circle(v["hole"]), v["steel"], v["rop"]),
        },
    ),
)
