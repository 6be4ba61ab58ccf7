"""Posted cards: numbers with the inputs they stand on, who gave them, and when they are stale.

A card never changes. When an input has moved on, the card is stale and says which one; a new card
is worked out by a person, not by the screen (R-67; 30 CFR 250.456(c) and (f): fill volumes and the
highest surface pressures are posted at the driller's station).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite

from engine.errors import InputError
from engine.well.answer import Answer
from engine.well.calculation import Calculation

CAUTION = (
    "A cross-check only. The approved kill sheet, local rules and the certified person rule; "
    "if this differs from them, take this for wrong until proved otherwise."
)

_SAME = 1e-6  # relative; a number that went through a unit and back is the same
NEVER_LIVE = "standpipe_pressure"
"""Channel that may never fill in a well-control number."""


@dataclass(frozen=True, slots=True)
class CardInput:
    """One number a card stands on, and where it comes from."""

    name: str
    """As in the calculation: ``mud_weight``."""
    text: str
    """For a person: ``mud in the hole``."""
    value: float
    """[SI]"""
    quantity: str
    who: str
    """Who entered it, or took it over from a channel."""
    at: float
    """When. [s] UTC"""
    origin: str = "person"
    """``person``, ``well file``, or ``channel `` and the id of the channel."""
    tolerance: float = 0.0
    """A later value within this is the same. [SI]"""
    previous: float | None = None
    """What it was before; None: never entered. [SI]"""

    @property
    def channel(self) -> str:
        """Id of the channel it was taken from, or empty."""
        return self.origin.removeprefix("channel ") if self.origin.startswith("channel ") else ""

    def now(self, value: float, who: str, at: float, origin: str = "person") -> CardInput:
        """Return the input entered anew; the old value is kept as the previous one."""
        return replace(self, value=value, who=who, at=at, origin=origin, previous=self.value)


@dataclass(frozen=True, slots=True)
class CardOutput:
    """One number a card gives."""

    text: str
    value: Answer
    """[SI]"""
    quantity: str
    unit: str = ""
    """Unit id it must be read in, as on the paper sheet; empty: the unit of the well."""
    decimals: int | None = None
    """None: as usual for the unit. [-]"""


@dataclass(frozen=True, slots=True)
class Card:
    """Numbers as they were worked out, at one time, from these inputs."""

    title: str
    constants: str
    """Constant set: ``exact``, ``field sheet``, ``metric sheet``."""
    inputs: tuple[CardInput, ...]
    outputs: tuple[CardOutput, ...]
    notes: tuple[str, ...]
    source: str
    made_by: str
    made_at: float
    """[s] UTC"""
    stale: tuple[str, ...] = ()
    """What was out of date already when it was made, in words."""
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class Changed:
    """An input that is no longer what the card stands on."""

    input: CardInput
    now: float | None
    """None: it is not known now. [SI]"""
    origin: str = ""
    """Where the present value is from, in words; empty: not said."""


def changed(card: Card, present: Mapping[str, float | None]) -> tuple[Changed, ...]:
    """Return the inputs that have moved on: with any, the card is STALE.

    Parameters
    ----------
    card : Card
    present : mapping
        Input name to its value now; None or NaN: not known now. An input that is not in it
        is not watched (nothing newer has been entered). [SI]

    Raises
    ------
    InputError
        If `present` names something the card does not stand on.
    """
    known = {i.name for i in card.inputs}
    if wrong := sorted(set(present) - known):
        raise InputError(f"card {card.title!r} has no input {wrong[0]!r}; it has {sorted(known)}")
    found = []
    for i in card.inputs:
        if i.name not in present:
            continue
        now = present[i.name]
        if now is None or not isfinite(now):
            found.append(Changed(i, None))
        elif abs(now - i.value) > i.tolerance + _SAME * abs(i.value):
            found.append(Changed(i, now))
    return tuple(found)


def checked(title: str, inputs: Sequence[CardInput]) -> tuple[CardInput, ...]:
    """Return `inputs` if a card may stand on them.

    Raises
    ------
    InputError
        One message with all that is wrong: a number that is none, no name of a person, an
        input twice, or a well-control number filled in from the live standpipe pressure.
    """
    problems = []
    seen: set[str] = set()
    for i in inputs:
        if i.name in seen:
            problems.append(f"{i.name} is given twice")
        seen.add(i.name)
        if not isfinite(i.value):
            problems.append(f"{i.name} is {i.value:g}; a card needs a number")
        if not i.who.strip():
            problems.append(f"{i.name}: nobody is named; write who entered it")
        if i.channel == NEVER_LIVE:
            problems.append(f"{i.name} comes from {NEVER_LIVE}; a person must read and enter it")
    if problems:
        raise InputError(f"card {title!r}: " + "; ".join(problems))
    return tuple(inputs)


def post(
    title: str,
    calculation: Calculation,
    inputs: Sequence[CardInput],
    made_by: str,
    made_at: float,
    constants: str = "exact",
) -> Card:
    """Run a calculation on named inputs and make a card of it.

    Parameters
    ----------
    title : str
    calculation : Calculation
        Its `run` checks names and values.
    inputs : sequence of CardInput
        Names and quantities as the calculation has them.
    made_by : str
        Person who asked for it.
    made_at : float
        [s] UTC
    constants : str
        Constant set of the calculation.

    Raises
    ------
    InputError
        As `checked`; or an input is missing, unknown, impossible, or of another quantity.
    """
    own = checked(title, inputs)
    kinds = {i.name: i.quantity for i in calculation.inputs}
    for i in own:
        if kinds.get(i.name, i.quantity) != i.quantity:
            raise InputError(f"card {title!r}: {i.name} is a {kinds[i.name]}, not a {i.quantity}")
    found = calculation.run({i.name: i.value for i in own})
    outputs = tuple(CardOutput(o.text, found[o.name], o.quantity) for o in calculation.outputs)
    return Card(title, constants, own, outputs, (), calculation.source, made_by, made_at)
