"""Drillpipe pressure against strokes while kill mud goes down the string.

Numbers are in the units of the constant set (see `engine.well.sheet`).

References
----------
.. [1] IADC WellSharp formula sheet, field units, rev. 3 (2018): psi per 100 strokes, rounded down.
.. [2] Deviated wells: friction goes with measured depth, the static part with true vertical
   depth; the standard deviated kill sheet, written from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from engine.well.answer import Answer, Unknown, finite
from engine.well.kill_mud import final_pressure, floors
from engine.well.sheet import ConstantSet, numbers

PARTS = 10
"""Steps of the table of a vertical well; common practice. [-]"""
_MOST_ROWS = 1000


@dataclass(frozen=True, slots=True)
class Row:
    """What the drillpipe gauge should show when so many strokes are pumped."""

    strokes: float
    pressure: float


@dataclass(frozen=True, slots=True)
class Station:
    """A point of the string: where the front of the kill mud is after so many strokes."""

    strokes: float
    md: float
    tvd: float


def pressure_step(
    cs: ConstantSet, initial: Answer, final: Answer, strokes: Answer, every: float = 100.0
) -> Answer:
    """Return the fall of pressure in `every` strokes, rounded down: (ICP - FCP) / strokes x every.

    Returns
    -------
    float or Unknown
        Negative where the final pressure is the higher one (a small SIDPP with a high slow
        pressure): then it rises. `Unknown` if a pressure is, or there are no strokes.
    """
    got = numbers(
        ("initial pressure", initial, 0.0),
        ("final pressure", final, 0.0),
        ("strokes to the bit", strokes, 0.0),
        ("strokes of a step", every, 1.0),
    )
    if isinstance(got, Unknown):
        return got
    high, low, count, each = got
    if count < 1:
        return Unknown("there are no strokes to the bit")
    return cs.step((high - low) / count * each)


def straight_schedule(
    cs: ConstantSet, initial: Answer, final: Answer, strokes: Answer, parts: int = PARTS
) -> tuple[Row, ...] | Unknown:
    """Return the schedule of a vertical well: a straight line in `parts` equal steps.

    Each pressure is rounded from its own place on the line, so rounding never adds up; the
    first is the initial pressure and the last the final one.

    Returns
    -------
    tuple of Row or Unknown
        `parts` + 1 rows. `Unknown` as for `pressure_step`, or for fewer than one part.
    """
    step = pressure_step(cs, initial, final, strokes)
    got = numbers(("initial", initial, 0.0), ("final", final, 0.0), ("strokes", strokes, 0.0))
    if isinstance(step, Unknown):
        return step
    if isinstance(got, Unknown):
        return got
    if not 1 <= parts <= _MOST_ROWS:
        return Unknown(f"a schedule has 1 to {_MOST_ROWS} parts, not {parts}")
    high, low, count = got
    rows = [
        Row(cs.whole(count * i / parts), cs.pressure(high + (low - high) * i / parts))
        for i in range(parts)
    ]
    return (*rows, Row(count, low))


def stepped_schedule(
    cs: ConstantSet, initial: Answer, final: Answer, strokes: Answer, every: float = 100.0
) -> tuple[Row, ...] | Unknown:
    """Return the schedule by the rounded step: ICP, less one step each `every` strokes, FCP.

    The step is rounded down, so before the last row the pressure is never below the line.

    Returns
    -------
    tuple of Row or Unknown
        `Unknown` as for `pressure_step`, or for more than 1000 rows.
    """
    step = pressure_step(cs, initial, final, strokes, every)
    got = numbers(("initial", initial, 0.0), ("final", final, 0.0), ("strokes", strokes, 0.0))
    if isinstance(step, Unknown):
        return step
    if isinstance(got, Unknown):
        return got
    high, low, count = got
    whole = int(count // every)
    if whole >= _MOST_ROWS:
        return Unknown(f"{count:g} strokes in steps of {every:g} make too many rows")
    if whole * every == count:
        whole -= 1
    rows = [Row(i * every, high - i * step) for i in range(whole + 1)]
    return (*rows, Row(count, low))


def drillpipe_pressure(
    sidpp: float, slow_pressure: Answer, mud: float, kill: Answer, here: Station, bit: Station
) -> Answer:
    """Return drillpipe pressure with the kill mud front at `here`, in a well of any shape.

    p = SIDPP (1 - tvd/TVD) + slow pressure (1 + (kill/mud - 1) md/MD)

    Returns
    -------
    float or Unknown
        Not rounded; one unit of pressure, of density, of length throughout. ICP at surface,
        FCP at the bit. `Unknown` if an input is, `here` is deeper than `bit`, either is deeper
        than it is long, or the kill mud is lighter than the mud.
    """
    got = numbers(
        ("SIDPP", sidpp, 0.0),
        ("slow circulating pressure", slow_pressure, 0.0),
        ("mud weight", mud, 0.0),
        ("kill mud weight", kill, 0.0),
        ("depth of the front", here.md, 0.0),
        ("true vertical depth of the front", here.tvd, 0.0),
        ("depth of the bit", bit.md, 0.0),
        ("true vertical depth of the bit", bit.tvd, 0.0),
    )
    if isinstance(got, Unknown):
        return got
    sidpp, slow, mud, heavy, md, tvd, bit_md, bit_tvd = got
    if mud == 0 or bit_md == 0 or bit_tvd == 0:
        return Unknown("mud weight and depth of the bit must be above 0")
    if md > bit_md:
        return Unknown(f"the front at {md:g} is deeper than the bit at {bit_md:g}")
    if tvd > md * (1 + 1e-9) or bit_tvd > bit_md * (1 + 1e-9):
        return Unknown("a true vertical depth is above the depth along the hole; swapped?")
    if heavy < mud:
        return Unknown(f"kill mud {heavy:g} is lighter than the mud, {mud:g}")
    pressure = sidpp * (1 - tvd / bit_tvd) + slow * (1 + (heavy / mud - 1) * md / bit_md)
    return finite(pressure, "mud weight or depth of the bit is next to nothing")


def deviated_schedule(
    cs: ConstantSet,
    sidpp: float,
    slow_pressure: Answer,
    mud: float,
    kill: Answer,
    stations: Sequence[Station],
) -> tuple[Row, ...] | Unknown:
    """Return the schedule of a deviated well at its `stations`, surface first, bit last.

    In a horizontal part the pressure rises with the strokes: friction goes on, the column does
    not. That is right, and a straight line there is not.

    Returns
    -------
    tuple of Row or Unknown
        `Unknown` with fewer than two stations, or where they do not go down in strokes and
        measured depth, or a true depth is more than its measured one.
    """
    if len(stations) < 2:
        return Unknown("a deviated schedule needs at least two stations")
    for a, b in pairwise(stations):
        if not (a.strokes < b.strokes and a.md < b.md):
            return Unknown(f"station at {b.md:g}: strokes and depth must grow from one to the next")
        if abs(b.tvd - a.tvd) > (b.md - a.md) * (1 + 1e-9):
            return Unknown(f"station at {b.md:g}: true depth changes more than measured depth")
    bit = stations[-1]
    if bit.tvd < floors(cs)[0]:
        return Unknown("true vertical depth of the bit is below 1 m")
    rows = []
    for here in stations:
        pressure = drillpipe_pressure(sidpp, slow_pressure, mud, kill, here, bit)
        if isinstance(pressure, Unknown):
            return pressure
        rows.append(Row(cs.whole(here.strokes), cs.pressure(pressure)))
    last = final_pressure(cs, slow_pressure, kill, mud)
    if isinstance(last, Unknown):
        return last
    return (*rows[:-1], Row(rows[-1].strokes, last))


def stations_of(
    survey: Sequence[tuple[float, float]],
    bores: Sequence[tuple[float, float]],
    stroke_volume: float,
) -> tuple[Station, ...] | Unknown:
    """Return survey points with the strokes that bring the kill mud front to them.

    Parameters
    ----------
    survey : sequence of (md, tvd)
        Surface first, bit last; the bit is where the bores end.
    bores : sequence of (length, capacity)
        The string from the surface down.
    stroke_volume : float
        Pump output, in the volume unit of length x capacity.

    Returns
    -------
    tuple of Station or Unknown
        `Unknown` if a point lies below the string, or a number is unfit.
    """
    parts = [("a length of the string", length, 0.0) for length, _ in bores]
    parts += [("a capacity of the string", capacity, 0.0) for _, capacity in bores]
    parts += [(f"survey point {i}", x, 0.0) for i, pair in enumerate(survey, 1) for x in pair]
    fit = numbers(("pump output", stroke_volume, 0.0), *parts)
    if isinstance(fit, Unknown):
        return fit
    if stroke_volume == 0:
        return Unknown("the pump output is 0")
    bottom = sum(length for length, _ in bores)
    stations = []
    for md, tvd in survey:
        if md > bottom * (1 + 1e-9):
            return Unknown(f"survey point at {md:g} lies below the string, {bottom:g} long")
        top, volume = 0.0, 0.0
        for length, capacity in bores:
            volume += capacity * min(max(0.0, md - top), length)
            top += length
        count = finite(volume / stroke_volume, "the pump output is next to nothing")
        if isinstance(count, Unknown):
            return count
        stations.append(Station(count, md, tvd))
    return tuple(stations)
