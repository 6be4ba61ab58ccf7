"""Barite, volume increase and trip margin.

References
----------
.. [1] Well-control formulas, bar, kg/L, L/m: kickdrill.com/formulas (4.2 kg/L).
.. [2] IWCF formula sheet, field units (2000): 1500; the 35.8 ppg that goes with it from memory.
.. [3] www.drillingformulas.com/volume-of-mud-increase-due-to-mud-weight-increase-by-adding-barite/
   (35 ppg).
.. [4] www.drillingformulas.com/trip-margin-calculation/ after Lapeyrouse; IWCF formula 8.
"""

from __future__ import annotations

from dataclasses import dataclass

from engine.well.answer import Answer, Unknown, finite
from engine.well.kill_mud import equivalent_density
from engine.well.sheet import ConstantSet, numbers, round_up


@dataclass(frozen=True, slots=True)
class Barite:
    """One field form of the barite formula: factor (new - old) / (density - new) lb/bbl."""

    factor: float
    """Pounds per barrel: 42 x density, rounded. [-]"""
    density: float
    """[ppg]"""


FORM_1500 = Barite(1500.0, 35.8)
FORM_1470 = Barite(1470.0, 35.0)


def _span(old: float, new: float, barite: float) -> tuple[float, float] | Unknown:
    got = numbers(("old mud", old, 0.0), ("new mud", new, 0.0), ("barite", barite, 0.0))
    if isinstance(got, Unknown):
        return got
    if new < old:
        return Unknown("the new mud is lighter than the old: barite cannot do that")
    if new >= barite:
        return Unknown("the new mud is as heavy as barite")
    return new - old, barite - new


def barite_per_volume(old: float, new: float, barite: float) -> Answer:
    """Return barite per volume of old mud: barite (new - old) / (barite - new).

    Any one unit of density; the answer is in it: kg per m3, kg per L.

    Returns
    -------
    float or Unknown
        0 if the mud stays as it is. `Unknown` if it is to become lighter, or as heavy as barite.
    """
    span = _span(old, new, barite)
    if isinstance(span, Unknown):
        return span
    return finite(barite * span[0] / span[1], "the new mud is as heavy as barite")


def barite_per_barrel_sheet(old: float, new: float, form: Barite = FORM_1500) -> Answer:
    """Return barite by the field form [lb/bbl]; densities in ppg.

    Returns
    -------
    float or Unknown
        As `barite_per_volume`.
    """
    span = _span(old, new, form.density)
    if isinstance(span, Unknown):
        return span
    return finite(form.factor * span[0] / span[1], "the new mud is as heavy as barite")


def volume_increase(old: float, new: float, barite: float, volume: float) -> Answer:
    """Return by how much `volume` grows when weighted up: volume (new - old) / (barite - new).

    Returns
    -------
    float or Unknown
        In the unit of `volume`; `Unknown` as `barite_per_volume`.
    """
    got, span = numbers(("volume", volume, 0.0)), _span(old, new, barite)
    if isinstance(got, Unknown):
        return got
    if isinstance(span, Unknown):
        return span
    return finite(volume * span[0] / span[1], "the new mud is as heavy as barite")


def sacks(per_volume: Answer, volume: float, sack: float) -> Answer:
    """Return whole sacks for `volume`, rounded up; `sack` is its mass in the unit of mass used.

    Returns
    -------
    float or Unknown
        `Unknown` if the barite is, or a sack weighs nothing.
    """
    got = numbers(("barite", per_volume, 0.0), ("volume", volume, 0.0), ("sack", sack, 0.0))
    if isinstance(got, Unknown):
        return got
    if sack == 0:
        return Unknown("a sack weighs 0")
    count = finite(got[0] * volume / sack, "the sacks are beyond counting")
    return count if isinstance(count, Unknown) else round_up(count)


def density_with_margin(cs: ConstantSet, mud: float, margin: float, tvd: float) -> Answer:
    """Return mud weight with a trip margin given as a pressure: mud + margin / (constant x TVD).

    Returns
    -------
    float or Unknown
        Not rounded. `Unknown` above 1 m of true vertical depth.
    """
    extra = equivalent_density(cs, margin, tvd)
    got = numbers(("mud weight", mud, 0.0), ("trip margin", margin, 0.0), ("margin", extra, 0.0))
    return got if isinstance(got, Unknown) else got[0] + got[2]


def trip_margin_sheet(yield_point: float, hole: float, pipe: float) -> Answer:
    """Return the trip margin from the yield point: YP / (11.7 (hole - pipe)).

    Parameters
    ----------
    yield_point : float
        [lbf/100 ft2]
    hole, pipe : float
        Diameters. [in]

    Returns
    -------
    float or Unknown
        [ppg] `Unknown` if the pipe fills the hole.
    """
    got = numbers(("yield point", yield_point, 0.0), ("hole", hole, 0.0), ("pipe", pipe, 0.0))
    if isinstance(got, Unknown):
        return got
    if hole <= pipe:
        return Unknown("the pipe fills the hole")
    return finite(yield_point / (11.7 * (hole - pipe)), "the gap is too small")
