r"""Lag: how many strokes and minutes until what is at the bit is at surface. SI, exact.

Lag is a volume first: strokes follow from it and survive a stop of the pumps, minutes do not.

References
----------
.. [1] Lag time and how to calculate it, www.drillingformulas.com/tag/lag-time-calculation/ :
   worked examples of the tests.
.. [2] Own derivation from the balance of volumes: `lagged_depth_steady`, `lagged_depth`,
   `hole_from_lag`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import MOST, not_negative, number, positive
from engine.well.cuttings import annular_legs, lag_of_cuttings
from engine.well.geometry import WellGeometry
from engine.well.pumps import strokes_for, time_for

MOST_SAMPLES = 5000
"""A schedule longer than this is a typing slip. [-]"""


@dataclass(frozen=True, slots=True)
class Leg:
    """One way of the mud: its volume, strokes (not rounded) and time."""

    volume: Answer
    """[m3]"""
    strokes: Answer
    """[-]"""
    time: Answer
    """[s] Unknown without flow."""


@dataclass(frozen=True, slots=True)
class LagTimes:
    """The ways of the mud that a driller counts strokes for."""

    to_bit: Leg
    """Floor to bit, inside the string."""
    to_shoe: Leg
    """Bit to shoe; unknown without casing."""
    bottoms_up: Leg
    """Bit to floor."""
    around: Leg
    """Down and up."""


def leg(volume: Answer, per_stroke: float, flow: float) -> Leg:
    """Return strokes and time of a `volume` [m3]; output for each stroke [m3], flow [m3/s]."""
    if isinstance(volume, Unknown):
        return Leg(volume, volume, volume)
    return Leg(volume, strokes_for(volume, per_stroke), time_for(volume, flow))


def lag_times(
    well: WellGeometry, bit: float, hole: float, per_stroke: float, flow: float
) -> LagTimes | Unknown:
    """Work out all lags of a string in a hole.

    Parameters
    ----------
    well : WellGeometry
        String and hole.
    bit, hole : float
        Measured depths. [m]
    per_stroke : float
        Output for each stroke of the pumps in use. [m3]
    flow : float
        0 leaves the times unknown, not the strokes. [m3/s]

    Returns
    -------
    LagTimes or Unknown
        Unknown as `WellGeometry.volumes`.
    """
    found = well.volumes(bit, hole)
    if isinstance(found, Unknown):
        return found
    ways = (found.string, found.to_shoe, found.annulus, found.string + found.annulus)
    return LagTimes(*(leg(way, per_stroke, flow) for way in ways))


def lagged_depth_steady(
    depth: float, rop: float, annulus: float, flow: float, growth: float
) -> Answer:
    r"""Depth that the cuttings now at surface come from, at a steady rate [2]_. [m]

    .. math:: D - d = \frac{R A / q}{1 + R c / q}

    Parameters
    ----------
    depth : float
        Of the hole, bit on bottom. [m]
    rop : float
        Rate of penetration; at 0 the lagged depth is the depth. [m/s]
    annulus : float
        Volume at `depth`. [m3]
    flow : float
        [m3/s] Unknown without flow: then it has stood still since the pumps stopped.
    growth : float
        What a metre of new hole adds to the annulus. [m3/m]

    Returns
    -------
    float or Unknown
        [m] Any consistent units. Unknown above the floor.
    """
    if bad := not_negative(depth=depth, rop=rop, annulus=annulus, growth=growth):
        return bad
    if bad := positive(flow=flow):
        return bad
    back = (rop * annulus / flow) / (1 + rop * growth / flow)
    if back > depth:
        return Unknown("drilled for less than one bottoms-up")
    return finite(depth - back, "no flow")


def lagged_depth(log: Sequence[tuple[float, float, float]], pumped: float) -> Answer:
    """Depth that what is now at surface left the bit at, from a log of the run [2]_. [m]

    Parameters
    ----------
    log : sequence of (pumped, depth, annulus)
        Volume pumped so far [m3], depth of the bit on bottom [m] and annulus volume there
        [m3], since the bit ran in; none of the three decreases.
    pumped : float
        Volume pumped by now, same zero. [m3]

    Returns
    -------
    float or Unknown
        [m] Pumps off change nothing. Unknown until one bottoms-up has been pumped since the
        bit ran in.
    """
    if bad := number(volume_pumped=pumped):
        return bad
    if not log:
        return Unknown("nothing drilled since the bit ran in")
    rows = np.array(log, np.float64)
    if not (np.abs(rows) < MOST).all():
        return Unknown("the log of strokes and depth has a gap")
    if (np.diff(rows, axis=0) < 0).any():
        return Unknown("strokes or depth were set back; the log begins anew")
    arrives = rows[:, 0] + rows[:, 2]
    if pumped < arrives[0]:
        return Unknown("less than one bottoms-up pumped since the bit ran in")
    return float(np.interp(pumped, arrives, rows[:, 1]))


def hole_from_lag(bit: float, extra: float, length: float) -> Answer:
    r"""Effective diameter of an open hole from a lag test [2]_. [m]

    .. math:: D_e = \sqrt{D^2 + 4 \Delta V / (\pi L)}

    Parameters
    ----------
    bit : float
        Diameter of the bit. [m]
    extra : float
        Volume pumped beyond the one worked out for a hole of bit size. [m3]
    length : float
        Of the open hole. [m]

    Returns
    -------
    float or Unknown
        [m] Smaller than the bit for a test that came early; unknown if it came so early that
        no hole explains it.
    """
    if bad := positive(bit_diameter=bit, length_of_open_hole=length) or number(volume=extra):
        return bad
    square = bit**2 + 4 * extra / (pi * length)
    if square <= 0:
        return Unknown("less was pumped than the open hole could ever explain")
    return finite(sqrt(square), "the volume of the lag test is unknown")


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample to catch at the shakers; times and strokes count from now."""

    depth: float
    """[m]"""
    drilled: float
    """[s]"""
    caught: float
    """[s]"""
    strokes: float
    """[-]"""


def sample_schedule(
    well: WellGeometry,
    start: float,
    end: float,
    every: float,
    rop: float,
    flow: float,
    per_stroke: float,
    slip: float = 0.0,
) -> tuple[Sample, ...] | Unknown:
    """When the sample of each depth is at the shakers, if drilling goes on as now.

    Parameters
    ----------
    well : WellGeometry
        String and hole; the last hole section has no bottom.
    start, end : float
        Depth of the hole now and where to stop. [m]
    every : float
        A sample at each whole multiple of this depth. [m]
    rop, flow, per_stroke : float
        Held steady: rate of penetration [m/s], flow [m3/s], output for each stroke [m3].
    slip : float
        Slip velocity of cuttings; 0: with the mud. [m/s]

    Returns
    -------
    tuple of Sample, or Unknown
        Below `start` down to `end`.
    """
    if bad := positive(
        sample_interval=every, rop=rop, flow=flow, volume_per_stroke=per_stroke
    ) or not_negative(start_depth=start, end_depth=end):
        return bad
    first, last = int(start / every + 1e-9) + 1, int(end / every + 1e-9)
    if last - first >= MOST_SAMPLES:
        return Unknown(f"{last - first + 1} samples; a schedule takes {MOST_SAMPLES}")
    out: list[Sample] = []
    for k in range(first, last + 1):
        depth = k * every
        sections = well.sections(depth, depth)
        if isinstance(sections, Unknown):
            return sections
        lag = lag_of_cuttings(annular_legs(sections, flow), slip)
        if isinstance(lag, Unknown):
            return lag
        drilled = (depth - start) / rop
        caught = drilled + lag
        out.append(Sample(depth, drilled, caught, caught * flow / per_stroke))
    return tuple(out)


_VOLUME = Input("volume", "volume", "volume from bit to surface", low=0.0)
_FLOW = Input("flow", "flow", "flow-in", low=0.0)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "lag",
        "strokes and time for a volume, bit to surface",
        (_VOLUME, Input("stroke_volume", "volume", "output for each stroke", low=0.0), _FLOW),
        (Output("strokes", "count", "lag in strokes"), Output("time", "time", "lag in time")),
        "definition",
        lambda v: {
            "strokes": strokes_for(v["volume"], v["stroke_volume"]),
            "time": time_for(v["volume"], v["flow"]),
        },
    ),
    Calculation(
        "lagged-depth",
        "depth the cuttings at surface come from, drilling steadily",
        (
            Input("depth", "length", "depth of the hole", low=0.0),
            Input("rop", "speed", "rate of penetration", low=0.0),
            _VOLUME,
            _FLOW,
            Input("capacity", "capacity", "annulus that a metre of new hole adds", low=0.0),
        ),
        (Output("lagged_depth", "length", "depth they come from"),),
        "balance of volumes",
        lambda v: {
            "lagged_depth": lagged_depth_steady(
                v["depth"], v["rop"], v["volume"], v["flow"], v["capacity"]
            )
        },
    ),
    Calculation(
        "hole-size-from-lag",
        "effective diameter of the open hole from a lag test",
        (
            Input("bit", "length", "diameter of the bit", low=0.0),
            Input("extra_volume", "volume", "pumped beyond the lag worked out"),
            Input("length", "length", "of the open hole", low=0.0),
        ),
        (Output("diameter", "length", "effective diameter"),),
        "balance of volumes",
        lambda v: {"diameter": hole_from_lag(v["bit"], v["extra_volume"], v["length"])},
    ),
)
