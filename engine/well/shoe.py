"""What the shoe stands: leak-off equivalent, highest surface pressure, kick tolerance.

Numbers are in the units of the constant set (see `engine.well.sheet`). First-order models: a
full column, gauge hole, one bubble, no temperature, no solubility. Shown as a cross-check only.

References
----------
.. [1] IADC WellSharp formula sheet (2016; field units rev. 3, 2018); IWCF formula sheet (2000).
.. [2] Kick tolerance factor: www.drillingformulas.com/kick-tolerance-factor-calculation/ ;
   highest formation pressure: .../maximum-formation-pressure-that-can-be-controlled-when-we-
   shut-the-well-in/ .
.. [3] Kick tolerance in the shoe-pressure form: codingace.net/eng/kick_tolerance.html ; volume at
   bottom by Boyle: from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engine.well.answer import Answer, Unknown
from engine.well.influx import Section, boyle_gauge, volume_of_height
from engine.well.kill_mud import floors, formation_pressure
from engine.well.sheet import ConstantSet, numbers


def leak_off_density(
    cs: ConstantSet, test_mud: float, test_pressure: float, shoe_tvd: float
) -> Answer:
    """Return test mud + leak-off pressure / (constant x shoe TVD), rounded down.

    Returns
    -------
    float or Unknown
        Also the highest allowed mud weight. `Unknown` for a shoe above 1 m, a mud lighter than
        air, a negative pressure.
    """
    tvd_floor, lightest = floors(cs)
    got = numbers(
        ("test mud weight", test_mud, lightest),
        ("leak-off pressure", test_pressure, 0.0),
        ("shoe true vertical depth", shoe_tvd, tvd_floor),
    )
    if isinstance(got, Unknown):
        return got
    return cs.density_down(test_mud + test_pressure / (cs.hydrostatic * shoe_tvd))


def maasp(cs: ConstantSet, highest: Answer, mud: Answer, shoe_tvd: float) -> Answer:
    """Return the highest allowed annular surface pressure: (highest mud - mud) constant TVD.

    A full column of this mud from shoe to surface is assumed: once the influx is above the
    shoe it is no longer the limit.

    Returns
    -------
    float or Unknown
        0, never negative, where the mud is at or above the highest: there is no margin
        (see `no_margin`). `Unknown` if an input is.
    """
    tvd_floor, lightest = floors(cs)
    got = numbers(
        ("highest mud weight", highest, lightest),
        ("mud weight", mud, lightest),
        ("shoe true vertical depth", shoe_tvd, tvd_floor),
    )
    if isinstance(got, Unknown):
        return got
    return cs.limit(max(0.0, (got[0] - got[1]) * cs.hydrostatic * got[2]))


def no_margin(highest: Answer, mud: Answer) -> bool:
    """Tell whether both are known and the mud is at or above the highest allowed."""
    return not isinstance(highest, Unknown) and not isinstance(mud, Unknown) and mud >= highest


def kick_tolerance_factor(highest: float, mud: float, shoe_tvd: float, tvd: float) -> Answer:
    """Return shoe TVD / TVD x (highest mud - mud): by how much the formation may exceed the mud.

    The *increment*; `kick_tolerance_density` gives the absolute weight. Any one unit of density.

    Returns
    -------
    float or Unknown
        0 where there is no margin. `Unknown` for TVD 0, or a shoe below it.
    """
    got = numbers(
        ("highest mud weight", highest, 0.0),
        ("mud weight", mud, 0.0),
        ("shoe true vertical depth", shoe_tvd, 0.0),
        ("true vertical depth", tvd, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    if tvd == 0 or shoe_tvd > tvd:
        return Unknown("the hole must be deeper than the shoe and deeper than 0")
    return max(0.0, highest - mud) * shoe_tvd / tvd


def kick_tolerance_density(highest: float, mud: float, shoe_tvd: float, tvd: float) -> Answer:
    """Return the *absolute* weight: present mud + `kick_tolerance_factor`."""
    factor = kick_tolerance_factor(highest, mud, shoe_tvd, tvd)
    return factor if isinstance(factor, Unknown) else mud + factor


def highest_formation_pressure(cs: ConstantSet, factor: Answer, mud: float, tvd: float) -> Answer:
    """Return (kick tolerance factor + mud) x constant x TVD."""
    got = numbers(("kick tolerance factor", factor, 0.0), ("mud weight", mud, 0.0))
    if isinstance(got, Unknown):
        return got
    return formation_pressure(cs, got[0] + got[1], 0.0, tvd)


@dataclass(frozen=True, slots=True)
class KickTolerance:
    """How large a kick the shoe stands; unknown values say why."""

    height: Answer
    """Of the influx, capped by the open hole, 0 where there is no tolerance. [length]"""
    at_shoe: Answer
    """Its volume with its top at the shoe. [volume]"""
    at_bottom: Answer
    """The volume that may enter: the lesser by expansion and by height. [volume]"""
    note: str = ""
    """``no tolerance``, ``capped by the open hole``, or empty."""


def kick_tolerance(
    cs: ConstantSet,
    highest: float,
    mud: float,
    formation: float,
    shoe_tvd: float,
    tvd: float,
    influx_gradient: float,
    annulus: Sequence[Section],
    shoe_capacity: float,
    open_hole: float,
    margin: float = 0.0,
) -> KickTolerance:
    """Return kick tolerance by the pressure at the shoe.

    H = ((highest - mud) k shoe - (formation - mud) k TVD - margin) / (k mud - gradient)

    Parameters
    ----------
    cs : ConstantSet
    highest, mud, formation : float
        Densities: highest at the shoe, present, equivalent of the formation. [density]
    shoe_tvd, tvd : float
        True vertical depths. [length]
    influx_gradient : float
        Of the influx; gas at depth about 2.3 kPa/m, 0.1 psi/ft. [gradient]
    annulus : sequence of Section
        From the bit up.
    shoe_capacity : float
        Annulus below the shoe. [capacity]
    open_hole : float
        Length below the shoe; lengths are taken as vertical, which in a deviated well
        understates the volume. [length]
    margin : float
        Taken off for choke handling and friction. [pressure]

    Returns
    -------
    KickTolerance
        `Unknown` values where an input is unfit or the influx is not lighter than the mud.
    """
    tvd_floor, lightest = floors(cs)
    got = numbers(
        ("highest mud weight", highest, lightest),
        ("mud weight", mud, lightest),
        ("formation density", formation, lightest),
        ("shoe true vertical depth", shoe_tvd, tvd_floor),
        ("true vertical depth", tvd, tvd_floor),
        ("influx gradient", influx_gradient, 0.0),
        ("annulus below the shoe", shoe_capacity, 0.0),
        ("open hole", open_hole, 0.0),
        ("margin", margin, 0.0),
    )
    k = cs.hydrostatic
    if not isinstance(got, Unknown) and k * mud <= influx_gradient:
        got = Unknown("the influx is not lighter than the mud")
    if not isinstance(got, Unknown) and shoe_tvd > tvd:
        got = Unknown("the shoe is deeper than the hole")
    if isinstance(got, Unknown):
        return KickTolerance(got, got, got)
    free = (highest - mud) * k * shoe_tvd - (formation - mud) * k * tvd - margin
    height, note = free / (k * mud - influx_gradient), ""
    if height <= 0:
        return KickTolerance(0.0, 0.0, 0.0, "no tolerance")
    if height > open_hole:
        height, note = open_hole, "capped by the open hole"
    at_shoe = height * shoe_capacity
    expanded = boyle_gauge(cs, k * highest * shoe_tvd, at_shoe, k * formation * tvd)
    fits = volume_of_height(annulus, height)
    both = numbers(("volume by expansion", expanded, 0.0), ("volume by height", fits, 0.0))
    return KickTolerance(height, at_shoe, both if isinstance(both, Unknown) else min(both), note)
