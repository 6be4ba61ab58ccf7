r"""How hard the rock is drilled: specific energy, d-exponent, torque for weight. SI, exact.

References
----------
.. [1] R. Teale, The concept of specific energy in rock drilling, Int. J. Rock Mech. Min. Sci. 2
   (1965) 57-73; the form with bit area and rate of penetration on public pages after it.
.. [2] J. R. Jorden and O. J. Shirley, Application of drilling performance data to overpressure
   detection, J. Petroleum Technology 18 (1966) 1387-1394; worked example
   www.netwasgroup.us/formulas-calculations/d-exponent.html .
.. [3] B. Rehm and R. McClendon, Measurement of formation pressure from drilling data, SPE 3601
   (1971).
.. [4] R. C. Pessier and M. J. Fear, Quantifying common drilling problems with mechanical specific
   energy and a bit-specific coefficient of sliding friction, SPE 24584 (1992).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log, pi

from engine.units import FT, HOUR, LBF
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.checks import not_negative, number, positive

ROTATION_FLOOR = 2 * pi / 60
"""Slower does not turn. [rad/s] 1 rpm"""
RATE_FLOOR = 0.1 / HOUR
"""Slower does not drill. [m/s] 0.1 m/h"""
WEIGHT_FLOOR = 500.0
"""Less does not press on the bit. [N]"""
BIT_FLOOR = 0.01
"""Smaller is no bit. [m]"""
_LBF_FT = LBF / FT


@dataclass(frozen=True, slots=True)
class SpecificEnergy:
    """Work on each volume of rock, and what of it is known."""

    total: Answer
    """Axial and rotary together; axial alone if the string slides. [Pa]"""
    axial: Answer
    """Weight on bit over bit area. [Pa]"""
    rotary: Answer
    """Work of the torque. [Pa] 0 if the string slides."""
    power: Answer
    """Power of the torque; known even where nothing is drilled. [W]"""
    axial_only: bool
    """The string slides: `total` leaves out what a motor does. Mark it."""


def specific_energy(
    weight: float, rotation: float, torque: float, rate: float, diameter: float
) -> SpecificEnergy:
    r"""Mechanical specific energy [1]_.

    .. math:: e = \frac{W}{A} + \frac{\omega T}{A v}

    Parameters
    ----------
    weight : float
        On the bit. [N]
    rotation : float
        Of the bit; below 1 rpm the string slides. [rad/s]
    torque : float
        At the bit: that of the surface less that off bottom. [N.m]
    rate : float
        Rate of penetration over the same window. [m/s]
    diameter : float
        Of the bit. [m]

    Returns
    -------
    SpecificEnergy
        Total unknown below 0.1 m/h, without weight on the bit, or if torque reads 0 while it
        turns. A trend within one run and one rock; the least of it is near the strength of
        the rock [1]_.
    """
    power = rotary_power(rotation, torque)
    axial = _axial(weight, diameter)
    sliding = 0 <= rotation < ROTATION_FLOOR
    rotary: Answer = 0.0 if sliding else power
    if bad := _drilled(rate):
        rotary = bad
    elif not sliding and not isinstance(power, Unknown):
        if torque <= 0:
            rotary = Unknown("torque reads 0 while the bit turns")
        elif bad := _bit(diameter):
            rotary = bad
        else:
            rotary = finite(power / (pi / 4 * diameter * diameter * rate), "energy out of range")
    whole: Answer
    if isinstance(rotary, Unknown):
        whole = rotary
    elif isinstance(axial, Unknown):
        whole = axial
    else:
        whole = finite(axial + rotary, "energy out of range")
    return SpecificEnergy(whole, axial, rotary, power, sliding)


def _axial(weight: float, diameter: float) -> Answer:
    if bad := not_negative(weight_on_bit=weight) or _bit(diameter):
        return bad
    if weight < WEIGHT_FLOOR:
        return Unknown("there is no weight on the bit")
    return finite(weight / (pi / 4 * diameter * diameter), "weight on bit is unknown")


def _bit(diameter: float) -> Unknown | None:
    if bad := positive(bit_diameter=diameter):
        return bad
    return Unknown("the bit is too small to be one") if diameter < BIT_FLOOR else None


def _drilled(rate: float) -> Unknown | None:
    if bad := not_negative(rate_of_penetration=rate):
        return bad
    return Unknown("nothing is drilled: below 0.1 m/h") if rate < RATE_FLOOR else None


def rotary_power(rotation: float, torque: float) -> Answer:
    r"""Power of a torque, :math:`\omega T`. [W] 0 at rest.

    Parameters
    ----------
    rotation : float
        [rad/s]
    torque : float
        [N.m]
    """
    if bad := not_negative(rotation=rotation, torque=torque):
        return bad
    return finite(rotation * torque, "power out of range")


def bit_rotation(surface: float, flow: float, motor: float) -> Answer:
    """Rotation of a bit below a motor: the string's and the motor's. [rad/s]

    Parameters
    ----------
    surface : float
        Of the string. [rad/s]
    flow : float
        Through the motor. [m3/s]
    motor : float
        Angle turned by each volume, no load: its maker's figure. [rad/m3]
    """
    if bad := not_negative(rotation=surface, flow=flow, motor_figure=motor):
        return bad
    return finite(surface + flow * motor, "rotation out of range")


def torque_per_weight(torque: float, weight: float) -> Answer:
    """Bit torque over weight on bit. [m] Unknown without weight on the bit."""
    if bad := not_negative(torque=torque, weight_on_bit=weight):
        return bad
    if weight < WEIGHT_FLOOR:
        return Unknown("there is no weight on the bit")
    return finite(torque / weight, "torque out of range")


def sliding_coefficient(torque: float, weight: float, diameter: float) -> Answer:
    r"""Sliding friction of the bit on the rock, :math:`3 T / (D W)` [4]_. [-]

    A flat bit that presses evenly. ``36 T / (D W)`` with ft.lbf, in and lbf.

    Parameters
    ----------
    torque, weight, diameter : float
        At the bit [N.m], on it [N], of it [m].
    """
    per_weight = torque_per_weight(torque, weight)
    if isinstance(per_weight, Unknown):
        return per_weight
    return _bit(diameter) or finite(3 * per_weight / diameter, "torque out of range")


def d_exponent(rate: float, rotation: float, weight: float, diameter: float) -> Answer:
    r"""Drilling exponent [2]_. [-]

    .. math:: d = \frac{\log(R / (60 N))}{\log(12 W / (10^6 D))}

    with ft/h, rpm, lbf and in: advance of each turn in feet, weight on a foot of the bit over
    a million lbf.

    Parameters
    ----------
    rate, rotation, weight, diameter : float
        Of penetration [m/s], of the bit [rad/s], on it [N], of it [m].

    Returns
    -------
    float or Unknown
        [-] Unknown when sliding, not drilling, without weight on the bit, or with either
        ratio at 1 or more; never 0. Made for roller cones in shale.
    """
    if bad := _drilled(rate) or _bit(diameter):
        return bad
    if bad := not_negative(rotation=rotation, weight_on_bit=weight):
        return bad
    if rotation < ROTATION_FLOOR:
        return Unknown("the bit does not turn")
    if weight < WEIGHT_FLOOR:
        return Unknown("there is no weight on the bit")
    advance = rate * 2 * pi / rotation / FT
    load = weight / diameter / _LBF_FT / 1e6
    if advance >= 1:
        return Unknown("a foot or more in each turn: outside the formula")
    if load >= 1:
        return Unknown("a million lbf or more on each foot of bit: outside the formula")
    return log(advance) / log(load) if advance > 0 else Unknown("the bit turns too fast")


def corrected_d_exponent(exponent: Answer, normal: float, mud: float) -> Answer:
    """Drilling exponent corrected for mud weight, ``d x normal / mud`` [3]_. [-]

    Parameters
    ----------
    exponent : Answer
        From `d_exponent`. [-]
    normal : float
        Density of normal formation pressure. [kg/m3]
    mud : float
        Mud, or circulating density, as one uses it for the whole trend. [kg/m3]
    """
    if isinstance(exponent, Unknown):
        return exponent
    if bad := positive(normal_density=normal, mud_density=mud) or number(exponent=exponent):
        return bad
    return finite(exponent * normal / mud, "the mud is next to nothing")


def _energy(v: Mapping[str, float]) -> Mapping[str, Answer]:
    found = specific_energy(v["weight"], v["rotation"], v["torque"], v["rate"], v["diameter"])
    return {
        "total": found.total,
        "axial": found.axial,
        "rotary": found.rotary,
        "power": found.power,
        "sliding": sliding_coefficient(v["torque"], v["weight"], v["diameter"]),
        "torque_per_weight": torque_per_weight(v["torque"], v["weight"]),
    }


def _exponent(v: Mapping[str, float]) -> Mapping[str, Answer]:
    d = d_exponent(v["rate"], v["rotation"], v["weight"], v["diameter"])
    return {"d": d, "corrected": corrected_d_exponent(d, v["normal"], v["mud"])}


_WEIGHT = Input("weight", "force", "weight on bit", low=0.0)
_ROTATION = Input("rotation", "rotation", "of the bit", low=0.0)
_RATE = Input("rate", "speed", "rate of penetration", low=0.0)
_DIAMETER = Input("diameter", "length", "of the bit", low=BIT_FLOOR)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "specific-energy",
        "mechanical specific energy, rotary power, torque for weight",
        (
            _WEIGHT,
            _ROTATION,
            Input("torque", "torque", "surface torque less torque off bottom", low=0.0),
            _RATE,
            _DIAMETER,
        ),
        (
            Output("total", "pressure", "mechanical specific energy; below 1 rpm axial only"),
            Output("axial", "pressure", "of it by weight"),
            Output("rotary", "pressure", "of it by torque"),
            Output("power", "power", "of the torque"),
            Output("sliding", "ratio", "sliding coefficient of the bit"),
            Output("torque_per_weight", "length", "torque over weight on bit"),
        ),
        "R. Teale, Int. J. Rock Mech. Min. Sci. 2 (1965) 57-73",
        _energy,
    ),
    Calculation(
        "d-exponent",
        "drilling exponent, and corrected for mud weight",
        (
            _RATE,
            _ROTATION,
            _WEIGHT,
            _DIAMETER,
            mud_input("normal", "normal formation pressure"),
            mud_input("mud", "mud weight"),
        ),
        (
            Output("d", "count", "drilling exponent"),
            Output("corrected", "count", "corrected for mud weight"),
        ),
        "J. R. Jorden and O. J. Shirley (1966); B. Rehm and R. McClendon, SPE 3601 (1971)",
        _exponent,
    ),
)
