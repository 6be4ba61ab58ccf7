r"""Drag and torque of a string that lies in the hole like a chain: no stiffness, no buckling. SI.

References
----------
.. [1] C. A. Johancsik, D. B. Friesen and R. Dawson, Torque and drag in directional wells:
   prediction and measurement, SPE 11380 (1984), from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from engine.well.answer import Answer, Unknown, finite
from engine.well.checks import not_negative, number


@dataclass(frozen=True, slots=True)
class Element:
    """A short length of the string, between two surveys."""

    weight: float
    """Buoyed, of the whole element. [N]"""
    inclination: float
    """Mean, 0 is vertical. [rad]"""
    turn: float = 0.0
    """Inclination at its top less at its bottom: negative where the hole builds. [rad]"""
    azimuth_turn: float = 0.0
    """Azimuth at its top less at its bottom. [rad]"""
    radius: float = 0.0
    """At which it rubs: of the tool joint. [m]"""


@dataclass(frozen=True, slots=True)
class Contact:
    """What the wall does to one element."""

    side_force: float
    """[N]"""
    drag: float
    """Friction along the hole when it slides. [N]"""
    torque: float
    """Friction about the axis when it turns. [N.m]"""
    along: float
    """Weight carried along the hole. [N]"""


@dataclass(frozen=True, slots=True)
class HookWeights:
    """Loads at the top of a string, block not counted."""

    pick_up: float
    """[N]"""
    rotating: float
    """[N]"""
    slack_off: float
    """[N] Not above 0: the string does not go down by its own weight."""
    torque: float
    """Rotating off bottom. [N.m]"""


def contact(load: float, element: Element, friction: float) -> Contact | Unknown:
    r"""Contact of one element with the wall [1]_.

    .. math::
        N = \sqrt{(F \Delta\alpha \sin\theta)^2 + (F \Delta\theta + w \sin\theta)^2}, \quad
        \Delta F = w \cos\theta \pm \mu N, \quad M = \mu N r

    Parameters
    ----------
    load : float
        Pull at its lower end; a push is negative. [N]
    element : Element
    friction : float
        Coefficient of sliding friction. [-]

    Returns
    -------
    Contact or Unknown
        Unknown if a number is none, or the inclination is not 0 to 180 degrees.
    """
    e = element
    if bad := number(load=load, turn=e.turn, azimuth_turn=e.azimuth_turn, weight=e.weight):
        return bad
    if bad := not_negative(friction=friction, radius=e.radius, inclination=e.inclination):
        return bad
    if e.inclination > pi:
        return Unknown(f"inclination is {e.inclination:g} rad; it must be at most {pi:.4f}")
    sine = sin(e.inclination)
    side = hypot(load * e.azimuth_turn * sine, load * e.turn + e.weight * sine)
    drag, along = friction * side, e.weight * cos(e.inclination)
    if isinstance(finite(abs(load) + drag + drag * e.radius, ""), Unknown):
        return Unknown("the load is too large to be one")
    return Contact(side, drag, drag * e.radius, along)


def hook_weights(
    elements: Sequence[Element], friction: float, end_load: float = 0.0
) -> HookWeights | Unknown:
    """Pick-up, rotating and slack-off weight and off-bottom torque of a whole string [1]_.

    Parameters
    ----------
    elements : sequence of Element
        From the bit up; none weigh nothing.
    friction : float
        One coefficient for the whole hole. [-]
    end_load : float
        Pull at the bit, negative for weight on it. [N]

    Notes
    -----
    A string pushed where it would buckle is not seen: drag there is larger than this.
    """
    loads = dict.fromkeys((1, 0, -1), end_load)
    torque = 0.0
    if bad := not_negative(friction=friction) or number(end_load=end_load):
        return bad
    for i, element in enumerate(elements, 1):
        for way, load in loads.items():
            found = contact(load, element, friction)
            if isinstance(found, Unknown):
                return Unknown(f"element {i}: {found.reason}")
            loads[way] = load + found.along + way * found.drag
            torque += 0.0 if way else found.torque
    return HookWeights(loads[1], loads[0], loads[-1], torque)


def drag_of(load: float, element: Element, friction: float) -> dict[str, Answer]:
    """Contact of one element, and the load above it up and down, by name; for a form."""
    found = contact(load, element, friction)
    if isinstance(found, Unknown):
        return dict.fromkeys(("side_force", "drag", "torque", "pick_up", "slack_off"), found)
    still = load + found.along
    return {
        "side_force": found.side_force,
        "drag": found.drag,
        "torque": found.torque,
        "pick_up": still + found.drag,
        "slack_off": still - found.drag,
    }
