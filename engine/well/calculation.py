"""One calculation as data: what it needs, what it gives, where its formula is from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite

from engine.errors import InputError
from engine.units import units_of
from engine.well.answer import Answer
from engine.well.checks import LEAST, LIGHTEST, MOST


@dataclass(frozen=True, slots=True)
class Input:
    """One number a calculation needs."""

    name: str
    """As typed: ``mud_weight``."""
    quantity: str
    """Quantity of `engine.units`; ``count`` or ``ratio`` for pure numbers."""
    text: str
    default: float | None = None
    """SI; None: it must be given."""
    low: float = float("-inf")
    """Smallest possible value. [SI]"""
    high: float = float("inf")

    def possible(self, value: float) -> bool:
        """Return whether an SI `value` can be: within the limits, and a number of this world."""
        sane = value == 0.0 or LEAST <= abs(value) <= MOST
        return isfinite(value) and self.low <= value <= self.high and sane


def mud_input(name: str, text: str) -> Input:
    """Return the input of a mud weight: nothing lighter than air is one."""
    return Input(name, "density", text, low=LIGHTEST)


@dataclass(frozen=True, slots=True)
class Output:
    """One number a calculation gives."""

    name: str
    quantity: str
    text: str


@dataclass(frozen=True, slots=True)
class Calculation:
    """A named calculation; `work` takes SI by input name and returns SI by output name."""

    name: str
    """As typed: ``kill-mud-weight``."""
    text: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    source: str
    """Published source of the formula, in a few words."""
    work: Callable[[Mapping[str, float]], Mapping[str, Answer]]
    caution: bool = False
    """A well-control number: the caution is printed with it."""

    def run(self, given: Mapping[str, float]) -> Mapping[str, Answer]:
        """Work it out.

        Parameters
        ----------
        given : mapping
            Input name to number. [SI]

        Returns
        -------
        mapping
            Output name to a number [SI] or `Unknown`.

        Raises
        ------
        InputError
            One message with every unknown name, missing input and impossible value.
        """
        known = {i.name: i for i in self.inputs}
        problems = [f"no input {n!r}; it takes {', '.join(known)}" for n in given if n not in known]
        values: dict[str, float] = {}
        for i in self.inputs:
            value = given.get(i.name, i.default)
            if value is None:
                units = " ".join(u.id for u in units_of(i.quantity))
                problems.append(f"{i.name} is missing ({i.text}; units: {units})")
            elif not i.possible(value):
                problems.append(f"{i.name}: {value:g} (SI) is impossible; {i.low:g} to {i.high:g}")
            else:
                values[i.name] = value
        if problems:
            raise InputError(f"{self.name}: " + "; ".join(problems))
        return self.work(values)
