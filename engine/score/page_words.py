"""Numbers as the page of an evaluation writes them, and tables in Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from engine.score.plan import unit_of
from engine.units import BBL

NONE = "--"
"""Unknown, or nothing to measure."""


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return a table in Markdown, the first column to the left and the others to the right."""
    body = [f"| {' | '.join(row)} |" for row in rows]
    if not body:
        return ["none"]
    line = ["---", *["---:"] * (len(head) - 1)]
    return [f"| {' | '.join(head)} |", f"| {' | '.join(line)} |", *body]


def percent(share: float | None) -> str:
    """Return a share in whole percent, rounded down: 100 % means all. [%]"""
    return NONE if share is None else f"{int(share * 100 + 1e-9)} %"


def barrels(figures: dict[str, Any], name: str) -> str:
    """Return a volume in bbl; ``>`` where it was not called by then."""
    volume = figures.get(f"{name}_m3")
    if volume is None:
        return NONE
    return f"{'> ' if figures[f'{name}_missed'] else ''}{volume / BBL:.1f}"


def seconds(value: float | None) -> str:
    """Return a delay: seconds up to two minutes, then minutes."""
    if value is None:
        return NONE
    return f"{value:.0f} s" if value < 120 else f"{value / 60:.1f} min"


def number(value: float | None, digits: int = 2) -> str:
    """Return a rate with its decimals."""
    return NONE if value is None else f"{value:.{digits}f}"


def bounded(figures: dict[str, Any]) -> str:
    """Return a 12 h rate with its bound: ``0.10 (< 0.47)``."""
    if figures["per_12_h"] is None:
        return NONE
    return f"{figures['per_12_h']:.2f} (< {figures['upper_per_12_h']:.2f})"


def size_text(kind: str, size: Any) -> str:
    """Return the size of an event in a unit that people use."""
    if not isinstance(size, float | int):
        return str(size)
    unit = unit_of(kind)
    if unit == "m3/s":
        return f"{size * 60 / BBL:.3g} bbl/min"
    for si, factor, shown in (
        ("Pa/s", 60e-3, "kPa/min"), ("Pa", 1e-3, "kPa"), ("N", 1e-3, "kN"),
    ):  # fmt: skip
        if unit == si:
            return f"{size * factor:.0f} {shown}"
    return f"{size:.3g} {unit}"


def counted(counts: dict[str, int]) -> str:
    """Return counts by name: ``influx 5, nothing 2``."""
    return ", ".join(f"{name or 'nothing'} {n}" for name, n in counts.items()) or NONE


def targets(found: Sequence[dict[str, Any]]) -> list[str]:
    """Return the table of targets: what was reached where they hold, and over all classes."""
    rows = (
        (one["name"], ", ".join(one["noise"]), _reached(one["there"]), _verdict(one["there"]),
         _reached(one["all"]))
        for one in found
    )  # fmt: skip
    head = ("target", "class of noise", "reached", "", "all classes that were run")
    return table(head, rows)


def _reached(one: dict[str, Any]) -> str:
    if "hits" in one:
        share = f", at least {percent(one['lower'])}" if one["runs"] else ""
        return f"{one['hits']} of {one['runs']} ({percent(one['share'])}{share})"
    return f"{one['count']} in {one['tours']} tours and trips: {bounded(one)}"


def _verdict(one: dict[str, Any]) -> str:
    if one["met"] is None:
        return NONE
    if not one["met"]:
        return "NOT MET"
    return "met" if one["shown"] else "met, too few runs to show it"
