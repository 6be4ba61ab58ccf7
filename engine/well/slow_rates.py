"""Slow circulating rates: what was read, how old it is, and whether it still holds.

A reading holds for one pump, one mud, one string and one depth. A stale one is shown with its
reasons and never scaled in silence; none is ever taken from another pump.

References
----------
.. [1] www.drillingmanual.com/slow-reduced-circulation-rate-scr : read at the beginning of each
   shift and with a new bit; repeat with other mud or another string.
.. [2] 0.1 ppg and 500 ft: common practice, no source. A liner change: the output of the pump is
   another, so every stroke count and slow pressure is void.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from engine.errors import InputError
from engine.units import FT, PPG
from engine.well.answer import Answer, Unknown
from engine.well.kill_mud import rate_exponent
from engine.well.sheet import numbers

_SAME = 1e-6  # relative; numbers that went through a unit and back


@dataclass(frozen=True, slots=True)
class SlowRate:
    """One reading, as entered by the person who took it."""

    pump: str
    rate: float
    """Strokes. [1/s]"""
    pressure: float
    """On the gauge that will be used to kill the well. [Pa]"""
    mud: float
    """[kg/m3]"""
    depth: float
    """Bit, measured. [m]"""
    stroke_volume: float
    """Output of the pump as it was lined. [m3/stroke]"""
    string: str
    """Bottom-hole assembly and bit, by the name the crew gives it."""
    tour: str
    """``2026-03-14 day``: the tour it was taken in."""
    at: float
    """[s] UTC"""
    who: str


@dataclass(frozen=True, slots=True)
class Present:
    """How things stand now; None where it is not known."""

    mud: float | None
    """[kg/m3]"""
    depth: float | None
    """Bit, measured. [m]"""
    stroke_volumes: Mapping[str, float]
    """Output of each pump by name. [m3/stroke]"""
    string: str | None
    tour: str | None
    at: float
    """[s] UTC"""


@dataclass(frozen=True, slots=True)
class Rules:
    """By how much things may change before a reading is stale."""

    mud: float = 0.1 * PPG
    """[kg/m3]"""
    depth: float = 500 * FT
    """[m]"""


RULES = Rules()
SlowRates = tuple[SlowRate, ...]


def entered(log: SlowRates, reading: SlowRate) -> SlowRates:
    """Return the log with one more reading; nothing is ever taken out.

    Raises
    ------
    InputError
        One message with everything that is wrong: a rate or pressure of 0, no name, a reading
        dated before the newest one.
    """
    problems = []
    for name in ("rate", "pressure", "mud", "stroke_volume"):
        got = numbers((name, getattr(reading, name), 0.0))
        if isinstance(got, Unknown) or got[0] == 0:
            problems.append(f"{name} is {getattr(reading, name):g}; it must be above 0")
    if isinstance(numbers(("depth", reading.depth, 0.0), ("time", reading.at, 0.0)), Unknown):
        problems.append(f"depth {reading.depth:g} or time {reading.at:g} is not a number from 0 up")
    problems += [
        f"{name} is empty; write it"
        for name in ("pump", "string", "tour", "who")
        if not getattr(reading, name).strip()
    ]
    if log and reading.at < log[-1].at:
        problems.append("it is dated before the newest reading; readings are entered in order")
    if problems:
        raise InputError(f"slow rate of pump {reading.pump!r}: " + "; ".join(problems))
    return (*log, reading)


def age(reading: SlowRate, now: float) -> Answer:
    """Return how old it is. [s] `Unknown` if it is dated after `now`."""
    got = numbers(("age", now - reading.at, 0.0))
    return Unknown("dated in the future; check the clocks") if isinstance(got, Unknown) else got[0]


def stale(reading: SlowRate, present: Present, rules: Rules = RULES) -> tuple[str, ...]:
    """Return why it no longer holds, in words; empty while it holds.

    A thing that is not known now is a reason too: nobody can say that it is the same.
    """
    reasons = []
    if present.tour is None:
        reasons.append("present tour not known")
    elif present.tour != reading.tour:
        reasons.append(f"new tour ({present.tour})")
    if present.mud is None:
        reasons.append("present mud weight not known")
    elif not abs(present.mud - reading.mud) <= rules.mud * (1 - _SAME):
        reasons.append("mud weight changed")
    if present.depth is None:
        reasons.append("present depth not known")
    elif not abs(present.depth - reading.depth) <= rules.depth * (1 + _SAME):
        reasons.append("depth changed")
    if present.string is None:
        reasons.append("present string not known")
    elif present.string != reading.string:
        reasons.append(f"another string ({present.string})")
    output = present.stroke_volumes.get(reading.pump)
    if output is None:
        reasons.append(f"output of pump {reading.pump} not known")
    elif not abs(output - reading.stroke_volume) <= _SAME * reading.stroke_volume:
        reasons.append("pump output changed")
    if isinstance(age(reading, present.at), Unknown):
        reasons.append("dated in the future")
    return tuple(reasons)


def newest(log: SlowRates) -> tuple[SlowRate, ...]:
    """Return the newest reading of each pump and rate, by pump, then rate."""
    found = {(r.pump, round(r.rate * 60, 3)): r for r in log}
    return tuple(found[key] for key in sorted(found))


def picked(log: SlowRates, on_line: Sequence[str], rate: float | None = None) -> SlowRate | Unknown:
    """Return the reading for the pump on line.

    Parameters
    ----------
    log : tuple of SlowRate
    on_line : sequence of str
        Pumps lined up to kill the well; it takes exactly one.
    rate : float, optional
        Kill rate; None: the rate read last on that pump. [1/s]

    Returns
    -------
    SlowRate or Unknown
        The newest; it may be `stale`. `Unknown` if none was read at this rate on this pump:
        a reading of another pump or rate is not a substitute.
    """
    if len(on_line) != 1:
        names = " and ".join(on_line) or "no pump"
        return Unknown(f"{names} on line; a slow rate holds for one pump")
    own = [r for r in log if r.pump == on_line[0]]
    if rate is not None:
        own = [r for r in own if abs(r.rate - rate) <= _SAME * rate]
    if not own:
        at = "" if rate is None else f" at {rate * 60:.0f} spm"
        return Unknown(f"no slow rate read for pump {on_line[0]}{at}")
    return own[-1]


@dataclass(frozen=True, slots=True)
class Exponent:
    """How pressure rises with rate, and whether that was fitted."""

    value: float
    assumed: bool


def exponent(log: SlowRates, pump: str) -> Exponent:
    """Return the exponent of `pump` from its lowest and highest rate of the newest set.

    Only readings of one tour, mud, depth and string are compared. With one rate it is 2,
    marked assumed; so it is where the fit is refused (see `rate_exponent`).
    """
    own = [r for r in log if r.pump == pump]
    if own:
        last = own[-1]
        alike = [
            r
            for r in newest(tuple(own))
            if (r.tour, r.mud, r.depth, r.string, r.stroke_volume)
            == (last.tour, last.mud, last.depth, last.string, last.stroke_volume)
        ]
        low, high = alike[0], alike[-1]
        fitted = rate_exponent(high.pressure, high.rate, low.pressure, low.rate)
        if not isinstance(fitted, Unknown):
            return Exponent(fitted, assumed=False)
    return Exponent(2.0, assumed=True)
