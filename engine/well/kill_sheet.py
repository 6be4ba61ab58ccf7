"""The whole kill sheet from one set of inputs, in any constant set.

Rounded values are carried forward on a sheet: the rounded kill weight gives the final pressure,
the rounded pressures and strokes give the step. Nothing here is filled in from live channels.
A cross-check: the approved kill sheet and the certified person rule.

References
----------
.. [1] IADC WellSharp formula sheet, field units, rev. 3 (2018), and the metric sheet.
.. [2] IWCF formula sheet, field units (2000).
"""

from __future__ import annotations

from dataclasses import dataclass

from engine.units import MINUTE
from engine.well.answer import Answer, Unknown, finite
from engine.well.influx import Influx, Section, influx
from engine.well.kill_mud import (
    final_pressure,
    formation_pressure,
    initial_pressure,
    kill_mud_weight,
    strokes,
)
from engine.well.kill_schedule import (
    Row,
    Station,
    deviated_schedule,
    pressure_step,
    straight_schedule,
)
from engine.well.sheet import ConstantSet, numbers
from engine.well.shoe import leak_off_density, maasp, no_margin
from engine.well.weight_up import FORM_1500, barite_per_barrel_sheet, barite_per_volume


@dataclass(frozen=True, slots=True)
class KillInputs:
    """What is known at shut-in. SI; every number entered by a person."""

    mud: float
    """Present mud. [kg/m3]"""
    tvd: float
    """True vertical depth of the bit at bottom. [m]"""
    sidpp: float
    """Shut-in drillpipe pressure, gauge. [Pa]"""
    sicp: float
    """Shut-in casing pressure, gauge. [Pa]"""
    gain: float
    """[m3]"""
    slow_pressure: Answer
    """Slow circulating pressure of the pump on line. [Pa]"""
    slow_rate: Answer
    """Its rate. [1/s]"""
    stroke_volume: float
    """Output of that pump. [m3/stroke]"""
    string_volume: float
    """Surface to bit. [m3]"""
    open_hole_volume: float
    """Annulus, bit to shoe. [m3]"""
    cased_volume: float
    """Annulus, shoe to surface. [m3]"""
    shoe_tvd: float
    """[m]"""
    test_mud: float
    """Mud at the leak-off test. [kg/m3]"""
    test_pressure: float
    """Surface pressure of the leak-off test. [Pa]"""
    annulus: tuple[Section, ...]
    """From the bit up: length [m], capacity [m3/m]."""
    stations: tuple[Station, ...] = ()
    """Deviated well: strokes, measured and true depth [m]; empty: vertical."""
    float_in_string: bool = False


@dataclass(frozen=True, slots=True)
class KillSheet:
    """Results in the units of `cs`; each is a number or why there is none."""

    cs: ConstantSet
    formation: Answer
    kill: Answer
    """Kill mud weight. [density]"""
    initial: Answer
    final: Answer
    to_bit: Answer
    """Strokes, surface to bit. [-]"""
    bit_to_shoe: Answer
    bottoms_up: Answer
    """Strokes, bit to surface. [-]"""
    circulation: Answer
    """Strokes, surface to surface. [-]"""
    time_to_bit: Answer
    """At the slow rate. [min]"""
    time_circulation: Answer
    """At the slow rate. [min]"""
    step: Answer
    """Fall of pressure per 100 strokes; only in a vertical well. [pressure]"""
    schedule: tuple[Row, ...] | Unknown
    highest: Answer
    """Leak-off equivalent: highest allowed mud weight. [density]"""
    maasp: Answer
    """With the present mud. [pressure]"""
    maasp_killed: Answer
    """With the kill mud. [pressure]"""
    influx: Influx
    barite: Answer
    """Per volume of present mud: lb/bbl on the field sheet, else density unit. [-]"""
    notes: tuple[str, ...]
    """What a person must know before using any of it."""


def kill_sheet(cs: ConstantSet, known: KillInputs) -> KillSheet:
    """Work out the sheet.

    Parameters
    ----------
    cs : ConstantSet
        `EXACT`, `FIELD` or `METRIC`: constants, units and rounding of the result.
    known : KillInputs
        SI.

    Returns
    -------
    KillSheet
        Every result that can be worked out; `Unknown` where an input it needs is not fit.
    """
    mud, tvd = cs.of("density", known.mud), cs.of("length", known.tvd)
    sidpp, sicp = cs.of("pressure", known.sidpp), cs.of("pressure", known.sicp)
    shoe = cs.of("length", known.shoe_tvd)
    slow = _of(cs, "pressure", known.slow_pressure)
    kill = kill_mud_weight(cs, mud, sidpp, tvd)
    first, last = initial_pressure(cs, slow, sidpp), final_pressure(cs, slow, kill, mud)
    annulus = known.open_hole_volume + known.cased_volume
    output = known.stroke_volume
    to_bit = strokes(cs, known.string_volume, output)
    circulation = strokes(cs, known.string_volume + annulus, output)
    highest = leak_off_density(
        cs, cs.of("density", known.test_mud), cs.of("pressure", known.test_pressure), shoe
    )
    if known.shoe_tvd > known.tvd:
        highest = Unknown("the shoe is deeper than the hole")
    sections = tuple(
        Section(cs.of("length", s.length), cs.of("capacity", s.capacity)) for s in known.annulus
    )
    came_in = influx(cs, mud, sidpp, sicp, cs.of("volume", known.gain), sections)
    if known.stations:
        points = tuple(
            Station(s.strokes, cs.of("length", s.md), cs.of("length", s.tvd))
            for s in known.stations
        )
        schedule = deviated_schedule(cs, sidpp, slow, mud, kill, points)
        step: Answer = Unknown("no single step in a deviated well; use the schedule")
    else:
        schedule = straight_schedule(cs, first, last, to_bit)
        step = pressure_step(cs, first, last, to_bit)
    return KillSheet(
        cs=cs,
        formation=formation_pressure(cs, mud, sidpp, tvd),
        kill=kill,
        initial=first,
        final=last,
        to_bit=to_bit,
        bit_to_shoe=strokes(cs, known.open_hole_volume, output),
        bottoms_up=strokes(cs, annulus, output),
        circulation=circulation,
        time_to_bit=_minutes(known.string_volume, output, known.slow_rate),
        time_circulation=_minutes(known.string_volume + annulus, output, known.slow_rate),
        step=step,
        schedule=schedule,
        highest=highest,
        maasp=maasp(cs, highest, mud, shoe),
        maasp_killed=maasp(cs, highest, kill, shoe),
        influx=came_in,
        barite=kill if isinstance(kill, Unknown) else _barite(cs, mud, kill),
        notes=_notes(known, came_in, highest, mud, kill),
    )


def _of(cs: ConstantSet, quantity: str, answer: Answer) -> Answer:
    return answer if isinstance(answer, Unknown) else cs.of(quantity, answer)


def _minutes(volume: float, stroke_volume: float, rate: Answer) -> Answer:
    """Minutes to pump `volume` at `rate` strokes a second."""
    got = numbers(("volume", volume, 0.0), ("output", stroke_volume, 0.0), ("slow rate", rate, 0.0))
    if isinstance(got, Unknown):
        return got
    flow = got[1] * got[2]
    return finite(got[0] / flow / MINUTE, "no flow") if flow > 0 else Unknown("no flow")


def _barite(cs: ConstantSet, mud: float, kill: float) -> Answer:
    """Barite for one volume of mud, by the form of the set."""
    if cs.units.get("density") == "ppg":
        return barite_per_barrel_sheet(mud, kill, FORM_1500)
    return barite_per_volume(mud, kill, cs.barite)


def _notes(
    known: KillInputs, came_in: Influx, highest: Answer, mud: Answer, kill: Answer
) -> tuple[str, ...]:
    """List what must be read with the numbers."""
    notes = []
    if known.sidpp == 0:
        notes.append("SIDPP 0: the present mud balances the well; was the kick swabbed in?")
    if known.float_in_string:
        notes.append("Float in the string: SIDPP reads too low until the float is bumped open.")
    if came_in.note:
        notes.append(f"Influx {came_in.note}.")
    if isinstance(known.slow_pressure, Unknown):
        notes.append(f"ICP and FCP unknown: {known.slow_pressure.reason}.")
    if no_margin(highest, mud):
        notes.append("MAASP 0: no margin, the mud is at the highest the shoe stands.")
    elif no_margin(highest, kill):
        notes.append("After the kill no margin: kill mud is at the highest the shoe stands.")
    notes.append("MAASP no longer limits once the influx is above the shoe.")
    return tuple(notes)
