"""What every model of the well file is built on: numbers, units in keys, unknown keys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Any, get_args

from pydantic import BaseModel, ConfigDict, Field, model_validator

from engine.units import Unit, units_of

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]  # `true` is no number
Positive = Annotated[Number, Field(gt=0)]
NotNegative = Annotated[Number, Field(ge=0)]
Share = Annotated[Number, Field(gt=0, le=1)]
Count = Annotated[int, Field(strict=True)]
Flag = Annotated[bool, Field(strict=True)]
Text = Annotated[str, Field(min_length=1)]


class Of:
    """Marks a field as a physical quantity: its key ends in any unit of that quantity.

    A field ``liner: Annotated[Positive, Of("length")]`` is written ``liner_mm = 152.4`` or
    ``liner_in = 6.0``; inside it is SI.
    """

    def __init__(self, quantity: str) -> None:
        self.quantity = quantity


Length = Annotated[Positive, Of("length")]
Height = Annotated[Number, Of("length")]
Weight = Annotated[NotNegative, Of("force")]


@dataclass(frozen=True, slots=True)
class Wrong:
    """Stands in for a value that cannot be used; no field takes it, so it is always reported.

    Raising at once would hide the other problems of the same table.
    """

    text: str
    key: str
    """The key as a person wrote it, or would have to write it."""


class TableError(ValueError):
    """Several problems of one table, each with the key it belongs to."""

    def __init__(self, problems: Sequence[tuple[str, str]]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{key}: {text}" for key, text in problems))


class Model(BaseModel):
    """Base of all config: an unknown key is an error; a loaded config never changes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _keys(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        out = dict(raw)
        known = set(cls.model_fields)
        for name, info in cls.model_fields.items():
            for of in quantities(info.metadata, info.annotation):
                known |= {f"{name}_{u.id}" for u in units_of(of.quantity)}
        for name, info in cls.model_fields.items():
            for of in quantities(info.metadata, info.annotation):
                _take_unit(out, name, of.quantity, known, required=info.is_required())
        for key in [k for k in out if k not in cls.model_fields]:
            out[key] = Wrong(_unknown(str(key), known, cls), str(key))
        return out


def quantities(metadata: Sequence[object], annotation: object) -> Iterator[Of]:
    """Find `Of` marks on a field, or on the arms of ``X | None``."""
    yield from (m for m in metadata if isinstance(m, Of))
    for arm in get_args(annotation):
        yield from (m for m in getattr(arm, "__metadata__", ()) if isinstance(m, Of))


def keys_of(name: str, quantity: str) -> str:
    """All ways to write `name`, for a message: ``liner_m, liner_mm, ...``."""
    return ", ".join(f"{name}_{u.id}" for u in units_of(quantity))


def in_si(number: Any, unit: Unit, key: str, *, difference: bool = False) -> Any:
    """Convert a number of the file to SI; what is no number is left for its field to refuse.

    Of a list every number is converted.
    """
    if isinstance(number, list):
        return [in_si(one, unit, key, difference=difference) for one in number]
    if not isinstance(number, int | float) or isinstance(number, bool):
        return number
    try:
        # A difference has no zero point: a temperature's offset must not enter it.
        return float(number) * unit.factor + (0.0 if difference else unit.offset)
    except OverflowError:
        return Wrong("too large a number", key)


def _take_unit(
    out: dict[str, Any], name: str, quantity: str, known: set[str], *, required: bool
) -> None:
    """Replace ``name_<unit>`` by ``name`` in SI; put a `Wrong` for all that does not fit."""
    keys = {f"{name}_{u.id}" for u in units_of(quantity)}
    written = [k for k in out if k in keys]  # in the order of the file
    guesses = [k for k in out if str(k).startswith(f"{name}_") and k not in known]
    good = keys_of(name, quantity)
    if name in out:
        out[name] = Wrong(f"a {quantity} needs its unit in the key: {good}", name)
    elif len(written) > 1:
        out[name] = Wrong(f"given twice, as {' and '.join(written)}; keep one", written[1])
    elif written:
        key = written[0]
        unit = next(u for u in units_of(quantity) if key == f"{name}_{u.id}")
        out[name] = in_si(out[key], unit, key)
    elif guesses:
        key = guesses.pop(0)
        suffix = key.removeprefix(f"{name}_")
        out[name] = Wrong(f"{suffix!r} is no unit of {quantity}; write one of {good}", key)
        del out[key]
    elif required:
        out[name] = Wrong(f"missing; write one of {good}", name)
    for key in written:
        del out[key]


def _unknown(key: str, known: set[str], model: type[Model]) -> str:
    near = get_close_matches(key, sorted(known), n=1)
    if near:
        return f"unknown key; did you mean {near[0]!r}?"
    names = [
        f"{name}_<unit>" if any(quantities(info.metadata, info.annotation)) else name
        for name, info in model.model_fields.items()
    ]
    return f"unknown key; here may stand: {', '.join(names)}"
