"""The influx: its height, gradient and kind, its expansion, migration and bleeding off.

Numbers are in the units of the constant set (see `engine.well.sheet`) where one is passed.

References
----------
.. [1] IADC WellSharp formula sheet (2016); IWCF formula sheet, field units (2000).
.. [2] Well-control formulas, bar, kg/L, L/m: kickdrill.com/formulas (p1 V1 = p2 V2).
.. [3] N. J. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, 2nd ed.,
   Gulf, 2002: hydrostatic loss of a gain; www.drillingformulas.com/hydrostatic-pressure-loss-
   due-to-gas-cut-mud/ ; highest casing pressure of gas: www.drillingformulas.com/maximum-surface-
   pressure-from-gas-influx-in-water-based-mud/ (its formula is a picture, written from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from engine.units import FT, PSI
from engine.well.answer import Answer, Unknown, finite
from engine.well.kill_mud import floors
from engine.well.sheet import ConstantSet, numbers

GAS_BELOW = 0.15 * PSI / FT
"""An influx lighter than this is taken for gas; from memory. [Pa/m]"""
WATER_ABOVE = 0.4 * PSI / FT
"""An influx heavier than this is taken for water; from memory. [Pa/m]"""


@dataclass(frozen=True, slots=True)
class Section:
    """A piece of annulus of one cross-section."""

    length: float
    capacity: float


def height_of_volume(annulus: Sequence[Section], volume: float) -> Answer:
    """Return how far up `volume` reaches in the `annulus`, listed from the bit up.

    Returns
    -------
    float or Unknown
        0 for no volume. `Unknown` if it does not fit, or a section is unfit.
    """
    fit = _fit(annulus, ("gain", volume, 0.0))
    if fit is not None:
        return fit
    height = 0.0
    for section in annulus:
        holds = section.length * section.capacity
        if volume <= holds:
            return height + (volume / section.capacity if volume else 0.0)
        volume -= holds
        height += section.length
    return height if volume == 0 else Unknown("the gain is larger than the annulus")


def volume_of_height(annulus: Sequence[Section], height: float) -> Answer:
    """Return the volume of the lowest `height` of the `annulus`; the reverse of the above."""
    fit = _fit(annulus, ("height", height, 0.0))
    if fit is not None:
        return fit
    volume = 0.0
    for section in annulus:
        used = min(height, section.length)
        volume += used * section.capacity
        height -= used
    return volume if height <= 0 else Unknown("the height is more than the annulus")


def _fit(annulus: Sequence[Section], what: tuple[str, float, float]) -> Unknown | None:
    parts = [("an annulus length", s.length, 0.0) for s in annulus]
    parts += [("an annulus capacity", s.capacity, 0.0) for s in annulus]
    got = numbers(what, *parts)
    if isinstance(got, Unknown):
        return got
    if not annulus or any(s.capacity == 0 for s in annulus):
        return Unknown("the annulus is not known" if not annulus else "an annulus holds nothing")
    return None


@dataclass(frozen=True, slots=True)
class Influx:
    """Height, gradient and kind of what came in; rough, because SICP holds more than columns."""

    height: Answer
    gradient: Answer
    kind: str
    """``gas``, ``oil or mixed``, ``water``, or empty where the gradient is unknown."""
    note: str = ""
    """``heavier than the mud``, ``lighter than nothing``, or empty."""


def influx_gradient(
    cs: ConstantSet, mud: float, sidpp: float, sicp: float, height: Answer
) -> Answer:
    """Return mud gradient - (SICP - SIDPP) / height.

    Returns
    -------
    float or Unknown
        Not clipped: above the mud gradient where SICP is below SIDPP, and possibly negative.
        `Unknown` at height 0.
    """
    got = numbers(
        ("mud weight", mud, floors(cs)[1]),
        ("SIDPP", sidpp, 0.0),
        ("SICP", sicp, 0.0),
        ("influx height", height, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    if got[3] == 0:
        return Unknown("there is no influx height")
    return finite(cs.hydrostatic * mud - (sicp - sidpp) / got[3], "the influx is too small")


def influx(
    cs: ConstantSet,
    mud: float,
    sidpp: float,
    sicp: float,
    gain: float,
    annulus: Sequence[Section],
) -> Influx:
    """Return what the shut-in pressures and the gain say about the influx.

    Parameters
    ----------
    cs : ConstantSet
    mud : float
        [density]
    sidpp, sicp : float
        Shut-in drillpipe and casing pressure, gauge. [pressure]
    gain : float
        [volume]
    annulus : sequence of Section
        From the bit up, lengths taken as vertical.

    Returns
    -------
    Influx
        Without a gain the height is 0 and the gradient unknown.
    """
    height = height_of_volume(annulus, gain)
    gradient = influx_gradient(cs, mud, sidpp, sicp, height)
    if isinstance(gradient, Unknown):
        return Influx(height, gradient, "")
    kind = "oil or mixed"
    if cs.si("gradient", gradient) < GAS_BELOW:
        kind = "gas"
    elif cs.si("gradient", gradient) > WATER_ABOVE:
        kind = "water"
    note = "heavier than the mud: SICP is below SIDPP" if sicp < sidpp else ""
    if gradient < 0:
        note = "lighter than nothing: an input is wrong"
    return Influx(height, gradient, kind, note)


def boyle_volume(p1: float, v1: float, p2: float) -> Answer:
    """Return the volume at `p2` of gas that has `v1` at `p1`, at one temperature.

    Parameters
    ----------
    p1, p2 : float
        **Absolute** pressures, one unit.
    v1 : float
        [volume]

    Returns
    -------
    float or Unknown
        `Unknown` at an absolute pressure of 0.
    """
    got = numbers(("pressure", p1, 0.0), ("volume", v1, 0.0), ("pressure", p2, 0.0))
    if isinstance(got, Unknown):
        return got
    if p1 == 0 or p2 == 0:
        return Unknown("an absolute pressure is 0")
    return finite(p1 * v1 / p2, "the gas is beyond measure")


def boyle_gauge(cs: ConstantSet, p1: float, v1: float, p2: float) -> Answer:
    """Return `boyle_volume` for gauge pressures; a hand sheet leaves the atmosphere out."""
    return boyle_volume(p1 + cs.atmosphere, v1, p2 + cs.atmosphere)


def migration_speed(cs: ConstantSet, pressure_rate: float, mud: float) -> Answer:
    """Return how fast gas rises in a shut-in well: pressure rise per time / mud gradient.

    Parameters
    ----------
    cs : ConstantSet
    pressure_rate : float
        Rise of surface pressure per unit of time, which becomes that of the speed.
    mud : float
        [density]

    Returns
    -------
    float or Unknown
        [length per unit of time] 0 while the pressure stands; `Unknown` while it falls.
    """
    got = numbers(("pressure rise", pressure_rate, 0.0), ("mud weight", mud, floors(cs)[1]))
    return got if isinstance(got, Unknown) else pressure_rate / (cs.hydrostatic * mud)


def bleed_volume(cs: ConstantSet, pressure: float, mud: float, capacity: float) -> Answer:
    """Return the mud whose column in the annulus gives `pressure`: p x capacity / gradient.

    What is bled, at constant casing pressure, after the pressure has risen by `pressure`.

    Returns
    -------
    float or Unknown
        [volume] 0 for no pressure; `Unknown` for a negative one or no annulus.
    """
    got = numbers(
        ("pressure", pressure, 0.0), ("mud weight", mud, floors(cs)[1]), ("annulus", capacity, 0.0)
    )
    if isinstance(got, Unknown):
        return got
    if capacity == 0:
        return Unknown("an annulus holds nothing")
    return pressure * capacity / (cs.hydrostatic * mud)


def column_loss(cs: ConstantSet, gain: float, mud: float, capacity: float) -> Answer:
    """Return the pressure lost to a `gain` of weightless gas: gradient x gain / capacity."""
    got = numbers(
        ("gain", gain, 0.0), ("mud weight", mud, floors(cs)[1]), ("annulus", capacity, 0.0)
    )
    if isinstance(got, Unknown):
        return got
    if capacity == 0:
        return Unknown("an annulus holds nothing")
    return finite(cs.hydrostatic * mud * gain / capacity, "the annulus is too small")


def gas_casing_pressure_sheet(
    formation: float, gain: float, kill_mud: float, capacity: float
) -> Answer:
    """Return the highest casing pressure of a gas kick in water mud: 0.2 sqrt(P V W / C).

    Parameters
    ----------
    formation : float
        Formation pressure. [psi]
    gain : float
        [bbl]
    kill_mud : float
        [ppg]
    capacity : float
        [bbl/ft]

    Returns
    -------
    float or Unknown
        [psi], not rounded.
    """
    got = numbers(
        ("formation pressure", formation, 0.0),
        ("gain", gain, 0.0),
        ("kill mud weight", kill_mud, 0.0),
        ("annulus", capacity, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    if capacity == 0:
        return Unknown("an annulus holds nothing")
    return finite(0.2 * sqrt(formation * gain * kill_mud / capacity), "the annulus is too small")
