r"""What the string weighs in mud, and what hole drag adds to it or takes from it. SI, exact.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: buoyancy as the
   ratio of densities.
.. [2] Buoyancy factor using mud weight, after W. Lyons, T. Carter and N. Lapeyrouse, Formulas
   and Calculations for Drilling, Production and Workover, 3rd ed., p. 24: steel of 65.5 ppg.
.. [3] API RP 7G (from memory): margin of overpull is a share of the tensile strength less the
   load that hangs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import pi

from engine.units import G0
from engine.well.answer import Answer, Unknown, finite
from engine.well.capacities import STEEL
from engine.well.checks import not_negative, number, positive, share
from engine.well.sheet import STEEL_FIELD

YOUNG = 2.07e11
"""Young's modulus of steel, 30e6 psi rounded. [Pa] common practice, no source"""
RESERVE = 0.85
"""Share of the collar weight put on the bit, so that the pipe above stays pulled. [-] common
practice, no source"""
TENSILE_SHARE = 0.9
"""Share of the tensile strength that may be pulled. [-] common practice, no source"""


@dataclass(frozen=True, slots=True)
class Part:
    """A length of the string with one weight."""

    length: float
    """[m]"""
    weight: float
    """In air, tool joints included. [kg/m]"""


def buoyancy_factor(mud: float, steel: float = STEEL) -> Answer:
    r"""Share of its weight in air that the string keeps, :math:`1 - \rho_m/\rho_s` [1]_. [-]

    Right only where one mud fills bore and annulus; otherwise see `immersed_weight`.

    Parameters
    ----------
    mud, steel : float
        Densities; mud 0 is air: the factor is 1. [kg/m3]

    Returns
    -------
    float or Unknown
        [-] Unknown for a mud as heavy as steel: the string would float.

    Notes
    -----
    The one steel of this program is 7850 kg/m3 (65.511 ppg). The 65.5 and 65.44 ppg of hand
    sheets differ from it by less than 0.03 % of the weight in any mud.
    """
    if bad := not_negative(mud_density=mud) or positive(steel_density=steel):
        return bad
    if mud >= steel:
        return Unknown(f"mud of {mud:g} kg/m3 is as heavy as steel of {steel:g} kg/m3")
    return 1.0 - mud / steel


def buoyancy_factor_sheet(mud: float, steel: float = STEEL_FIELD) -> Answer:
    """Return ``1 - MW / 65.5`` [2]_ [-] from ppg; another sheet takes 65.44."""
    return buoyancy_factor(mud, steel)


def air_weights(parts: Sequence[Part]) -> tuple[float, ...] | Unknown:
    """Weight in air of each part. [N] An empty string weighs nothing.

    Parameters
    ----------
    parts : sequence of Part
        In any order.
    """
    for i, part in enumerate(parts, 1):
        if bad := not_negative(length=part.length, weight=part.weight):
            return Unknown(f"part {i}: {bad.reason}")
        if isinstance(finite(part.length * part.weight * G0, ""), Unknown):
            return Unknown(f"part {i}: too long to be a string")
    return tuple(p.length * p.weight * G0 for p in parts)


def buoyed_weights(
    parts: Sequence[Part], mud: float, steel: float = STEEL
) -> tuple[float, ...] | Unknown:
    """Weight in mud of each part, one `mud` [kg/m3] in bore and annulus. [N]"""
    air, factor = air_weights(parts), buoyancy_factor(mud, steel)
    if isinstance(air, Unknown):
        return air
    return factor if isinstance(factor, Unknown) else tuple(factor * w for w in air)


def total(weights: Iterable[float] | Unknown) -> Answer:
    """Sum of the weights of all parts. [N]"""
    if isinstance(weights, Unknown):
        return weights
    return finite(sum(weights), "the string is too heavy to be one")


def immersed_weight(
    weight: float, bore: float, inside: float, outside: float, steel: float = STEEL
) -> Answer:
    r"""Weight of a metre of pipe with different fluids inside and outside. [N/m]

    .. math:: g \left(w + \rho_i A_i - \rho_o (A_i + w/\rho_s)\right)

    Pipe run dry, a float, a slug or casing part full: steel and contents less what they displace.

    Parameters
    ----------
    weight : float
        In air. [kg/m]
    bore : float
        Inside diameter. [m]
    inside, outside : float
        Densities of the fluids; 0 is air. [kg/m3]
    steel : float
        Density. [kg/m3]

    Returns
    -------
    float or Unknown
        [N/m] Negative where the pipe floats.
    """
    if bad := not_negative(weight=weight, bore=bore, fluid_inside=inside, fluid_outside=outside):
        return bad
    if bad := positive(steel_density=steel):
        return bad
    area = pi / 4 * bore * bore
    mass = weight + inside * area - outside * (area + weight / steel)
    return finite(G0 * mass, "the pipe is too large to be one")


def usable_bit_weight(
    collars: Sequence[Part], mud: float, reserve: float = RESERVE, steel: float = STEEL
) -> Answer:
    """Weight the collars can put on the bit with some of it in hand. [N] common practice

    Parameters
    ----------
    collars : sequence of Part
    mud : float
        [kg/m3]
    reserve : float
        Share of the buoyed weight that is used, 0 to 1. [-]
    steel : float
        Density. [kg/m3]
    """
    if bad := share(share_used=reserve):
        return bad
    weight = total(buoyed_weights(collars, mud, steel))
    return weight if isinstance(weight, Unknown) else reserve * weight


def weight_on_bit(off_bottom: Answer, hook_load: Answer) -> Answer:
    """Fall of hook load below its tare. [N]

    Parameters
    ----------
    off_bottom : Answer
        Hook load off bottom in the same motion, pumps at the same rate. [N]
    hook_load : Answer
        [N]

    Returns
    -------
    float or Unknown
        [N] Negative is kept: the tare is old, or the string is pulled. Unknown in slips and
        without a tare: pass `Unknown`, never the hook load alone.
    """
    return _less(off_bottom, hook_load, "off-bottom weight", "hook load")


def overpull(off_bottom: Answer, hook_load: Answer) -> Answer:
    """Hook load above the free weight, bit off bottom; negative: taking weight. [N]"""
    return _less(hook_load, off_bottom, "hook load", "off-bottom weight")


def up_drag(pick_up: Answer, rotating: Answer) -> Answer:
    """Drag while picking up; a negative one means that a reading is wrong. [N]"""
    return _less(pick_up, rotating, "pick-up weight", "rotating weight")


def down_drag(rotating: Answer, slack_off: Answer) -> Answer:
    """Drag while slacking off; a negative one means that a reading is wrong. [N]"""
    return _less(rotating, slack_off, "rotating weight", "slack-off weight")


def rotating_gap(pick_up: Answer, slack_off: Answer, rotating: Answer) -> Answer:
    """Mean of pick-up and slack-off weight less rotating weight. [N]

    Near 0 if the readings belong together (in a straight inclined hole exactly 0).
    """
    up, down = up_drag(pick_up, rotating), down_drag(rotating, slack_off)
    if isinstance(up, Unknown):
        return up
    return down if isinstance(down, Unknown) else (up - down) / 2


def tensile_strength(yield_stress: float, outer: float, inner: float) -> Answer:
    """Pull at which pipe of this body yields: yield stress x steel area. [N]

    Parameters
    ----------
    yield_stress : float
        [Pa]
    outer, inner : float
        Diameters, as worn. [m]
    """
    if bad := positive(yield_stress=yield_stress, outside=outer) or not_negative(bore=inner):
        return bad
    if inner >= outer:
        return Unknown("the bore is as wide as the pipe")
    area = pi / 4 * (outer - inner) * (outer + inner)
    return finite(yield_stress * area, "the pipe is too strong to be one")


def overpull_margin(strength: Answer, hanging: Answer, fraction: float = TENSILE_SHARE) -> Answer:
    """How much more the pipe at the top may be pulled [3]_. [N]

    Parameters
    ----------
    strength : Answer
        Tensile strength of the weakest pipe at the top. [N]
    hanging : Answer
        Load on it now: string in mud and drag, no block. [N]
    fraction : float
        Share of the strength that may be used, 0 to 1. [-]

    Returns
    -------
    float or Unknown
        [N] Negative: more hangs already than may.
    """
    if bad := share(share_of_strength=fraction):
        return bad
    usable = strength if isinstance(strength, Unknown) else fraction * strength
    return _less(usable, hanging, "tensile strength", "hanging load")


def stretch(pull: float, length: float, area: float, modulus: float = YOUNG) -> Answer:
    r"""Stretch by Hooke's law, :math:`F L / (A E)`. [m]

    Parameters
    ----------
    pull : float
        Pull above the hanging weight; 0 gives 0, a push is negative. [N]
    length : float
        Free length. [m]
    area : float
        Of the steel. [m2]
    modulus : float
        Young's. [Pa]
    """
    if bad := number(pull=pull) or not_negative(length=length):
        return bad
    if bad := positive(steel_area=area, modulus=modulus):
        return bad
    return finite(pull * length / (area * modulus), "the steel area is next to nothing")


def _less(a: Answer, b: Answer, first: str, second: str) -> Answer:
    """Difference of two loads. [N]"""
    if isinstance(a, Unknown):
        return a
    if isinstance(b, Unknown):
        return b
    if bad := number(**{first: a, second: b}):
        return bad
    return finite(a - b, f"{first} less {second} is no number")
