"""``kellydown calc``: one calculation by name, with units in, units out, and where it is from."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from math import inf, isfinite

from engine.errors import InputError
from engine.units import DISPLAY, UNITS, Unit, units_of
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input
from engine.well.cards import CAUTION
from engine.well.catalogue import CATALOGUE, calculation

_BARE = {"count", "ratio", "none"}  # quantities that are mere numbers
_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)")
SHOWN: dict[str, dict[str, str]] = {
    "metric": {
        **DISPLAY["metric"],
        "area": "mm2", "capacity": "l_m", "gradient": "kPa_m", "viscosity": "cP", "power": "kW",
        "power_flux": "W_mm2", "work": "tkm", "acceleration": "m_s2", "angle": "deg",
        "speed": "m_s", "ratio": "fraction", "time": "min",
    },
    "oilfield": {
        **DISPLAY["oilfield"],
        "area": "in2", "capacity": "bbl_ft", "gradient": "psi_ft", "viscosity": "cP",
        "power": "hp", "power_flux": "hp_in2", "work": "ton_mile", "acceleration": "m_s2",
        "angle": "deg", "speed": "ft_min", "ratio": "fraction", "time": "min",
    },
}  # fmt: skip
"""Units of results: as on the screen; speeds are of mud and block, shares are fractions."""
SMALL = {"m": (1.0, "mm"), "ft": (0.3048, "in"), "min": (300.0, "s")}
"""Unit, below which SI value another is read more easily, and that other."""
LARGE = {"ft_min": (10.0, "ft_s")}
"""Unit, above which SI value another is read more easily (a jet's speed), and that other."""


@dataclass(frozen=True, slots=True)
class Given:
    """One input as typed, or as left out."""

    si: float
    number: float
    unit: Unit
    typed: bool = True


def run(args: argparse.Namespace) -> int:
    """List calculations, or work one out; 1 if part of the result is unknown."""
    names = [word for word in args.words if "=" not in word]
    words = [word for word in args.words if "=" in word]
    if len(names) > 1:
        raise InputError(f"calc: one name, then name=number; got {', '.join(names)}")
    if args.list:
        return _list([calculation(names[0])] if names else list(CATALOGUE.values()), args)
    if not names:
        raise InputError("calc: which calculation? kellydown calc --list has all")
    wanted = calculation(names[0])
    given = parse(wanted, words, SHOWN[args.units])
    results = wanted.run({name: one.si for name, one in given.items()})
    show = _print_json if args.json else _print
    show(wanted, given, results, SHOWN[args.units])
    return 1 if any(isinstance(results[o.name], Unknown) for o in wanted.outputs) else 0


def parse(wanted: Calculation, words: Sequence[str], units: Mapping[str, str]) -> dict[str, Given]:
    """Read ``name=number unit`` for every input of a calculation.

    Raises
    ------
    InputError
        One message with every word that cannot be read, every input that is missing, and every
        number that is impossible.
    """
    known = {i.name: i for i in wanted.inputs}
    found: dict[str, Given] = {}
    problems: list[str] = []
    seen: set[str] = set()
    for word in words:
        name, _, text = word.partition("=")
        if name in seen:
            problems.append(f"{name} is given twice")
        elif name not in known:
            near = get_close_matches(name, known, 1)
            hint = f"; did you mean {near[0]}?" if near else f"; it takes {', '.join(known)}"
            problems.append(f"no input {name!r}{hint}")
        else:
            one = read_input(known[name], text)
            if isinstance(one, str):
                problems.append(one)
            else:
                found[name] = one
        seen.add(name)
    for i in wanted.inputs:
        if i.name in seen:
            continue
        if i.default is None:
            problems.append(f"{i.name} is missing: {i.text}, in {_choice(i.quantity)}")
        else:
            unit = unit_for(i.quantity, i.default, units)
            found[i.name] = Given(i.default, unit.from_si(i.default), unit, typed=False)
    if problems:
        raise InputError(
            "\n  ".join([f"calc {wanted.name}: {len(problems)} problem(s)", *problems])
        )
    return {i.name: found[i.name] for i in wanted.inputs}


def read_input(i: Input, text: str) -> Given | str:
    """Return the number of one input, or what is wrong with it."""
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return f"{i.name}={text}: write a number and its unit, {_choice(i.quantity)}"
    number, unit_text = float(match[1]), match[2]
    unit = find_unit(unit_text, i.quantity)
    if unit is None:
        if not unit_text:
            return f"{i.name}={text}: say the unit, {_choice(i.quantity)}"
        other = next((u for u in UNITS.values() if unit_text in (u.id, u.symbol)), None)
        wrong = f"is a unit of {_words(other.quantity)}" if other else "is no unit"
        return f"{i.name}={text}: {unit_text!r} {wrong}; use {_choice(i.quantity)}"
    si = unit.to_si(number)
    if not i.possible(si):
        limits = [f"at least {plain(unit.from_si(i.low))}"] if isfinite(i.low) else []
        limits += [f"at most {plain(unit.from_si(i.high))}"] if isfinite(i.high) else []
        must = " and ".join(limits) or "a number that can be"
        return f"{i.name}={text}: must be {must} {unit.symbol and unit.id}".rstrip()
    return Given(si, number, unit)


def find_unit(text: str, quantity: str) -> Unit | None:
    """Return the unit of `quantity` that was typed: ``kg_m3``, ``kg/m3``, ``kg/m³`` or ``KG/M3``.

    A pure number needs none. Mixed case must be right: mPa is not MPa.
    """
    units = units_of(quantity)
    if not text:
        return next((u for u in units if quantity in _BARE and not u.symbol), None)
    exact = text.replace("/", "_")
    for unit in units:
        if text == unit.symbol or exact == unit.id:
            return unit
    if text in (text.lower(), text.upper()):
        return next((u for u in units if u.id.lower() == exact.lower()), None)
    return None


def unit_for(quantity: str, value: float, units: Mapping[str, str]) -> Unit:
    """Return the unit to show an SI `value` in: a short length in mm or in, a short time in s."""
    unit_id = units[quantity]
    low, smaller = SMALL.get(unit_id, (0.0, unit_id))
    high, larger = LARGE.get(unit_id, (inf, unit_id))
    size = abs(value)
    return UNITS[smaller if 0.0 < size < low else larger if size > high else unit_id]


def plain(number: float) -> str:
    """Return six figures, without an exponent where people would not write one."""
    text = f"{number + 0.0:.6g}"
    return f"{number:.0f}" if "e+" in text and abs(number) < 1e15 else text


def _words(quantity: str) -> str:
    return quantity.replace("_", " ")


def _choice(quantity: str) -> str:
    """Return the units of a quantity as a person would list them."""
    ids = [u.id for u in units_of(quantity)]
    if quantity in _BARE:
        return " or ".join(["a bare number", *(i for i in ids if UNITS[i].symbol)])
    return " or ".join([", ".join(ids[:-1]), ids[-1]]) if len(ids) > 1 else ids[0]


def _shown(number: float, unit: Unit) -> str:
    return f"{plain(number)} {unit.id}" if unit.symbol else plain(number)


def _print(
    wanted: Calculation,
    given: Mapping[str, Given],
    results: Mapping[str, Answer],
    units: Mapping[str, str],
) -> None:
    print(f"{wanted.name}: {wanted.text}")
    rows: list[tuple[str, str, str]] = []
    for i in wanted.inputs:
        one = given[i.name]
        note = "" if one.typed else "  (not given)"
        rows.append((f"  {i.name}", _shown(one.number, one.unit), i.text + note))
    for o in wanted.outputs:
        found = results[o.name]
        if isinstance(found, Unknown):
            rows.append((f"= {o.name}", "--", f"{o.text}: unknown, {found.reason}"))
        else:
            unit = unit_for(o.quantity, found, units)
            rows.append((f"= {o.name}", _shown(unit.from_si(found), unit), o.text))
    first, second = (max(len(row[k]) for row in rows) for k in (0, 1))
    for name, number, text in rows:
        print(f"{name:<{first}}  {number:>{second}}  {text}".rstrip())
    print(f"source: {wanted.source}")
    if wanted.caution:
        print(CAUTION)


def _print_json(
    wanted: Calculation,
    given: Mapping[str, Given],
    results: Mapping[str, Answer],
    units: Mapping[str, str],
) -> None:
    outputs: dict[str, dict[str, object]] = {}
    for o in wanted.outputs:
        found = results[o.name]
        if isinstance(found, Unknown):
            outputs[o.name] = {"value": None, "unknown": found.reason}
        else:
            unit = unit_for(o.quantity, found, units)
            outputs[o.name] = {"value": unit.from_si(found), "unit": unit.id, "si": found}
    whole: dict[str, object] = {
        "calculation": wanted.name,
        "inputs": {
            name: {"value": g.number, "unit": g.unit.id, "si": g.si, "given": g.typed}
            for name, g in given.items()
        },
        "outputs": outputs,
        "source": wanted.source,
    }
    if wanted.caution:
        whole["caution"] = CAUTION
    print(json.dumps(whole, indent=2))


def _list(wanted: Sequence[Calculation], args: argparse.Namespace) -> int:
    units = SHOWN[args.units]
    if args.json:
        print(json.dumps([_described(c) for c in wanted], indent=2))
    elif len(wanted) > 1:
        width = max(len(c.name) for c in wanted)
        for c in wanted:
            print(f"{c.name:<{width}}  {c.text}")
    else:
        (c,) = wanted
        print(f"{c.name}: {c.text}")
        names = [*(i.name for i in c.inputs), *(o.name for o in c.outputs)]
        width = max(len(name) for name in names)
        for i in c.inputs:
            usual = ""
            if i.default is not None:
                unit = unit_for(i.quantity, i.default, units)
                usual = f"; {_shown(unit.from_si(i.default), unit)} if not given"
            print(f"  {i.name:<{width}}  {i.text}, in {_choice(i.quantity)}{usual}")
        for o in c.outputs:
            print(f"= {o.name:<{width}}  {o.text}")
        print(f"source: {c.source}")
        if c.caution:
            print(CAUTION)
    return 0


def _described(c: Calculation) -> dict[str, object]:
    return {
        "calculation": c.name,
        "text": c.text,
        "inputs": [
            {
                "name": i.name,
                "text": i.text,
                "units": [u.id for u in units_of(i.quantity)],
                "default_si": i.default,
            }
            for i in c.inputs
        ],
        "outputs": [{"name": o.name, "text": o.text} for o in c.outputs],
        "source": c.source,
        "caution": c.caution,
    }
