"""What must be written down before a test or drill may start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, nan

from engine.errors import InputError
from engine.units import units_of


@dataclass(frozen=True, slots=True)
class Criterion:
    """One number that the verdict is given by."""

    name: str
    quantity: str
    """Of `engine.units`."""
    what: str
    """In words."""
    default: float = nan
    """NaN: a person must give it. [SI]"""
    least: float = 0.0
    """[SI]"""
    most: float = inf
    """[SI]"""

    @property
    def unit(self) -> str:
        """Id of the SI unit."""
        return units_of(self.quantity)[0].id


def complete(
    trial: str, listed: Sequence[Criterion], given: Mapping[str, float]
) -> dict[str, float]:
    """Return every criterion of a trial with its number. [SI]

    Raises
    ------
    InputError
        If one is unknown, missing, or outside of what the rule allows.
    """
    names = [one.name for one in listed]
    if unknown := [name for name in given if name not in names]:
        raise InputError(f"{trial}: no criterion {unknown[0]!r}; it takes {', '.join(names)}")
    out = {}
    for one in listed:
        value = float(given.get(one.name, one.default))
        if one.name not in given and not isfinite(value):
            raise InputError(f"{trial}: {one.name} is missing: {one.what}")
        if not isfinite(value) or not one.least <= value <= one.most:
            top = f" to {one.most:g}" if isfinite(one.most) else " or more"
            raise InputError(
                f"{trial}: {one.name} {value:g}: {one.what}; give {one.least:g}{top} {one.unit}"
            )
        out[one.name] = value
    return out
