"""Pressure lost to friction in pipe and annulus; one formula for every flow model.

The live form of RP 13D (2006): laminar, transitional and turbulent friction are blended, so
that a pressure never jumps while a pump is brought up. The older published forms with their
sharp change of regime are in `engine.well.friction_sheet`.

References
----------
.. [1] API RP 13D, 5th ed. (2006), section 7: generalised Reynolds number, friction factors and
   their blend (written from memory of the standard; limits checked against textbook cases).
.. [2] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: narrow slot.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from math import pi

import numpy as np

from engine.block import FloatArray
from engine.units import MINUTE
from engine.well.answer import Answer, Unknown, finite, first_unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.rheology import Rheology, bingham
from engine.well.sheet import numbers

FLOW_FLOOR = 1e-3 / MINUTE
"""Less than a litre a minute is no flow. [m3/s]"""


class Shape(Enum):
    """What the mud flows through; the value is the alpha of RP 13D."""

    PIPE = 0
    ANNULUS = 1


def wall_stress(rheology: Rheology, velocity: FloatArray, size: float, shape: Shape) -> FloatArray:
    r"""Return the laminar shear stress at the wall.

    .. math::
        \tau_w = \left(\frac{4 - \alpha}{3 - \alpha}\right)^n \tau_y + K \dot\gamma_w^n, \quad
        \dot\gamma_w = \frac{8 v}{d}
        \frac{(3 - \alpha) n + 1}{(4 - \alpha) n} \left(1 + \frac{\alpha}{2}\right)

    Parameters
    ----------
    rheology : Rheology
    velocity : ndarray
        Mean velocity, shape (n,), not negative. [m/s]
    size : float
        Bore, or hole less pipe diameter. [m]
    shape : Shape

    Returns
    -------
    ndarray
        Shape (n,). [Pa] The yield part stays as the velocity goes to zero.

    Notes
    -----
    With a yield stress the form is on the safe side: up to some 8 % above the exact Bingham
    slot solution in a usual annulus.
    """
    n, alpha = rheology.index, shape.value
    correction = ((3 - alpha) * n + 1) / ((4 - alpha) * n) * (1 + alpha / 2)
    rate = 8 * correction * velocity / size
    factor = ((4 - alpha) / (3 - alpha)) ** n
    stress: FloatArray = factor * rheology.yield_stress + rheology.consistency * rate**n
    return stress


def critical_reynolds(index: float) -> float:
    """Return the generalised Reynolds number at which laminar flow ends: 3470 - 1370 n. [-]

    References
    ----------
    .. [1] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), eq. 2.35
       (its worked example on p. 45 prints the upper end, 4270 - 1370 n, instead).
    """
    return 3470 - 1370 * index


def gradient(
    rheology: Rheology, density: float, velocity: FloatArray, size: float, shape: Shape
) -> FloatArray:
    r"""Return the pressure lost per metre, blended over the regimes.

    .. math::
        Re = \frac{8 \rho v^2}{\tau_w}, \quad f_l = \frac{16}{Re}, \quad
        f_t = \frac{16 Re}{(3470 - 1370 n_p)^2}, \quad
        f_u = \frac{(\log_{10} n_p + 3.93) / 50}{Re^{(1.75 - \log_{10} n_p) / 7}}

    .. math::
        f = \left(f_l^{12} + \left(f_t^{-8} + f_u^{-8}\right)^{-12/8}\right)^{1/12}, \quad
        \frac{dp}{dx} = \frac{2 f \rho v^2}{d}

    Parameters
    ----------
    rheology : Rheology
    density : float
        Positive. [kg/m3]
    velocity : ndarray
        Mean velocity, shape (n,). [m/s] NaN and negative give NaN.
    size : float
        Bore, or hole less pipe diameter; positive. [m]
    shape : Shape

    Returns
    -------
    ndarray
        Shape (n,). [Pa/m] 0 at velocity 0, where nothing flows and a yield stress does
        not count; else it rises with velocity without a step.

    Notes
    -----
    The pipe is smooth. The turbulent branch is some 10 % low for water at Re 5e5.
    """
    moving = np.where(velocity > 0, velocity, np.where(velocity == 0, 1.0, np.nan))
    stress = wall_stress(rheology, moving, size, shape)
    reynolds = 8 * density * moving**2 / stress
    index = rheology.turbulence_index
    log_index = np.log10(index) if index > 0 else np.nan  # PV is nothing beside YP
    a, b = (log_index + 3.93) / 50, (1.75 - log_index) / 7
    # Ratios instead of the powers of the formula, which would overflow near zero flow.
    transitional = 16 * reynolds / critical_reynolds(index) ** 2
    turbulent = a / reynolds**b
    upper = transitional / (1 + (transitional / turbulent) ** 8) ** (1 / 8)
    factor = (1 + (upper * reynolds / 16) ** 12) ** (1 / 12)
    lost: FloatArray = np.where(velocity == 0, 0.0, 4 * stress * factor / size)
    return lost


def _loss(
    rheology: Rheology, density: float, flow: float, area: float, size: float, shape: Shape,
    length: float,
) -> Answer:  # fmt: skip
    if flow < FLOW_FLOOR or length == 0:
        return 0.0
    velocity = np.array([flow / area])
    with np.errstate(over="ignore", invalid="ignore"):
        lost = float(gradient(rheology, density, velocity, size, shape)[0]) * length
    return finite(lost, "friction: the flow is too fast for the formula")


def pipe_loss(
    rheology: Rheology | Unknown, density: float, flow: float, diameter: float, length: float
) -> Answer:
    """Return the pressure lost in a bore.

    Parameters
    ----------
    rheology : Rheology or Unknown
    density : float
        Positive. [kg/m3]
    flow : float
        Not negative. [m3/s]
    diameter : float
        Bore, above 0. [m]
    length : float
        Measured along the hole, not negative. [m]

    Returns
    -------
    float or Unknown
        [Pa] 0 below 1 L/min and for no length, yield stress or not.
    """
    if isinstance(rheology, Unknown):
        return rheology
    got = numbers(
        ("density", density, 1.0), ("flow", flow, 0.0), ("bore", diameter, 1e-3),
        ("length", length, 0.0),
    )  # fmt: skip
    if isinstance(got, Unknown):
        return got
    area = pi / 4 * diameter**2
    return _loss(rheology, density, flow, area, diameter, Shape.PIPE, length)


def annulus_loss(
    rheology: Rheology | Unknown, density: float, flow: float, hole: float, pipe: float,
    length: float,
) -> Answer:  # fmt: skip
    """Return the pressure lost between pipe and hole; concentric, standing pipe.

    Parameters
    ----------
    rheology : Rheology or Unknown
    density, flow : float
        As in `pipe_loss`.
    hole, pipe : float
        Inside of the hole and outside of the pipe; they leave 1 mm or more. [m]
    length : float
        Measured along the hole, not negative. [m]

    Returns
    -------
    float or Unknown
        [Pa] 0 below 1 L/min and for no length, yield stress or not.
    """
    if isinstance(rheology, Unknown):
        return rheology
    got = numbers(
        ("density", density, 1.0), ("flow", flow, 0.0), ("hole", hole, 1e-3),
        ("pipe", pipe, 0.0), ("length", length, 0.0),
    )  # fmt: skip
    if isinstance(got, Unknown):
        return got
    if hole - pipe < 1e-3:
        return Unknown(f"no annulus between a hole of {hole:g} m and a pipe of {pipe:g} m")
    area = pi / 4 * (hole**2 - pipe**2)
    return _loss(rheology, density, flow, area, hole - pipe, Shape.ANNULUS, length)


def breaking_pressure(gel_strength: float, size: float, length: float) -> Answer:
    """Return the pressure that starts gelled mud moving: 4 gel length / size.

    It is not friction: at rest there is none, and once the mud flows this no longer applies.

    Parameters
    ----------
    gel_strength : float
        [Pa]
    size : float
        Bore, or hole less pipe diameter. [m]
    length : float
        [m]

    Returns
    -------
    float or Unknown
        [Pa]

    References
    ----------
    .. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4 (field form
       gel L / (300 d); from memory, the SI form is the balance of forces on the plug).
    """
    got = numbers(("gel strength", gel_strength, 0.0), ("size", size, 1e-3), ("length", length, 0))
    return got if isinstance(got, Unknown) else 4 * got[0] * got[2] / got[1]


_MUD = (
    Input("flow", "flow", "pump rate", low=0.0),
    mud_input("density", "mud weight"),
    Input("plastic_viscosity", "viscosity", "plastic viscosity", low=0.0),
    Input("yield_point", "pressure", "yield point; 0 for a Newtonian fluid", 0.0, low=0.0),
    Input("length", "length", "measured length", low=0.0),
)


def _pipe(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g = given
    mud = bingham(g["plastic_viscosity"], g["yield_point"])
    return {"loss": pipe_loss(mud, g["density"], g["flow"], g["bore"], g["length"])}


def _annulus(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g = given
    mud = bingham(g["plastic_viscosity"], g["yield_point"])
    gel = breaking_pressure(g["gel_strength"], g["hole"] - g["pipe"], g["length"])
    lost = annulus_loss(mud, g["density"], g["flow"], g["hole"], g["pipe"], g["length"])
    return {"loss": lost, "breaking_pressure": first_unknown(lost) or gel}


_SOURCE = "API RP 13D (2006), blended; Bingham mud"
CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "pipe-friction",
        "Pressure lost inside pipe",
        (*_MUD, Input("bore", "length", "inside diameter", low=0.0)),
        (Output("loss", "pressure", "friction"),),
        _SOURCE,
        _pipe,
    ),
    Calculation(
        "annulus-friction",
        "Pressure lost between pipe and hole",
        (
            *_MUD,
            Input("hole", "length", "inside diameter of the hole or casing", low=0.0),
            Input("pipe", "length", "outside diameter of the pipe", low=0.0),
            Input("gel_strength", "pressure", "gel strength", 0.0, low=0.0),
        ),
        (
            Output("loss", "pressure", "friction"),
            Output("breaking_pressure", "pressure", "to start gelled mud; not friction"),
        ),
        _SOURCE,
        _annulus,
    ),
)
