"""Capacities, pump output and lag as a hand-filled field sheet has them: its rounded constants.

Inches, feet, bbl, gpm. For pages that must agree with paper digit for digit; what is worked out
live uses the exact functions of `capacities`, `pumps` and `lag_times`. The two differ by 0.06 %
at most. Nothing is rounded here; `engine.well.sheet.round_half_away` does that where it is shown.

References
----------
.. [1] N. J. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, 2nd ed.,
   Gulf, 2002: 1029.4, 24.5, 17.16, 0.000243, 0.000162.
.. [2] Metal displacement from weight, www.drillingfluidssolutions.com/resources/calculations/ :
   0.0003638.
.. [3] IADC WellSharp formula sheet, field units, rev. 3 (2018): 0.178 bbl in a cubic foot.
"""

from __future__ import annotations

from math import sqrt

from engine.well.answer import Answer, Unknown, finite
from engine.well.checks import not_negative, positive, share
from engine.well.sheet import CAPACITY_FIELD, DUPLEX_FIELD, TRIPLEX_FIELD, VELOCITY_FIELD

BARREL_SPEED_FIELD = 17.16
"""Speed of 1 bbl/min in one square inch; some prints say 17.6. [ft/s in2 min/bbl]"""
DISPLACEMENT_FIELD = 0.0003638
"""Displacement of 1 lb/ft of steel. [bbl/lb]"""
PIT_FIELD = 0.178
"""Barrels in a cubic foot. [bbl/ft3]"""


def triplex_sheet(liner: float, stroke: float, efficiency: float = 1.0) -> Answer:
    """Output of a triplex for each stroke, liner and stroke in inches. [bbl]"""
    if bad := positive(liner=liner, stroke=stroke) or share(efficiency=efficiency):
        return bad
    return finite(TRIPLEX_FIELD * liner * liner * stroke * efficiency, "the pump is unknown")


def duplex_sheet(liner: float, rod: float, stroke: float, efficiency: float = 1.0) -> Answer:
    """Output of a double-acting duplex for each full cycle, inches. [bbl]"""
    if bad := positive(liner=liner, stroke=stroke) or not_negative(rod=rod):
        return bad
    if bad := share(efficiency=efficiency):
        return bad
    if rod >= liner:
        return Unknown(f"a rod of {rod:g} in is not thinner than a liner of {liner:g} in")
    swept = stroke * (2 * liner * liner - rod * rod)
    return finite(DUPLEX_FIELD * swept * efficiency, "the pump is unknown")


def bore_capacity_sheet(diameter: float) -> Answer:
    """Bore capacity, diameter in inches, 1029.4 exactly as on paper. [bbl/ft]"""
    if bad := not_negative(diameter=diameter):
        return bad
    return finite(diameter * diameter / CAPACITY_FIELD, "diameter is unknown")


def annular_capacity_sheet(hole: float, pipe: float) -> Answer:
    """Annular capacity, diameters in inches; unknown if the pipe does not go in. [bbl/ft]"""
    if bad := positive(hole_diameter=hole) or not_negative(pipe_diameter=pipe):
        return bad
    if pipe >= hole:
        return Unknown(f"pipe of {pipe:g} in does not go into a {hole:g} in hole")
    return finite((hole * hole - pipe * pipe) / CAPACITY_FIELD, "diameter is unknown")


def open_displacement_sheet(weight: float) -> Answer:
    """Open-end displacement of pipe of `weight` lb/ft. [bbl/ft]"""
    if bad := not_negative(weight=weight):
        return bad
    return finite(DISPLACEMENT_FIELD * weight, "weight is unknown")


def annular_speed_sheet(flow: float, hole: float, pipe: float) -> Answer:
    """Speed in the annulus, flow in gpm, diameters in inches; 0 without flow. [ft/min]"""
    area = _area(flow, hole, pipe)
    return area if isinstance(area, Unknown) else VELOCITY_FIELD * flow / area


def annular_speed_barrels_sheet(flow: float, hole: float, pipe: float) -> Answer:
    """Speed in the annulus, flow in bbl/min, diameters in inches; 0 without flow. [ft/s]"""
    area = _area(flow, hole, pipe)
    return area if isinstance(area, Unknown) else BARREL_SPEED_FIELD * flow / area


def rectangular_pit_sheet(length: float, width: float) -> Answer:
    """Volume in each foot of level of a pit, length and width in feet. [bbl/ft]"""
    if bad := positive(pit_length=length, pit_width=width):
        return bad
    return finite(PIT_FIELD * length * width, "the pit is unknown")


def hole_from_lag_sheet(bit: float, extra_volume: float, length: float) -> Answer:
    """Effective diameter of an open hole from a lag test. [in]

    Parameters
    ----------
    bit : float
        Diameter of the bit. [in]
    extra_volume : float
        Volume pumped beyond the one worked out for a hole of bit size. [bbl]
    length : float
        Of the open hole. [ft]
    """
    if bad := positive(bit_diameter=bit, length_of_open_hole=length):
        return bad
    square = bit * bit + extra_volume * CAPACITY_FIELD / length
    if not square > 0:
        return Unknown("less was pumped than the open hole could ever explain")
    return finite(sqrt(square), "the volume of the lag test is unknown")


def _area(flow: float, hole: float, pipe: float) -> Answer:
    """Difference of the squared diameters. [in2]"""
    if bad := not_negative(flow=flow) or positive(hole_diameter=hole):
        return bad
    if bad := not_negative(pipe_diameter=pipe):
        return bad
    if pipe >= hole:
        return Unknown(f"pipe of {pipe:g} in does not go into a {hole:g} in hole")
    return finite(hole * hole - pipe * pipe, "diameter is unknown")
