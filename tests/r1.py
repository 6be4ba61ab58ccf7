"""Reference well R1 of the check values: its string, its hole, and how to make parts of one."""

from __future__ import annotations

from engine.config import Component, HoleSection
from engine.well.answer import Answer, Unknown


def number(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def part(name: str, outer: float, inner: float, length: float | None = None) -> Component:
    return Component.model_validate(
        {"name": name, "outer_in": outer, "inner_in": inner, "weight_kg_m": 50.0}
        | ({} if length is None else {"length_ft": length})
    )


def section(name: str, top: float, bottom: float | None, diameter: float) -> HoleSection:
    return HoleSection.model_validate(
        {"name": name, "top_ft": top, "diameter_in": diameter}
        | ({} if bottom is None else {"bottom_ft": bottom})
    )


STRING = (part("collars", 6.75, 2.8125, 600), part("heavy", 5, 3, 400), part("pipe", 5, 4.276))
HOLE = (section("casing", 0, 5000, 8.681), section("open hole", 5000, None, 8.5))
