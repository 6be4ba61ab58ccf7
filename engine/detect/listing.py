"""Every detector of a well: what it can call, its rule, its settings and the reason for each."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from functools import lru_cache
from itertools import pairwise
from textwrap import dedent, wrap
from typing import Any

from engine.config import WellConfig
from engine.config_base import Model, quantities
from engine.detect.call import Detector
from engine.detect.detectors import detectors
from engine.interfaces import JournalLine
from engine.records.happened import events_between
from engine.records.sight import blind_between, blind_lines
from engine.units import unit

WIDTH = 80


def detector_list(config: WellConfig) -> list[dict[str, Any]]:
    """Return what is known of each detector from the well file alone.

    Returns
    -------
    list of dict
        ``kinds``, ``rule``, ``settings``: table of the well file, ``name``, ``value`` and
        ``default`` [SI; a list of lists of such numbers where there are several], ``quantity``
        (None: a plain number, or seconds by its name) and ``reason`` (None: none is given).
    """
    tables = {id(getattr(config.detect, name)): name for name in type(config.detect).model_fields}
    return [
        {
            "kinds": list(one.kinds),
            "rule": " ".join(one.rule.split()),
            "settings": [s for table, m in _models(one, tables) for s in _settings(table, m)],
        }
        for one in detectors(config)
    ]


def with_journal(
    found: Sequence[Mapping[str, Any]], lines: Sequence[JournalLine], start: float, end: float
) -> list[dict[str, Any]]:
    """Return `found` with what the journal says of each from `start` to `end` [s].

    Returns
    -------
    list of dict
        Adds ``blind`` (as `engine.records.sight.blind_between`), ``blind_now`` (kind to reason) and
        ``calls`` (kind to how many began, and the gravest).
    """
    blind = blind_between(lines, start, end)
    events = events_between(lines, start, end)
    out = []
    for one in found:
        mine = [b for b in blind if b["kind"] in one["kinds"]]
        last = {b["kind"]: b["spells"][-1] for b in mine}
        calls: dict[str, dict[str, Any]] = {}
        for event in events:
            if event["kind"] in one["kinds"]:
                told = calls.setdefault(event["kind"], {"count": 0, "severities": []})
                told["count"] += 1
                told["severities"].append(event["severity"])
        now = {kind: spell["reason"] for kind, spell in last.items() if spell["end"] is None}
        out.append({**one, "blind": mine, "blind_now": now, "calls": calls})
    return out


def list_text(found: Sequence[Mapping[str, Any]], config: WellConfig) -> str:
    """Return the list as a page of 80 columns, settings in the units of the well."""
    units, page = config.display_units(), [f"DETECTORS   {config.well}   rig {config.rig.name}"]
    for one in found:
        page += ["", ", ".join(kind.replace("_", " ") for kind in one["kinds"]).upper()]
        page += _laid(one["rule"], "  ", "  ")
        if "calls" in one:
            page += _sight(one)
        for setting in one["settings"]:
            reason = f": {setting['reason']}" if setting["reason"] else ""
            own = "" if setting["value"] == setting["default"] else " (well file)"
            key = f"[detect.{setting['table']}] {setting['name']}"
            page += _laid(f"{key} = {_amount(setting, units)}{own}{reason}", "    ", "        ")
    return "\n".join(page) + "\n"


def _sight(one: Mapping[str, Any]) -> Iterator[str]:
    for line in blind_lines(one["blind"]):
        yield from _laid(f"blind: {line}", "  ", "    ")
    if not one["blind"]:
        yield "  never blind: it saw what it needs, or had nothing to watch"
    for kind, told in one["calls"].items():
        by = ", ".join(told["severities"])
        yield from _laid(f"called {kind.replace('_', ' ')} {told['count']} x: {by}", "  ", "    ")
    if not one["calls"]:
        yield "  called nothing"


def _laid(text: str, first: str, rest: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False)


def _amount(setting: Mapping[str, Any], units: Mapping[str, str]) -> str:
    value, quantity = setting["value"], setting["quantity"]
    if isinstance(value, list):
        return "; ".join(
            ", ".join(f"{s['name']} {_amount(s, units)}" for s in one) for one in value
        )
    if not isinstance(value, int | float) or isinstance(value, bool):
        return str(value)
    if quantity is None:
        return f"{value:g} s" if setting["name"].endswith("_s") else f"{value:g}"
    shown = unit(units[quantity]) if quantity in units else None
    # A setting is a difference or a size: no zero point of a scale enters it.
    return f"{value / shown.factor:.4g} {shown.symbol}" if shown else f"{value:g} (SI)"


def _models(one: Detector, tables: Mapping[int, str]) -> Iterator[tuple[str, Model]]:
    """Yield the settings a detector holds, each with its table in the well file."""
    names = [f.name for f in fields(one)] if hasattr(one, "__dataclass_fields__") else []  # type: ignore[arg-type]
    seen: set[int] = set()
    for name in names:
        held = getattr(one, name, None)
        if isinstance(held, Model) and id(held) in tables and id(held) not in seen:
            seen.add(id(held))
            yield tables[id(held)], held


def _settings(table: str, model: Model) -> Iterator[dict[str, Any]]:
    reasons = _reasons(type(model))
    for name, info in type(model).model_fields.items():
        default, reason = _json(info.default), reasons.get(name)
        yield {"table": table, **_number(name, model), "default": default, "reason": reason}


def _number(name: str, model: Model) -> dict[str, Any]:
    info = type(model).model_fields[name]
    quantity = next((of.quantity for of in quantities(info.metadata, info.annotation)), None)
    return {"name": name, "value": _json(getattr(model, name)), "quantity": quantity}


def _json(value: object) -> object:
    if isinstance(value, tuple) and all(isinstance(one, Model) for one in value):
        return [[_number(name, one) for name in type(one).model_fields] for one in value]
    return value if isinstance(value, str | int | float | bool | None) else str(value)


@lru_cache
def _reasons(model: type[Model]) -> Mapping[str, str]:
    """Return the docstring below each field, of the class and of those it is made from."""
    out: dict[str, str] = {}
    for base in reversed([c for c in model.__mro__ if issubclass(c, Model) and c is not Model]):
        try:
            tree = ast.parse(dedent(inspect.getsource(base))).body[0]
        except OSError:
            continue  # a program packed without its source has no reasons to show
        body = tree.body if isinstance(tree, ast.ClassDef) else []
        for line, below in pairwise(body):
            named = isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
            if not named or not isinstance(below, ast.Expr):
                continue
            if isinstance(below.value, ast.Constant) and isinstance(below.value.value, str):
                out[line.target.id] = " ".join(below.value.value.split())  # type: ignore[attr-defined]
    return out
