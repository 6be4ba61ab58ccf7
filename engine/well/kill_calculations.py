"""Well-control calculations as data: each exact, and again as hand-filled field and metric sheets.

``kill-mud-weight`` uses exact constants and rounds nothing; ``kill-mud-weight-field`` and
``-metric`` use the constants and rounding of those sheets. Inputs and outputs are SI in all three.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import chain

from engine.units import BBL, LB, MINUTE
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.influx import Section, bleed_volume, column_loss, migration_speed
from engine.well.kill_mud import (
    final_pressure,
    formation_pressure,
    initial_pressure,
    kill_mud_weight,
)
from engine.well.kill_sheet import KillInputs, kill_sheet
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet
from engine.well.shoe import kick_tolerance, leak_off_density, maasp
from engine.well.weight_up import barite_per_barrel_sheet, barite_per_volume, density_with_margin

Values = Mapping[str, float]
Work = Callable[[ConstantSet, Values], Mapping[str, Answer]]

IADC = "IADC WellSharp formula sheet, field units rev. 3 (2018)"
IWCF = "IWCF formula sheet, field units (2000)"


def _in(name: str, quantity: str, text: str, default: float | None = None) -> Input:
    return Input(name, quantity, text, default, low=0.0)


MUD = mud_input("mud_weight", "mud in the hole")
SIDPP = _in("sidpp", "pressure", "shut-in drillpipe pressure")
SICP = _in("sicp", "pressure", "shut-in casing pressure")
TVD = _in("tvd", "length", "true vertical depth of the hole")
SHOE = _in("shoe_tvd", "length", "true vertical depth of the shoe")
SLOW = _in("slow_pressure", "pressure", "slow circulating pressure of the pump on line")
HIGHEST = mud_input("highest_mud_weight", "leak-off equivalent at the shoe")
CAPACITY = _in("annulus", "capacity", "annulus at the influx, volume in each metre")
GAIN = _in("gain", "volume", "pit gain")


def in_three_sets(
    name: str,
    text: str,
    inputs: tuple[Input, ...],
    outputs: tuple[Output, ...],
    source: str,
    work: Work,
) -> tuple[Calculation, ...]:
    """Return a calculation in every constant set; `work` takes and gives units of the set."""

    def in_set(cs: ConstantSet) -> Callable[[Values], Mapping[str, Answer]]:
        def run(values: Values) -> Mapping[str, Answer]:
            own = {i.name: cs.of(i.quantity, values[i.name]) for i in inputs}
            found = work(cs, own)
            return {o.name: cs.answer_si(o.quantity, found[o.name]) for o in outputs}

        return run

    return tuple(
        Calculation(name + tail, text + note, inputs, outputs, source, in_set(cs), caution=True)
        for cs, tail, note in (
            (EXACT, "", ""),
            (FIELD, "-field", ", as on a field sheet (0.052, rounded)"),
            (METRIC, "-metric", ", as on a metric sheet (0.0981, rounded)"),
        )
    )


def _circulating(cs: ConstantSet, v: Values) -> Mapping[str, Answer]:
    kill = kill_mud_weight(cs, v["mud_weight"], v["sidpp"], v["tvd"])
    return {
        "initial": initial_pressure(cs, v["slow_pressure"], v["sidpp"]),
        "final": final_pressure(cs, v["slow_pressure"], kill, v["mud_weight"]),
    }


def _tolerance(cs: ConstantSet, v: Values) -> Mapping[str, Answer]:
    collars = Section(v["collar_length"], v["collar_annulus"])
    pipe = Section(v["tvd"], v["pipe_annulus"])
    annulus = (collars, pipe) if v["collar_length"] else (pipe,)
    found = kick_tolerance(
        cs, v["highest_mud_weight"], v["mud_weight"], v["formation_density"], v["shoe_tvd"],
        v["tvd"], v["influx_gradient"], annulus, v["pipe_annulus"],
        max(0.0, v["tvd"] - v["shoe_tvd"]), v["margin"],
    )  # fmt: skip
    return {"height": found.height, "at_shoe": found.at_shoe, "at_bottom": found.at_bottom}


def barite_si(cs: ConstantSet, answer: Answer) -> Answer:
    """Return barite per volume, as the set has it, in kg/m3."""
    if isinstance(answer, Unknown):
        return answer
    return answer * LB / BBL if cs is FIELD else cs.si("density", answer)


def _barite(cs: ConstantSet, v: Values) -> Mapping[str, Answer]:
    old, new = v["mud_weight"], v["new_mud_weight"]
    per = (
        barite_per_barrel_sheet(old, new) if cs is FIELD else barite_per_volume(old, new, cs.barite)
    )
    si = barite_si(cs, per)
    return {"barite": si if isinstance(si, Unknown) else cs.of("density", si)}


SHEET_INPUTS = (
    MUD, TVD, SIDPP, SICP, GAIN, SLOW,
    _in("slow_rate", "stroke_rate", "rate it was taken at"),
    _in("stroke_volume", "volume", "pump output in each stroke"),
    _in("string_volume", "volume", "surface to bit"),
    _in("open_hole_volume", "volume", "annulus, bit to shoe"),
    _in("cased_volume", "volume", "annulus, shoe to surface"),
    SHOE,
    mud_input("test_mud_weight", "mud at the leak-off test"),
    _in("test_pressure", "pressure", "surface pressure of the leak-off test"),
    _in("collar_length", "length", "length of collars", 0.0),
    _in("collar_annulus", "capacity", "hole less collars, volume in each metre", 0.0),
    _in("pipe_annulus", "capacity", "hole less pipe, volume in each metre"),
)  # fmt: skip
SHEET_OUTPUTS = (
    Output("kill", "density", "kill mud weight"),
    Output("formation", "pressure", "formation pressure"),
    Output("initial", "pressure", "initial circulating pressure"),
    Output("final", "pressure", "final circulating pressure"),
    Output("to_bit", "count", "strokes, surface to bit"),
    Output("bit_to_shoe", "count", "strokes, bit to shoe"),
    Output("bottoms_up", "count", "strokes, bottoms-up"),
    Output("time_to_bit", "time", "time, surface to bit, at the slow rate"),
    Output("step", "pressure", "fall of pressure in 100 strokes"),
    Output("highest", "density", "highest mud weight the shoe stands"),
    Output("maasp", "pressure", "highest annular surface pressure now"),
    Output("maasp_killed", "pressure", "the same with kill mud"),
    Output("influx_height", "length", "height of the influx"),
    Output("influx_gradient", "gradient", "gradient of the influx"),
)


def inputs_of(v: Values) -> KillInputs:
    """Return kill sheet inputs from a mapping named as `SHEET_INPUTS`. [SI]"""
    pipe = Section(v["tvd"], v["pipe_annulus"])
    collars = Section(v["collar_length"], v["collar_annulus"])
    return KillInputs(
        mud=v["mud_weight"], tvd=v["tvd"], sidpp=v["sidpp"], sicp=v["sicp"], gain=v["gain"],
        slow_pressure=v["slow_pressure"], slow_rate=v["slow_rate"],
        stroke_volume=v["stroke_volume"], string_volume=v["string_volume"],
        open_hole_volume=v["open_hole_volume"], cased_volume=v["cased_volume"],
        shoe_tvd=v["shoe_tvd"], test_mud=v["test_mud_weight"], test_pressure=v["test_pressure"],
        annulus=(collars, pipe) if v["collar_length"] else (pipe,),
    )  # fmt: skip


def sheet_results(cs: ConstantSet, known: KillInputs) -> dict[str, Answer]:
    """Return the results named in `SHEET_OUTPUTS`. [SI]"""
    sheet = kill_sheet(cs, known)
    minutes = sheet.time_to_bit
    own: dict[str, Answer] = {
        o.name: getattr(sheet, o.name)
        for o in SHEET_OUTPUTS
        if o.name not in {"time_to_bit", "influx_height", "influx_gradient"}
    }
    own |= {
        "time_to_bit": minutes if isinstance(minutes, Unknown) else minutes * MINUTE,
        "influx_height": sheet.influx.height,
        "influx_gradient": sheet.influx.gradient,
    }
    return {o.name: cs.answer_si(o.quantity, own[o.name]) for o in SHEET_OUTPUTS}


def _sheet(cs: ConstantSet, v: Values) -> Mapping[str, Answer]:
    si = {i.name: cs.si(i.quantity, v[i.name]) for i in SHEET_INPUTS}
    found = sheet_results(cs, inputs_of(si))
    return {
        o.name: a if isinstance(a := found[o.name], Unknown) else cs.of(o.quantity, a)
        for o in SHEET_OUTPUTS
    }


CALCULATIONS: tuple[Calculation, ...] = tuple(
    chain(
        in_three_sets("kill-mud-weight", "mud that balances the formation", (MUD, SIDPP, TVD),
            (Output("kill_mud_weight", "density", "kill mud weight"),
             Output("formation", "pressure", "formation pressure")), IADC,
            lambda cs, v: {
                "kill_mud_weight": kill_mud_weight(cs, v["mud_weight"], v["sidpp"], v["tvd"]),
                "formation": formation_pressure(cs, v["mud_weight"], v["sidpp"], v["tvd"]),
            }),
        in_three_sets("circulating-pressures", "ICP and FCP", (MUD, SIDPP, TVD, SLOW),
            (Output("initial", "pressure", "initial circulating pressure"),
             Output("final", "pressure", "final circulating pressure")), IADC, _circulating),
        in_three_sets("leak-off-density", "highest mud weight the shoe stands",
            (mud_input("test_mud_weight", "mud at the leak-off test"),
             _in("test_pressure", "pressure", "surface pressure of the test"), SHOE),
            (Output("highest", "density", "leak-off equivalent"),), IADC,
            lambda cs, v: {"highest": leak_off_density(
                cs, v["test_mud_weight"], v["test_pressure"], v["shoe_tvd"])}),
        in_three_sets("maasp", "highest allowed annular surface pressure", (HIGHEST, MUD, SHOE),
            (Output("maasp", "pressure", "with a full column of this mud"),), IWCF,
            lambda cs, v: {"maasp": maasp(
                cs, v["highest_mud_weight"], v["mud_weight"], v["shoe_tvd"])}),
        in_three_sets("kick-tolerance", "largest kick the shoe stands",
            (HIGHEST, MUD, mud_input("formation_density", "formation pressure as a density"),
             SHOE, TVD, _in("influx_gradient", "gradient", "of the influx"),
             _in("collar_length", "length", "length of collars", 0.0),
             _in("collar_annulus", "capacity", "hole less collars", 0.0),
             _in("pipe_annulus", "capacity", "hole less pipe"),
             _in("margin", "pressure", "for choke and friction", 0.0)),
            (Output("height", "length", "height of the influx"),
             Output("at_shoe", "volume", "with its top at the shoe"),
             Output("at_bottom", "volume", "volume that may come in")),
            "kick tolerance in the shoe-pressure form, codingace.net/eng/kick_tolerance.html",
            _tolerance),
        in_three_sets("barite", "barite to weight up, in each volume of old mud",
            (MUD, mud_input("new_mud_weight", "mud wanted")),
            (Output("barite", "density", "mass in each volume"),), IWCF, _barite),
        in_three_sets("gas-migration", "how fast gas rises in a shut-in well",
            (_in("pressure_rise", "pressure", "rise of surface pressure"),
             Input("time", "time", "in this time", low=1.0), MUD),
            (Output("speed", "speed", "of the gas"),), IWCF,
            lambda cs, v: {"speed": cs.answer_si("length", migration_speed(
                cs, v["pressure_rise"] / v["time"], v["mud_weight"]))}),
        in_three_sets("bleed-volume", "mud to bleed for a rise of pressure",
            (_in("pressure_rise", "pressure", "rise of casing pressure"), MUD, CAPACITY),
            (Output("volume", "volume", "to bleed at constant casing pressure"),), IWCF,
            lambda cs, v: {"volume": bleed_volume(
                cs, v["pressure_rise"], v["mud_weight"], v["annulus"])}),
        in_three_sets("gas-column-loss", "column lost to weightless gas", (GAIN, MUD, CAPACITY),
            (Output("pressure", "pressure", "lost at the bottom"),),
            "N. J. Lapeyrouse, Formulas and Calculations, 2nd ed., Gulf, 2002",
            lambda cs, v: {"pressure": column_loss(cs, v["gain"], v["mud_weight"], v["annulus"])}),
        in_three_sets("trip-margin", "mud weight with a margin for the trip",
            (MUD, _in("margin", "pressure", "trip margin"), TVD),
            (Output("mud_weight", "density", "with the margin"),), IWCF,
            lambda cs, v: {"mud_weight": density_with_margin(
                cs, v["mud_weight"], v["margin"], v["tvd"])}),
        in_three_sets("kill-sheet", "whole kill sheet of a vertical well", SHEET_INPUTS,
            SHEET_OUTPUTS, IADC, _sheet),
    )
)  # fmt: skip
