"""A kill sheet from what a person entered: the pump on line, and the shape of the well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.config import WellConfig
from engine.records.card_kinds import CardKind
from engine.well.answer import Unknown
from engine.well.capacities import circle
from engine.well.card_text import shown
from engine.well.cards import Card, CardInput
from engine.well.kill_calculations import SHEET_INPUTS, inputs_of
from engine.well.kill_card import kill_card
from engine.well.kill_schedule import Station, stations_of
from engine.well.pumps import stroke_volume
from engine.well.slow_rates import SlowRates, picked
from engine.well.well_file import true_depth

SAME_DEPTH = 1.0
"""True depths closer than this are the same. [m]"""
_SAME = 1e-6  # relative; a number that went through a unit and back
_TEXTS = {i.name: i.text for i in SHEET_INPUTS}


@dataclass(frozen=True, slots=True)
class KillEntry:
    """What is entered for one kill sheet."""

    kind: CardKind
    pump: str
    """On line; empty: not named."""
    inputs: tuple[CardInput, ...]
    who: str
    at: float
    """[s since 1970-01-01 UTC]"""


def kill_sheet_card(entry: KillEntry, config: WellConfig, log: SlowRates) -> Card:
    """Return the kill sheet.

    The output of the pump on line comes from the well file, its slow rate from the log, where
    they were not typed; no other pump's reading takes their place. In a well with a survey the
    schedule follows it; where that cannot be done there is no schedule, and never a straight
    line.

    Raises
    ------
    InputError
        As `engine.well.kill_card.kill_card`.
    """
    more, notes = _of_pump(entry, config, log)
    inputs = (*entry.inputs, *more)
    value = {i.name: i.value for i in inputs}
    known = None
    if config.survey:
        slow = {"slow_pressure", "slow_rate"}
        none = Unknown("no slow rate for the pump on line")
        known = inputs_of(dict.fromkeys(slow, 0.0) | value)
        if not slow <= value.keys():
            known = replace(known, slow_pressure=none, slow_rate=none)
        stations, said = _stations(config, value)
        known = replace(known, stations=stations)
        notes = [*notes, *said]
    card = kill_card(entry.kind.cs, inputs, entry.who, entry.at, known)
    return replace(card, notes=(*notes, *card.notes))


def _of_pump(
    entry: KillEntry, config: WellConfig, log: SlowRates
) -> tuple[list[CardInput], list[str]]:
    """Return what the pump on line adds, and what is to be said of it."""
    if not entry.pump:
        return [], ["No pump on line is named: its slow rate is not watched."]
    given = {i.name: i.value for i in entry.inputs}
    more: list[CardInput] = []
    notes = [f"Pump {entry.pump} on line."]
    output = stroke_volume(next(p for p in config.pumps if p.name == entry.pump))
    if "stroke_volume" not in given:
        who, text = f"file of {config.well}", _TEXTS["stroke_volume"]
        more = [CardInput("stroke_volume", text, output, "volume", who, entry.at, "well file")]
    elif abs(given["stroke_volume"] - output) > _SAME * output:
        file = shown(output, "volume", config.display_units())
        notes.append(f"Its output as typed is not that of the well file, {file}.")
    if "slow_pressure" in given:
        return more, notes
    slow = picked(log, [entry.pump], given.get("slow_rate"))
    if isinstance(slow, Unknown):
        return more, [*notes, f"Slow rate: {slow.reason}."]
    wanted = [("slow_pressure", "pressure", slow.pressure)]
    if "slow_rate" not in given:
        wanted.append(("slow_rate", "stroke_rate", slow.rate))
    more += [
        CardInput(name, _TEXTS[name], value, quantity, slow.who, slow.at, "slow-rate log")
        for name, quantity, value in wanted
    ]
    return more, notes


def _stations(config: WellConfig, value: dict[str, float]) -> tuple[tuple[Station, ...], list[str]]:
    """Return the stations from the floor to the bit; one alone, of no use, if they are unknown."""
    bit = value["bit_depth"]
    depths = [0.0, *(point.md for point in config.survey if point.md < bit), bit]
    true = true_depth(config.survey)(np.array(depths))
    points = [(md, float(tvd)) for md, tvd in zip(depths, true, strict=True)]
    found = stations_of(points, _bores(config, bit), value["stroke_volume"])
    if isinstance(found, Unknown):
        return (Station(0.0, 0.0, 0.0),), [f"Deviated well, no schedule: {found.reason}."]
    notes = ["Deviated well: the schedule follows the survey of the well file."]
    if abs(points[-1][1] - value["tvd"]) > SAME_DEPTH:
        length = shown(points[-1][1], "length", config.display_units())
        notes.append(f"True depth as typed is not that of the bit by the survey, {length}.")
    return found, notes


def _bores(config: WellConfig, bit: float) -> Sequence[tuple[float, float]]:
    """Return length [m] and capacity [m3/m] of each part of the string, from the floor down."""
    left, parts = bit, []
    for part in config.string:
        length = left if part.length is None else min(part.length, left)
        if length > 0:
            parts.append((length, circle(part.inner)))
        left -= length
    return parts[::-1]
