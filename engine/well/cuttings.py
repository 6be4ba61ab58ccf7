r"""How fast cuttings fall through the mud, and how much later than the mud they arrive.

Single particles in a near-vertical annulus: above some 30 degrees they lie in beds, and this
says nothing. The correlations are empirical and in field units; they are kept with their
published constants inside, SI outside.

References
----------
.. [1] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf, 2011, eqs 2.90 to 2.96
   and example p. 56: Newtonian fluid, sphericity.
.. [2] API RP 13D (3rd ed., 1995), power-law fluid, as in the one-page sheet *Hydraulics
   Equations, API RP 13D* (2002).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isclose, log10, sqrt

from engine.units import FT, IN, PPG
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.checks import not_negative, positive, share
from engine.well.geometry import Section

ROUNDS = 1000
"""Rounds of the iteration; it gains a digit in 22 rounds at a flow index of 0.1. [-]"""


def slip_newtonian(
    diameter: float, sphericity: float, viscosity: float, mud: float, cutting: float
) -> Answer:
    r"""Slip velocity of a cutting in a Newtonian mud [1]_. [m/s]

    .. math::
        v = 1.89 \sqrt{\frac{d}{f} \frac{\rho_s - \rho}{\rho}}, \quad
        \log f = A + B \log Re + C \log^2 Re, \quad Re = 928 \rho v d / \mu

    in ft/s, inches, ppg, cP. Put together they are a quadratic in :math:`\log Re`.

    Parameters
    ----------
    diameter : float
        Of the cutting. [m]
    sphericity : float
        Surface of a sphere of the same volume over its own, 0 to 1. [-]
    viscosity : float
        [Pa s]
    mud, cutting : float
        Densities. [kg/m3]

    Returns
    -------
    float or Unknown
        [m/s] 0 for a cutting as heavy as the mud; unknown if it is lighter, or falls too
        slowly for the correlation.
    """
    if bad := positive(cutting_size=diameter, viscosity=viscosity, mud_density=mud):
        return bad
    if bad := share(sphericity=sphericity) or positive(cutting_density=cutting):
        return bad
    if cutting <= mud:
        return 0.0 if cutting == mud else Unknown("the cutting is lighter than the mud")
    d, rho, p = diameter / IN, mud / PPG, sphericity
    excess = (62.4 * cutting / 1000 - 7.48 * rho) / (7.48 * rho)
    if excess <= 0:
        return Unknown("the cutting is hardly heavier than the mud")
    a = 2.2954 - 2.2626 * p + 4.4395 * p**2 - 2.9825 * p**3
    b = -0.4193 - 1.9014 * p + 3.3416 * p**2 - 2.0409 * p**3
    c = 0.1117 + 0.0553 * p - 0.1468 * p**2 + 0.1145 * p**3
    per_speed = 928 * rho * d / (viscosity * 1e3)
    drive = 2 * log10(1.89 * per_speed) + log10(d * excess)
    root = (b + 2) ** 2 - 4 * c * (a - drive)
    if root < 0:
        return Unknown("the cutting falls too slowly for the correlation")
    log_reynolds = (sqrt(root) - (b + 2)) / (2 * c)
    if log_reynolds > 6:
        return Unknown("the cutting falls too fast for the correlation")
    return 10**log_reynolds / per_speed * FT


def slip_power_law(
    diameter: float, cutting: float, mud: float, dial_100: float, dial_3: float
) -> Answer:
    r"""Slip velocity of a cutting in a power-law mud [2]_. [m/s]

    .. math::
        v = 0.01344 \frac{\mu}{d \rho} \left(
        \sqrt{1 + 16465 d (\rho_p/\rho - 1) (d \rho/\mu)^2} - 1 \right), \quad
        \mu = 100 K (12 v/d)^{n-1}

    in ft/s, inches, ppg, cP; n and K from the dial at 100 and 3 rpm.

    Parameters
    ----------
    diameter : float
        Of the cutting. [m]
    cutting, mud : float
        Densities. [kg/m3]
    dial_100, dial_3 : float
        Dial readings; 100 rpm above 3 rpm. [-]

    Returns
    -------
    float or Unknown
        [m/s] 0 for a cutting as heavy as the mud; unknown if it is lighter.
    """
    if bad := positive(cutting_size=diameter, cutting_density=cutting, mud_density=mud):
        return bad
    if bad := positive(reading_at_100_rpm=dial_100, reading_at_3_rpm=dial_3):
        return bad
    if dial_100 <= dial_3:
        return Unknown("the reading at 100 rpm must be above the one at 3 rpm")
    if cutting <= mud:
        return 0.0 if cutting == mud else Unknown("the cutting is lighter than the mud")
    try:
        fall = _fall(diameter / IN, mud / PPG, cutting / mud, dial_100, dial_3)
    except (OverflowError, ZeroDivisionError):
        fall = None
    if fall is None:
        return Unknown("the fall cannot be worked out; check the dial readings")
    return finite(fall * FT, "the fall cannot be worked out; check the dial readings")


def _fall(d: float, rho: float, ratio: float, dial_100: float, dial_3: float) -> float | None:
    """Iterate to the slip velocity [ft/s]; inches, ppg; None if it does not settle."""
    n = 0.657 * log10(dial_100 / dial_3)
    k = 5.11 * dial_100 / 170.2**n
    v = 0.5
    for _ in range(ROUNDS):
        mu: float = 100 * k * (12 * v / d) ** (n - 1)
        x = 16465 * d * (ratio - 1) * (d * rho / mu) ** 2
        new = 0.01344 * mu / (d * rho) * x / (sqrt(1 + x) + 1)
        if not 0 < new < inf:
            return None
        if isclose(new, v, rel_tol=1e-12):
            return new
        v = new
    return None


def lag_of_cuttings(legs: Sequence[tuple[str, float, float]], slip: float) -> Answer:
    r"""Time cuttings need to surface, :math:`\sum L_i / (v_i - v_s)`. [s]

    Parameters
    ----------
    legs : sequence of (name, length, speed)
        Parts of the annulus: length [m], mean speed of the mud [m/s].
    slip : float
        [m/s]

    Returns
    -------
    float or Unknown
        [s] Unknown, *not transported*, where the mud is no faster than the cuttings fall.
    """
    if bad := not_negative(slip_velocity=slip):
        return bad
    total = 0.0
    for name, length, speed in legs:
        if bad := not_negative(length=length, annular_velocity=speed):
            return bad
        if length > 0 and speed <= slip:
            return Unknown(
                f"not transported in {name}: cuttings fall at {slip:.2f} m/s, "
                f"the mud rises at {speed:.2f} m/s"
            )
        total += length / (speed - slip) if length > 0 else 0.0
    return finite(total, "not transported")


def annular_legs(sections: Sequence[Section], flow: float) -> list[tuple[str, float, float]]:
    """Return name, length [m] and speed [m/s] of the annulus around the string."""
    return [(s.hole_name, s.length, flow / s.annular_area) for s in sections if s.pipe_name]


_SIZE = Input("size", "length", "diameter of the cutting", low=0.0)
_CUTTING = Input("cutting_density", "density", "density of the cutting", low=0.0)
_MUD = mud_input("mud_density", "density of the mud")
_SLIP = Output("slip", "speed", "slip velocity")

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "cuttings-slip",
        "how fast a cutting falls in a Newtonian mud, hole near vertical",
        (
            _SIZE,
            Input("sphericity", "ratio", "1 for a sphere, 0.8 for a usual cutting", 0.8, 0.0, 1.0),
            Input("viscosity", "viscosity", "of the mud", low=0.0),
            _MUD,
            _CUTTING,
        ),
        (_SLIP,),
        "B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf, 2011, eqs 2.90-2.96",
        lambda v: {
            "slip": slip_newtonian(
                v["size"], v["sphericity"], v["viscosity"], v["mud_density"], v["cutting_density"]
            )
        },
    ),
    Calculation(
        "cuttings-slip-power-law",
        "how fast a cutting falls in a power-law mud, hole near vertical",
        (
            _SIZE,
            _CUTTING,
            _MUD,
            Input("dial_100", "count", "dial reading at 100 rpm", low=0.0),
            Input("dial_3", "count", "dial reading at 3 rpm", low=0.0),
        ),
        (_SLIP,),
        "API RP 13D, 3rd ed., 1995",
        lambda v: {
            "slip": slip_power_law(
                v["size"], v["cutting_density"], v["mud_density"], v["dial_100"], v["dial_3"]
            )
        },
    ),
)
