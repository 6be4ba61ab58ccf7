r"""Volume in each metre of bore, annulus and pit, and what pipe displaces. SI, exact.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4 (from memory):
   areas of bore and annulus, displacement of open and closed pipe.
.. [2] Annular velocity, docs.kws.tn/formulas/1/annular-velocity.html, after N. Lapeyrouse,
   Formulas and Calculations for Drilling, Production and Workover: worked examples of tests.
.. [3] Metal displacement from weight,
   www.drillingfluidssolutions.com/resources/calculations/ : displacement is weight over the
   density of steel, so that tool joints count.
"""

from __future__ import annotations

from math import pi

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import not_negative, positive

STEEL = 7850.0
"""Density of steel. [kg/m3] common practice, no source"""


def circle(diameter: float) -> float:
    """Area of a circle of `diameter` [m], which is also its volume in each metre. [m2]"""
    return pi / 4 * (diameter * diameter)  # not **, which raises on overflow


def bore_capacity(diameter: float) -> Answer:
    r"""Volume in each metre of a round bore or hole, :math:`\pi d^2 / 4`. [m3/m]

    Parameters
    ----------
    diameter : float
        0 is a solid bar: it holds 0. [m]

    Returns
    -------
    float or Unknown
        [m3/m] Unknown for a negative or unknown diameter.
    """
    if bad := not_negative(diameter=diameter):
        return bad
    return finite(circle(diameter), f"a bore of {diameter:g} m is no bore")


def annular_capacity(hole: float, pipe: float) -> Answer:
    r"""Volume in each metre between hole and pipe, :math:`\pi (D^2 - d^2) / 4` [1]_. [m3/m]

    Parameters
    ----------
    hole, pipe : float
        Diameter of the hole, outside of the pipe (0: none). [m]

    Returns
    -------
    float or Unknown
        [m3/m] Unknown if the pipe does not go into the hole.
    """
    if bad := positive(hole_diameter=hole) or not_negative(pipe_diameter=pipe):
        return bad
    if pipe >= hole:
        return Unknown(f"pipe of {pipe * 1e3:.1f} mm does not go into a {hole * 1e3:.1f} mm hole")
    return finite(pi / 4 * (hole - pipe) * (hole + pipe), "hole diameter is unknown")


def closed_displacement(outer: float) -> Answer:
    """What each metre of pipe with a closed end displaces: its outside, no tool joints. [m3/m]

    Parameters
    ----------
    outer : float
        Outside diameter of the body. [m]
    """
    return bore_capacity(outer)


def open_displacement(weight: float, steel: float = STEEL) -> Answer:
    r"""What each metre of open pipe displaces: its steel, :math:`w / \rho_s` [3]_. [m3/m]

    Parameters
    ----------
    weight : float
        In air, tool joints included. [kg/m]
    steel : float
        Density. [kg/m3]
    """
    if bad := not_negative(weight=weight) or positive(steel_density=steel):
        return bad
    return finite(weight / steel, "weight is unknown")


def mean_speed(flow: float, capacity: float) -> Answer:
    """Mean speed of a flow through `capacity`, any consistent units. [m/s]

    Parameters
    ----------
    flow : float
        0 gives 0. [m3/s]
    capacity : float
        Volume in each metre. [m3/m]
    """
    if bad := not_negative(flow=flow) or positive(capacity=capacity):
        return bad
    return finite(flow / capacity, "the annulus is too narrow")


def annular_speed(flow: float, hole: float, pipe: float) -> Answer:
    r"""Mean speed of mud in an annulus, :math:`Q / A` [2]_. [m/s]

    Parameters
    ----------
    flow : float
        0 gives 0. [m3/s]
    hole, pipe : float
        Diameters. [m]
    """
    area = annular_capacity(hole, pipe)
    return area if isinstance(area, Unknown) else mean_speed(flow, area)


def rectangular_pit(length: float, width: float) -> Answer:
    """Volume in each metre of level of a pit with upright walls, length times width. [m3/m]

    Parameters
    ----------
    length, width : float
        Inside. [m]
    """
    if bad := positive(pit_length=length, pit_width=width):
        return bad
    return finite(length * width, "the size of the pit is unknown")


_HOLE = Input("hole", "length", "diameter of the hole or inside of the casing", low=0.0)
_PIPE = Input("pipe", "length", "outside diameter of the pipe", low=0.0)
_SOURCE = "A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4"

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "bore-capacity",
        "volume in each metre of a bore or hole",
        (Input("diameter", "length", "inside diameter", low=0.0),),
        (Output("capacity", "capacity", "volume in each metre"),),
        _SOURCE,
        lambda v: {"capacity": bore_capacity(v["diameter"])},
    ),
    Calculation(
        "annular-capacity",
        "volume in each metre between hole and pipe",
        (_HOLE, _PIPE),
        (Output("capacity", "capacity", "volume in each metre"),),
        _SOURCE,
        lambda v: {"capacity": annular_capacity(v["hole"], v["pipe"])},
    ),
    Calculation(
        "pipe-displacement",
        "what each metre of pipe displaces, open and closed",
        (
            Input("outer", "length", "outside diameter of the body", low=0.0),
            Input("weight", "linear_weight", "weight in air, tool joints included", low=0.0),
        ),
        (
            Output("open_end", "capacity", "steel alone: the bore fills"),
            Output("closed_end", "capacity", "whole outside: the bore stays empty"),
        ),
        _SOURCE,
        lambda v: {
            "open_end": open_displacement(v["weight"]),
            "closed_end": closed_displacement(v["outer"]),
        },
    ),
    Calculation(
        "annular-velocity",
        "mean speed of the mud up an annulus",
        (Input("flow", "flow", "flow-in", low=0.0), _HOLE, _PIPE),
        (Output("speed", "speed", "mean speed"),),
        _SOURCE,
        lambda v: {"speed": annular_speed(v["flow"], v["hole"], v["pipe"])},
    ),
    Calculation(
        "pit-capacity",
        "volume in each metre of level of a rectangular pit",
        (
            Input("length", "length", "inside length of the pit", low=0.0),
            Input("width", "length", "inside width of the pit", low=0.0),
        ),
        (Output("capacity", "capacity", "volume in each metre of level"),),
        "definition",
        lambda v: {"capacity": rectangular_pit(v["length"], v["width"])},
    ),
)
