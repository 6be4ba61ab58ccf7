"""Swab and surge of a moving string, and the block speed that keeps within a margin.

First order: steady motion, concentric pipe, one mud, no compressibility, no acceleration, no
gel, pumps off. A comparison of speeds, not a bottomhole pressure; tens of per cent of error are
normal. The result advises; the drilling programme and the supervisor decide.

References
----------
.. [1] J. A. Burkhardt, Wellbore pressure surges produced by pipe movement, J. Pet. Tech. 13
   (1961) 595-605: clinging constant (0.45 as the usual value from memory).
.. [2] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), p. 50: fits of
   Burkhardt's chart, closed-end displacement.
.. [3] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: open end, and the
   Newtonian solution (from memory; the latter checked by integration in a test).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log

import numpy as np

from engine.units import G0, HOUR
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.friction import Shape, gradient
from engine.well.geometry import Section
from engine.well.kill_mud import DEPTH_FLOOR
from engine.well.rheology import Rheology, bingham
from engine.well.sheet import numbers

CLINGING = 0.45
"""Share of the pipe's speed that the mud on it adds to the flow; usual value. [-]"""
PEAK = 1.5
"""Highest over mean speed of a stand (common practice, no source). [-]"""
FASTEST = 3.0
"""No block moves faster; a limit above it is no limit. [m/s]"""
SPEED_FLOOR = 1 / HOUR
"""Slower than a metre an hour is standing. [m/s]"""


def clinging_newtonian(ratio: float) -> Answer:
    """Return the exact constant of a Newtonian fluid round concentric pipe. [-]

    -(1 / (2 ln a) + a^2 / (1 - a^2)), a = pipe over hole diameter; 0.5 in a narrow slot.
    """
    got = _ratio(ratio)
    if isinstance(got, Unknown):
        return got
    if ratio > 0.999:  # the two terms cancel; the slot is within 0.02 %
        return 0.5
    return -(1 / (2 * log(ratio)) + ratio**2 / (1 - ratio**2))


def clinging_laminar(ratio: float) -> Answer:
    """Return 0.275 a + 0.25, the fit of Burkhardt's chart for laminar flow. [-]"""
    got = _ratio(ratio)
    return got if isinstance(got, Unknown) else 0.275 * ratio + 0.25


def clinging_turbulent(ratio: float) -> Answer:
    """Return 0.1 a + 0.41, the fit of Burkhardt's chart for turbulent flow. [-]"""
    got = _ratio(ratio)
    return got if isinstance(got, Unknown) else 0.1 * ratio + 0.41


def _ratio(ratio: float) -> Answer:
    if not 0 < ratio < 1:
        return Unknown(f"pipe over hole diameter must lie between 0 and 1, got {ratio:g}")
    return ratio


def effective_speed(
    speed: float, hole: float, outer: float, inner: float = 0.0, clinging: float = CLINGING
) -> Answer:
    """Return the mud speed in the annulus that makes the friction of a moving pipe.

    Parameters
    ----------
    speed : float
        Of the pipe, either way; the sign is dropped. [m/s]
    hole, outer : float
        Diameters. [m]
    inner : float
        Bore through which mud can pass; 0 for a closed end (float, plugged, filling slow). [m]
    clinging : float
        [-]

    Returns
    -------
    float or Unknown
        speed (clinging + steel area / free area). [m/s] 0 for a standing pipe.
    """
    got = numbers(
        ("speed", abs(speed), 0.0), ("hole", hole, 1e-3), ("pipe", outer, 0.0),
        ("bore", inner, 0.0), ("clinging constant", clinging, 0.0),
    )  # fmt: skip
    if isinstance(got, Unknown):
        return got
    if hole - outer < 1e-3 or inner > outer:
        return Unknown(f"pipe {outer:g} m (bore {inner:g} m) does not fit a hole of {hole:g} m")
    free = hole**2 - outer**2 + inner**2
    return abs(speed) * (clinging + (outer**2 - inner**2) / free)


def pressure_change(
    sections: Sequence[Section] | Unknown, rheology: Rheology | Unknown, density: float,
    speed: float, *, closed: bool = True, clinging: float = CLINGING,
) -> Answer:  # fmt: skip
    """Return how far a moving string moves the pressure at the bit.

    Parameters
    ----------
    sections : sequence of Section or Unknown
        What has pipe in it, floor to bit (`engine.well.hydraulics.Circuit.sections`).
    rheology : Rheology or Unknown
        In the annulus.
    density : float
        [kg/m3]
    speed : float
        Of the string, either way. [m/s]
    closed : bool
        No mud passes the string: a float, or a bit with small nozzles. Else the bore is open.
    clinging : float
        [-]

    Returns
    -------
    float or Unknown
        Not negative: to take off when pulling (swab), to add when running in (surge). [Pa]
        0 for a standing string; from the slowest motion on a yield stress counts in full.
    """
    if isinstance(sections, Unknown):
        return sections
    if isinstance(rheology, Unknown):
        return rheology
    got = numbers(("density", density, 1.0), ("speed", abs(speed), 0.0))
    if isinstance(got, Unknown) or abs(speed) < SPEED_FLOOR:
        return got if isinstance(got, Unknown) else 0.0
    change = 0.0
    for s in sections:
        if not s.pipe_name:
            continue
        v = effective_speed(speed, s.hole, s.outer, 0.0 if closed else s.inner, clinging)
        if isinstance(v, Unknown):
            return v
        with np.errstate(over="ignore", invalid="ignore"):
            lost = gradient(rheology, density, np.array([v]), s.hole - s.outer, Shape.ANNULUS)
        change += float(lost[0]) * s.length
    return finite(change, "the pipe is too fast for the formula")


def speed_limit(
    sections: Sequence[Section] | Unknown, rheology: Rheology | Unknown, density: float,
    margin: float, *, closed: bool = True, clinging: float = CLINGING, peak: float = PEAK,
) -> Answer:  # fmt: skip
    """Return the mean block speed of a stand that spends no more than `margin`. Advisory.

    Parameters
    ----------
    sections, rheology, density, closed, clinging
        As in `pressure_change`.
    margin : float
        Overbalance when pulling, distance to the fracture pressure when running in. [Pa]
    peak : float
        Highest over mean speed of a stand, 1 or more. [-]

    Returns
    -------
    float or Unknown
        [m/s] 0 with no margin, or one that the yield stress alone uses up: then pump out, or
        break circulation before running. 3 m/s if even that stays within it.
    """
    got = numbers(("margin", margin, float("-inf")), ("peak over mean speed", peak, 1.0))
    if isinstance(got, Unknown):
        return got

    def fits(mean: float) -> bool | Unknown:
        change = pressure_change(
            sections, rheology, density, mean * peak, closed=closed, clinging=clinging
        )
        return change if isinstance(change, Unknown) else change <= margin

    widest = fits(FASTEST)
    if isinstance(widest, Unknown):
        return widest
    if margin <= 0 or widest:
        return 0.0 if margin <= 0 else FASTEST
    low, high = 0.0, FASTEST
    for _ in range(40):  # the change rises with speed: halve until it does not matter
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) is True else (low, middle)
    return low if low >= SPEED_FLOOR else 0.0


def _one(given: Mapping[str, float]) -> tuple[Section, Rheology | Unknown]:
    g = given
    section = Section(0.0, g["length"], g["hole"], g["pipe"], g["bore"], 0.0, "hole", "pipe")
    return section, bingham(g["plastic_viscosity"], g["yield_point"])


def _change(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g, (section, mud) = given, _one(given)
    change = pressure_change(
        [section], mud, g["mud_weight"], g["speed"],
        closed=g["bore"] == 0, clinging=g["clinging"],
    )  # fmt: skip
    moved: Answer = change
    if not isinstance(change, Unknown):
        deep = g["tvd"] >= DEPTH_FLOOR
        moved = change / (G0 * g["tvd"]) if deep else Unknown("true vertical depth below 1 m")
    if isinstance(moved, Unknown):
        return {"change": change, "swab_density": moved, "surge_density": moved}
    return {
        "change": change,
        "swab_density": g["mud_weight"] - moved,
        "surge_density": g["mud_weight"] + moved,
    }


def _limit(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g, (section, mud) = given, _one(given)
    return {
        "speed": speed_limit(
            [section], mud, g["mud_weight"], g["margin"],
            closed=g["bore"] == 0, clinging=g["clinging"], peak=g["peak"],
        )
    }  # fmt: skip


_STRING = (
    mud_input("mud_weight", "mud weight"),
    Input("plastic_viscosity", "viscosity", "plastic viscosity", low=0.0),
    Input("yield_point", "pressure", "yield point", 0.0, low=0.0),
    Input("hole", "length", "inside diameter of the hole", low=0.0),
    Input("pipe", "length", "outside diameter of the pipe", low=0.0),
    Input("bore", "length", "bore if open at the end; 0: closed", 0.0, low=0.0),
    Input("length", "length", "measured length of pipe", low=0.0),
    Input("clinging", "ratio", "clinging constant", CLINGING, low=0.0, high=1.0),
)
_SOURCE = "Burkhardt (1961); Guo and Liu (2011), p. 50; Bingham mud"
CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "swab-surge",
        "Pressure change at the bit while pipe moves; compares speeds, no more",
        (
            *_STRING,
            Input("speed", "speed", "speed of the pipe", low=0.0),
            Input("tvd", "length", "true vertical depth of the bit", low=0.0),
        ),
        (
            Output("change", "pressure", "off when pulling, on when running in"),
            Output("swab_density", "density", "equivalent density when pulling"),
            Output("surge_density", "density", "equivalent density when running in"),
        ),
        _SOURCE,
        _change,
        caution=True,
    ),
    Calculation(
        "trip-speed-limit",
        "Mean block speed that stays within a pressure margin; advisory",
        (
            *_STRING,
            Input("margin", "pressure", "pressure that may be spent"),
            Input("peak", "ratio", "highest over mean speed of a stand", PEAK, low=1.0, high=5.0),
        ),
        (Output("speed", "speed", "mean speed of a stand"),),
        _SOURCE,
        _limit,
        caution=True,
    ),
)
