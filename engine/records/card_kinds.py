"""What a person may enter: each kind of card, and how far its numbers can be true."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite

from engine.channels import CHANNELS
from engine.commands import EnterCard
from engine.config import WellConfig
from engine.errors import InputError
from engine.units import units_of
from engine.well.calculation import Input
from engine.well.cards import NEVER_LIVE
from engine.well.kill_calculations import SHEET_INPUTS
from engine.well.posted import BY_NAME, STEEL_LIMITS, TAILS
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet

DEEPEST = 15e3
"""No hole is deeper. [m]"""
STRONGEST = 2.1e8
"""No blowout preventer or casing is stronger: 30,000 psi. [Pa] common practice, no source"""
_MOST = {
    "density": CHANNELS["density_in"].high,
    "pressure": CHANNELS["annulus_pressure"].high,
    "length": DEEPEST,
    "stroke_rate": CHANNELS["pump_1_rate"].high,
    "flow": CHANNELS["flow_in_measured"].high,
}
"""Quantity to the most that a sensor of it can show. [SI]"""
_MAY_BE_ZERO = {"sidpp", "sicp", "gain", "test_pressure", "collar_length", "collar_annulus",
                "open_hole_volume"}  # fmt: skip
_TINY = 1e-12


@dataclass(frozen=True, slots=True)
class CardKind:
    """One kind of card."""

    name: str
    """As typed: ``kill-sheet-field``."""
    subject: str
    """``kill-sheet``, ``maasp``, ``fill-card``, ``slow-rate`` or ``standpipe``."""
    cs: ConstantSet
    inputs: tuple[Input, ...]
    optional: tuple[str, ...] = ()
    """Inputs that may be left out though they have no usual value."""
    texts: tuple[str, ...] = ()
    """Words it takes besides numbers: ``pump``, ``casing``, ``string``."""


BIT_DEPTH = Input("bit_depth", "length", "bit, measured depth", low=0.0)
PRESSURE = Input("pressure", "pressure", "standpipe pressure read on the gauge", low=0.0)
_STEEL = tuple(
    Input(name, "pressure", text, low=0.0)
    for name, text in (("bop_rating", "rating of the BOP"), ("casing_burst", "burst of the casing"))
)


def _in_sets() -> dict[str, CardKind]:
    found: dict[str, CardKind] = {}
    for cs in (EXACT, FIELD, METRIC):
        tail = TAILS[cs.name]
        sheet = CardKind(
            "kill-sheet" + tail, "kill-sheet", cs, (*SHEET_INPUTS, BIT_DEPTH),
            ("slow_pressure", "slow_rate", "stroke_volume"), ("pump",),
        )  # fmt: skip
        maasp = BY_NAME["maasp" + tail]
        limit = CardKind(
            maasp.name, "maasp", cs, (*maasp.inputs, *_STEEL), tuple(STEEL_LIMITS), ("casing",)
        )
        found |= {sheet.name: sheet, limit.name: limit}
    return found


KINDS: dict[str, CardKind] = {
    **_in_sets(),
    "fill-card": CardKind(
        "fill-card", "fill-card", EXACT, (Input("mud_weight", "density", "mud in the hole"),)
    ),
}
"""Cards of `EnterCard` by name."""
SLOW_RATE = CardKind(
    "slow-rate", "slow-rate", EXACT,
    (
        Input("rate", "stroke_rate", "slow rate of the pump", low=0.0),
        Input("pressure", "pressure", "on the gauge used to kill the well", low=0.0),
        Input("density", "density", "mud in the hole", low=0.0),
        BIT_DEPTH,
    ),
    texts=("pump", "string"),
)  # fmt: skip
STANDPIPE = CardKind(
    "standpipe", "standpipe", EXACT,
    (PRESSURE, Input("flow", "flow", "flow it was read at", low=0.0), BIT_DEPTH),
)  # fmt: skip
ENTRIES: dict[str, CardKind] = {**KINDS, "slow-rate": SLOW_RATE, "standpipe": STANDPIPE}
"""All that may be entered, by name."""


def kind_of(name: str) -> CardKind:
    """Return what is called `name`; `InputError` names the nearest ones if there is none."""
    found = ENTRIES.get(name)
    if found is None:
        near = get_close_matches(name, ENTRIES, 3, 0.5)
        hint = f"did you mean {' or '.join(near)}?" if near else f"there are {', '.join(ENTRIES)}"
        raise InputError(f"no card {name!r}; {hint}")
    return found


def impossible(i: Input, value: float) -> str:
    """Return why an SI `value` cannot be that of input `i`, in words; empty if it can."""
    unit = units_of(i.quantity)[0].symbol
    most = STRONGEST if i.name in STEEL_LIMITS else _MOST.get(i.quantity, i.high)
    if not isfinite(value):
        return f"{i.name} is {value:g}; a card needs a number"
    if value < 0 or (value < _TINY and i.name not in _MAY_BE_ZERO):
        least = "0 or more" if i.name in _MAY_BE_ZERO else "above 0"
        return f"{i.name} is {value:g} {unit}; it must be {least} ({i.text})"
    if value > most or not i.possible(value):
        limit = f"at most {most:g} {unit}" if isfinite(most) else "a number that can be"
        return f"{i.name} is {value:g} {unit}; it must be {limit} ({i.text})"
    return ""


def checked_command(command: EnterCard, config: WellConfig) -> CardKind:
    """Return the kind of card of a command that can be worked out.

    Raises
    ------
    InputError
        One message with everything that is wrong: an unknown card, input, pump, casing or
        channel, a missing input, an impossible number, a pressure taken from a channel.
    """
    kind = KINDS.get(command.card)
    if kind is None:
        raise InputError(f"no card {command.card!r}; there are {', '.join(KINDS)}")
    known = {i.name: i for i in kind.inputs}
    given = command.inputs
    problems = [f"no input {n!r}; it takes {', '.join(known)}" for n in given if n not in known]
    problems += [why for n, v in given.items() if n in known if (why := impossible(known[n], v))]
    optional = set(kind.optional)
    if kind.subject == "kill-sheet" and not command.pump:
        optional.discard("stroke_volume")
    problems += [
        f"{i.name} is missing ({i.text})"
        for i in kind.inputs
        if i.name not in given and i.default is None and i.name not in optional
    ]
    if "slow_pressure" in given and "slow_rate" not in given:
        problems.append("slow_pressure without its slow_rate")
    if given.get("shoe_tvd", 0.0) > given.get("tvd", DEEPEST):
        problems.append("the shoe is deeper than the hole: shoe_tvd is above tvd")
    problems += _words(command, kind, config)
    problems += [why for n, o in command.origins.items() if (why := _origin(n, o, known, given))]
    if problems:
        raise InputError(f"{command.card}: " + "; ".join(problems))
    return kind


def casings(config: WellConfig) -> tuple[str, ...]:
    """Return the names of the casing strings of the well file: all of the hole but the last."""
    return tuple(section.name for section in config.hole[:-1])


def _words(command: EnterCard, kind: CardKind, config: WellConfig) -> list[str]:
    problems = []
    pumps = [pump.name for pump in config.pumps]
    if command.pump and "pump" not in kind.texts:
        problems.append("it takes no pump")
    elif command.pump and command.pump not in pumps:
        problems.append(f"no pump {command.pump!r} in the well file; there are {', '.join(pumps)}")
    known = casings(config)
    if "casing" not in kind.texts:
        if command.casing:
            problems.append("it takes no casing")
    elif not command.casing.strip():
        problems.append(f"casing is missing: {' or '.join(known) or 'name the string'}")
    elif known and command.casing not in known:
        there = f"there is {', '.join(known)}"
        problems.append(f"no casing {command.casing!r} in the well file; {there}")
    return problems


def _origin(name: str, origin: str, known: dict[str, Input], given: object) -> str:
    """Return why an input cannot come from there, in words; empty if it can."""
    channel = origin.removeprefix("channel ")
    if name not in known or not isinstance(given, dict) or name not in given:
        return f"an origin is given for {name!r}, but no number"
    if channel == NEVER_LIVE or (channel in CHANNELS and known[name].quantity == "pressure"):
        return f"{name} comes from {channel}; a pressure is read on the gauge and typed by a person"
    if origin == channel or channel not in CHANNELS:
        return f"{name}: origin {origin!r} is no channel; write: channel density_in"
    if CHANNELS[channel].quantity != known[name].quantity:
        there = CHANNELS[channel].quantity
        return f"{name} is a {known[name].quantity}, but {channel} measures {there}"
    return ""
