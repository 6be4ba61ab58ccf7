"""Formation pressure, kill mud weight and circulating pressures, in any constant set.

Numbers are in the units of the set: SI for `EXACT`; ft, psi, ppg for `FIELD`; m, bar, kg/L for
`METRIC`. A cross-check: the approved kill sheet and the certified person rule.

References
----------
.. [1] IADC WellSharp formula sheet (2016; field units rev. 3, 2018; metric).
.. [2] IWCF formula sheet, field units (2000).
.. [3] N. J. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, 2nd ed.,
   Gulf, 2002: pump pressure against strokes, exponent from two readings.
"""

from __future__ import annotations

from math import log

from engine.well.answer import Answer, Unknown, finite
from engine.well.checks import LIGHTEST
from engine.well.sheet import ConstantSet, numbers

DEPTH_FLOOR = 1.0
"""A column shorter than this gives no equivalent density. [m]"""


def floors(cs: ConstantSet) -> tuple[float, float]:
    """Return the smallest true depth and mud density that make sense, in units of the set."""
    return cs.of("length", DEPTH_FLOOR), cs.of("density", LIGHTEST)


def hydrostatic(cs: ConstantSet, density: float, tvd: float) -> Answer:
    """Return the pressure of a mud column: constant x density x true vertical depth.

    Returns
    -------
    float or Unknown
        0 at depth 0; `Unknown` for a negative depth or a mud lighter than air.
    """
    got = numbers(("mud weight", density, floors(cs)[1]), ("true vertical depth", tvd, 0.0))
    return got if isinstance(got, Unknown) else cs.hydrostatic * got[0] * got[1]


def equivalent_density(cs: ConstantSet, pressure: float, tvd: float) -> Answer:
    """Return the density whose column over `tvd` gives `pressure` (which may be negative).

    Returns
    -------
    float or Unknown
        Not rounded. `Unknown` above 1 m of true vertical depth.
    """
    got = numbers(
        ("pressure", pressure, float("-inf")), ("true vertical depth", tvd, floors(cs)[0])
    )
    return got if isinstance(got, Unknown) else got[0] / (cs.hydrostatic * got[1])


def formation_pressure(cs: ConstantSet, mud: float, sidpp: float, tvd: float) -> Answer:
    """Return formation pressure = mud column in the string + shut-in drillpipe pressure.

    Returns
    -------
    float or Unknown
        Gauge. `Unknown` if SIDPP is negative (a sensor fault) or the mud or depth is unfit, as
        it is below 1 m: there is no formation at the floor.
    """
    got = numbers(
        ("SIDPP", sidpp, 0.0),
        ("mud column", hydrostatic(cs, mud, tvd), 0.0),
        ("true vertical depth", tvd, floors(cs)[0]),
    )
    return got if isinstance(got, Unknown) else cs.pressure(got[0] + got[1])


def kill_mud_weight(cs: ConstantSet, mud: float, sidpp: float, tvd: float) -> Answer:
    """Return the mud that balances the formation: mud + SIDPP / (constant x TVD), rounded up.

    Returns
    -------
    float or Unknown
        The present mud, unrounded, when SIDPP is 0: nothing is to be killed by density.
        `Unknown` if SIDPP is negative, TVD under 1 m or the mud lighter than air.
    """
    tvd_floor, lightest = floors(cs)
    got = numbers(
        ("mud weight", mud, lightest),
        ("SIDPP", sidpp, 0.0),
        ("true vertical depth", tvd, tvd_floor),
    )
    if isinstance(got, Unknown):
        return got
    if sidpp == 0:
        return mud
    return cs.density_up(mud + sidpp / (cs.hydrostatic * tvd))


def initial_pressure(cs: ConstantSet, slow_pressure: Answer, sidpp: float) -> Answer:
    """Return ICP = slow circulating pressure + SIDPP.

    Returns
    -------
    float or Unknown
        `Unknown` if there is no slow rate for the pump on line; never scaled from another pump.
    """
    got = numbers(("slow circulating pressure", slow_pressure, 0.0), ("SIDPP", sidpp, 0.0))
    return got if isinstance(got, Unknown) else cs.pressure(got[0] + got[1])


def final_pressure(cs: ConstantSet, slow_pressure: Answer, kill: Answer, mud: float) -> Answer:
    """Return FCP = slow circulating pressure x kill mud / present mud.

    Returns
    -------
    float or Unknown
        `Unknown` if the slow rate or either mud is.
    """
    lightest = floors(cs)[1]
    got = numbers(
        ("slow circulating pressure", slow_pressure, 0.0),
        ("kill mud weight", kill, lightest),
        ("mud weight", mud, lightest),
    )
    return got if isinstance(got, Unknown) else cs.pressure(got[0] * got[1] / got[2])


def strokes(cs: ConstantSet, volume: Answer, stroke_volume: float) -> Answer:
    """Return pump strokes for `volume`; each count is rounded from its own volume.

    Returns
    -------
    float or Unknown
        Whole on a sheet. `Unknown` for a negative volume or a pump without output.
    """
    got = numbers(("volume", volume, 0.0), ("pump output", stroke_volume, 0.0))
    if isinstance(got, Unknown):
        return got
    if stroke_volume == 0:
        return Unknown("the pump output is 0")
    count = finite(got[0] / got[1], "strokes are beyond counting")
    return count if isinstance(count, Unknown) else cs.whole(count)


def mixed_density(old: float, new: float, pumped: float, volume: float) -> Answer:
    """Return the average density of a `volume` into which `pumped` of the new mud has gone.

    Parameters
    ----------
    old, new : float
        Densities, one unit.
    pumped, volume : float
        Volumes or strokes, one unit.

    Returns
    -------
    float or Unknown
        The new density once the whole volume is pumped. `Unknown` for no volume.
    """
    got = numbers(
        ("old mud", old, 0.0),
        ("new mud", new, 0.0),
        ("pumped", pumped, 0.0),
        ("volume", volume, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    if volume == 0:
        return Unknown("the volume is 0")
    return old + min(1.0, pumped / volume) * (new - old)


def pressure_at_rate(pressure: float, old: float, new: float, exponent: float = 2.0) -> Answer:
    """Return pump pressure at another rate: p (new / old) ** exponent; an approximation.

    Parameters
    ----------
    pressure : float
        At the old rate. [any]
    old, new : float
        Strokes or flow, one unit.
    exponent : float
        2 is assumed where none was fitted: it puts the pressure of a lower rate too low.

    Returns
    -------
    float or Unknown
        0 at a new rate of 0. `Unknown` if the old rate is 0 or the exponent is not positive.
    """
    got = numbers(
        ("pressure", pressure, 0.0),
        ("old rate", old, 0.0),
        ("new rate", new, 0.0),
        ("exponent", exponent, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    if old == 0 or exponent == 0:
        return Unknown("the old rate is 0" if old == 0 else "the exponent is 0")
    try:
        value = pressure * (new / old) ** exponent
    except OverflowError:
        value = float("inf")
    return finite(value, "the rates are too far apart")


def pressure_at_density(pressure: float, old: float, new: float) -> Answer:
    """Return pump pressure with another mud: p new / old; an approximation.

    Returns
    -------
    float or Unknown
        `Unknown` if the old density is 0.
    """
    got = numbers(("pressure", pressure, 0.0), ("old mud", old, 0.0), ("new mud", new, 0.0))
    if isinstance(got, Unknown):
        return got
    return (
        Unknown("the old mud weight is 0")
        if old == 0
        else finite(pressure * new / old, "the muds are too far apart")
    )


def rate_exponent(p1: float, q1: float, p2: float, q2: float) -> Answer:
    """Return x of p ~ q**x from two readings: log(p1/p2) / log(q1/q2).

    Returns
    -------
    float or Unknown
        `Unknown` for equal rates, for a pressure or rate of 0, or if the pressure does not
        rise with the rate (then one of the readings is wrong).
    """
    got = numbers(
        ("pressure", p1, 0.0), ("pressure", p2, 0.0), ("rate", q1, 0.0), ("rate", q2, 0.0)
    )
    if isinstance(got, Unknown):
        return got
    if min(p1, p2, q1, q2) == 0:
        return Unknown("a pressure or a rate is 0")
    span = log(q1) - log(q2)
    if span == 0:
        return Unknown("both readings are at one rate")
    x = (log(p1) - log(p2)) / span
    return x if x > 0 else Unknown("the pressure does not rise with the rate")
