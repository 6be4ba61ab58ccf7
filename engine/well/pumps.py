r"""Mud pumps: output for each stroke, efficiency, strokes for a volume, hours run. SI, exact.

References
----------
.. [1] R. Mitchell, S. Miska (eds.), Fundamentals of Drilling Engineering, SPE, 2011, ch. 5
   (from memory): pump factors of triplex and duplex pumps.
.. [2] Pump output calculation for duplex and triplex pumps,
   www.drillingformulas.com/pump-output-calculation-for-duplex-pump-and-triplex-pump/ :
   the same in field units, with the worked examples of the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt

from engine.block import same_length
from engine.config import Pump
from engine.units import MINUTE
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.checks import not_negative, positive, share

STROKING = 4 / MINUTE
"""Above this a pump strokes; below, it is the noise of the rate meter. [1/s]"""


def stroke_volume(pump: Pump) -> float:
    """Volume a pump of the well file delivers in one turn of its crank. [m3]"""
    if pump.type == "triplex":
        swept = _three_single(pump.liner)
    else:
        swept = _two_double(pump.liner, pump.rod)
    return swept * pump.stroke * pump.efficiency


def triplex_output(liner: float, stroke: float, efficiency: float = 1.0) -> Answer:
    r"""Output of three single-acting cylinders for each stroke of the counter [1]_ [2]_. [m3]

    .. math:: V = 3 \tfrac{\pi}{4} D^2 S \eta

    Parameters
    ----------
    liner, stroke : float
        Above 0. [m]
    efficiency : float
        Volumetric, 0 to 1. [-]
    """
    if bad := positive(liner=liner, stroke=stroke) or share(efficiency=efficiency):
        return bad
    return finite(_three_single(liner) * stroke * efficiency, "the pump is too large")


def duplex_output(liner: float, rod: float, stroke: float, efficiency: float = 1.0) -> Answer:
    r"""Output of two double-acting cylinders for each full cycle [1]_ [2]_. [m3]

    .. math:: V = \tfrac{\pi}{2} (2 D^2 - d^2) S \eta

    Parameters
    ----------
    liner, rod, stroke : float
        The rod takes its room on one side and is thinner than the liner. [m]
    efficiency : float
        Volumetric, 0 to 1. [-]
    """
    if bad := positive(liner=liner, stroke=stroke) or not_negative(rod=rod):
        return bad
    if bad := share(efficiency=efficiency):
        return bad
    if rod >= liner:
        return Unknown(f"a rod of {rod * 1e3:g} mm is not thinner than the liner")
    return finite(_two_double(liner, rod) * stroke * efficiency, "the pump is too large")


def efficiency_from_tank(volume: float, strokes: float, full: float) -> Answer:
    """Volumetric efficiency from a measured tank: volume over strokes times full output. [-]

    Parameters
    ----------
    volume : float
        Measured in the tank. [m3]
    strokes : float
        Counted meanwhile. [-]
    full : float
        Output for each stroke at an efficiency of 1. [m3]

    Returns
    -------
    float or Unknown
        [-] Unknown above 1: no pump gives more than it sweeps, so one of the three is wrong.
    """
    if bad := positive(strokes=strokes, volume_per_stroke=full) or not_negative(volume=volume):
        return bad
    found = finite(volume / (strokes * full), "the strokes are unknown")
    if not isinstance(found, Unknown) and found > 1 + 1e-9:
        return Unknown(f"{found:.3f} is above 1: check liner, stroke count and tank")
    return found


def strokes_for(volume: float, per_stroke: float) -> Answer:
    """Strokes that pump `volume`, not rounded. [-]

    Parameters
    ----------
    volume : float
        0 needs 0 strokes. [m3]
    per_stroke : float
        Output for each stroke. [m3]
    """
    if bad := not_negative(volume=volume) or positive(volume_per_stroke=per_stroke):
        return bad
    return finite(volume / per_stroke, "the output for each stroke is too small")


def time_for(volume: float, flow: float) -> Answer:
    """Time that a flow needs for `volume`. [s]

    Parameters
    ----------
    volume : float
        [m3]
    flow : float
        [m3/s]

    Returns
    -------
    float or Unknown
        [s] Unknown without flow: it never comes.
    """
    if bad := not_negative(volume=volume, flow=flow):
        return bad
    if flow == 0:
        return Unknown("no flow: the pumps stand still")
    return finite(volume / flow, "no flow: the pumps stand still")


def flow_of(pumps: Sequence[tuple[float, float]]) -> Answer:
    """Flow of pumps lined up together. [m3/s]

    Parameters
    ----------
    pumps : sequence of (rate, volume)
        Strokes a second [1/s] and output for each stroke [m3] of each pump lined up.

    Returns
    -------
    float or Unknown
        [m3/s] 0 if all stand still or there is none; unknown if one of them is.
    """
    total = 0.0
    for rate, volume in pumps:
        if bad := not_negative(stroke_rate=rate, volume_per_stroke=volume):
            return bad
        total += rate * volume
    return finite(total, "the strokes are unknown")


def flow_from_counter(strokes: float, seconds: float, per_stroke: float) -> Answer:
    """Mean flow from strokes counted in a time. [m3/s]

    Parameters
    ----------
    strokes : float
        Counted; a count that steps back gives no flow. [-]
    seconds : float
        Above 0. [s]
    per_stroke : float
        [m3]
    """
    if bad := not_negative(strokes=strokes) or positive(time=seconds):
        return bad
    if bad := not_negative(volume_per_stroke=per_stroke):
        return bad
    return finite(strokes * per_stroke / seconds, "the time is too short")


@dataclass(frozen=True, slots=True)
class PumpHours:
    """How long a pump stroked, and how long nobody knows."""

    stroking: float
    """[s]"""
    unknown: float
    """Time without a stroke rate: it may have stroked. [s]"""


def pump_hours(t: npt.ArrayLike, rate: npt.ArrayLike, longest: float = 5.0) -> PumpHours:
    """Add up the time a pump stroked.

    Parameters
    ----------
    t : array_like
        Times that do not decrease, shape (n,). [s]
    rate : array_like
        Strokes a second at each time, shape (n,). [1/s] NaN: not known.
    longest : float
        A sample counts until the next one, but no longer than this. [s] the age at which
        one-second data are stale, common practice

    Returns
    -------
    PumpHours
        The last sample has no next one and counts nothing.

    Raises
    ------
    InputError
        If `t` and `rate` differ in length.
    """
    at, strokes = np.asarray(t, np.float64), np.asarray(rate, np.float64)
    same_length("pump hours", at, strokes)
    span, before = np.diff(at), strokes[:-1]
    known = np.minimum(span, longest)
    known = np.where(np.isnan(before), 0.0, known)
    stroking = float(known[before > STROKING].sum())
    return PumpHours(stroking, float((span - known).sum()))


def _three_single(liner: float) -> float:
    return 3 * (pi / 4) * liner**2


def _two_double(liner: float, rod: float) -> float:
    return (pi / 2) * (2 * liner**2 - rod**2)


_LINER = Input("liner", "length", "liner diameter", low=0.0)
_STROKE = Input("stroke", "length", "stroke length", low=0.0)
_SHARE = Input("efficiency", "ratio", "volumetric efficiency", 1.0, 0.0, 1.0)
_OUT = Output("stroke_volume", "volume", "output for each stroke")
_SOURCE = "R. Mitchell, S. Miska (eds.), Fundamentals of Drilling Engineering, SPE, 2011, ch. 5"

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "pump-output",
        "output of a triplex for each stroke",
        (_LINER, _STROKE, _SHARE),
        (_OUT,),
        _SOURCE,
        lambda v: {"stroke_volume": triplex_output(v["liner"], v["stroke"], v["efficiency"])},
    ),
    Calculation(
        "pump-output-duplex",
        "output of a double-acting duplex for each full cycle",
        (_LINER, Input("rod", "length", "rod diameter", low=0.0), _STROKE, _SHARE),
        (_OUT,),
        _SOURCE,
        lambda v: {
            "stroke_volume": duplex_output(v["liner"], v["rod"], v["stroke"], v["efficiency"])
        },
    ),
    Calculation(
        "pump-efficiency",
        "efficiency of a pump from a tank check",
        (
            Input("volume", "volume", "volume measured in the tank", low=0.0),
            Input("strokes", "count", "strokes counted meanwhile", low=0.0),
            Input("full_stroke", "volume", "output for each stroke at 100 %", low=0.0),
        ),
        (Output("efficiency", "ratio", "volumetric efficiency"),),
        "definition",
        lambda v: {"efficiency": efficiency_from_tank(v["volume"], v["strokes"], v["full_stroke"])},
    ),
    Calculation(
        "strokes-for-volume",
        "strokes that pump a volume",
        (
            Input("volume", "volume", "volume to pump", low=0.0),
            Input("stroke_volume", "volume", "output for each stroke", low=0.0),
        ),
        (Output("strokes", "count", "strokes"),),
        "definition",
        lambda v: {"strokes": strokes_for(v["volume"], v["stroke_volume"])},
    ),
)
