"""The kill sheet as a card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

from engine.errors import InputError
from engine.well.answer import Answer, Unknown
from engine.well.cards import Card, CardInput, CardOutput, checked
from engine.well.kill_calculations import CALCULATIONS, IADC, inputs_of
from engine.well.kill_sheet import KillInputs, KillSheet, kill_sheet
from engine.well.sheet import ConstantSet

_SHEET = next(c for c in CALCULATIONS if c.name == "kill-sheet")
_TITLE = "Kill sheet"


def kill_card(
    cs: ConstantSet,
    inputs: Sequence[CardInput],
    made_by: str,
    made_at: float,
    known: KillInputs | None = None,
) -> Card:
    """Return the kill sheet as a card.

    Parameters
    ----------
    cs : ConstantSet
        Constants, units and rounding.
    inputs : sequence of CardInput
        As of the ``kill-sheet`` calculation; ``slow_pressure`` and ``slow_rate`` may be left
        out: ICP and FCP are then unknown.
    made_by : str
    made_at : float
        [s] UTC
    known : KillInputs, optional
        The same numbers with stations of a deviated well, sections of annulus or a float; None:
        a vertical well worked out from `inputs`.

    Raises
    ------
    InputError
        As `post`; also if `known` and `inputs` do not agree.
    """
    own = checked(_TITLE, inputs)
    if any(i.channel and i.quantity == "pressure" for i in own):
        raise InputError("Kill sheet: pressures are read and entered by a person, not by a feed")
    missing = {i.name for i in _SHEET.inputs if i.default is None}
    missing -= {i.name for i in own} | {"slow_pressure", "slow_rate"}
    if missing:
        raise InputError(f"Kill sheet: missing {', '.join(sorted(missing))}")
    values = {i.name: i.default or 0.0 for i in _SHEET.inputs}
    values |= {i.name: i.value for i in own}
    plain = inputs_of(values)
    none = Unknown("no slow rate for the pump on line")
    if not {"slow_pressure", "slow_rate"} <= {i.name for i in own}:
        plain = replace(plain, slow_pressure=none, slow_rate=none)
    if known is not None:
        differ = [
            name
            for name in (f.name for f in fields(KillInputs))
            if name not in {"annulus", "stations", "float_in_string"}
            and getattr(known, name) != getattr(plain, name)
        ]
        if differ:
            raise InputError(f"Kill sheet: {', '.join(differ)} differ from the inputs of the card")
    found = kill_sheet(cs, known or plain)
    return Card(
        "Kill sheet", cs.name, own, kill_outputs(found), found.notes, IADC, made_by, made_at
    )


def kill_outputs(sheet: KillSheet) -> tuple[CardOutput, ...]:
    """Return the results of a kill sheet, each in the unit and decimals of its set."""
    cs, rounding = sheet.cs, sheet.cs.rounding
    density = rounding.density if rounding else None
    pressure = rounding.pressure if rounding else None
    minutes = ("time", "min", 1)

    def out(text: str, own: Answer, quantity: str, decimals: int | None = None) -> CardOutput:
        si = cs.answer_si(quantity, own)
        return CardOutput(text, si, quantity, cs.units.get(quantity, ""), decimals)

    def clock(text: str, own: Answer) -> CardOutput:
        si = own if isinstance(own, Unknown) else own * 60
        return CardOutput(text, si, *minutes)

    found = [
        out("kill mud weight", sheet.kill, "density", density),
        out("formation pressure", sheet.formation, "pressure", pressure),
        out("ICP", sheet.initial, "pressure", pressure),
        out("FCP", sheet.final, "pressure", pressure),
        out("strokes, surface to bit", sheet.to_bit, "count"),
        out("strokes, bit to shoe", sheet.bit_to_shoe, "count"),
        out("strokes, bottoms-up", sheet.bottoms_up, "count"),
        clock("time, surface to bit", sheet.time_to_bit),
        out("fall in 100 strokes", sheet.step, "pressure", rounding.step if rounding else None),
        out("highest mud weight", sheet.highest, "density", density),
        out("MAASP now", sheet.maasp, "pressure", rounding.limit if rounding else None),
        out("MAASP with kill mud", sheet.maasp_killed, "pressure",
            rounding.limit if rounding else None),
        out("influx height", sheet.influx.height, "length", 0),
        out("influx gradient", sheet.influx.gradient, "gradient", 4 if rounding else None),
    ]  # fmt: skip
    if isinstance(sheet.schedule, Unknown):
        return (*found, CardOutput("schedule", sheet.schedule, "pressure"))
    rows = (out(f"at {r.strokes:.0f} strokes", r.pressure, "pressure", pressure)
            for r in sheet.schedule)  # fmt: skip
    return (*found, *rows)
