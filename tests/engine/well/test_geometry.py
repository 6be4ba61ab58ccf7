"""String in hole: sections, volumes, what cannot be. ``own``: by hand from pi d2 / 4."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.config import Component, HoleSection
from engine.ops.string_weight import StringWeight
from engine.units import BBL, FT
from engine.well.answer import Unknown
from engine.well.geometry import Section, Volumes, WellGeometry
from tests.tables import well

NAN = float("nan")


def part(name: str, outer: float, inner: float, length: float | None, weight: float) -> Component:
    """Return a component; inches, feet, lb/ft."""
    raw: dict[str, object] = {
        "name": name, "outer_in": outer, "inner_in": inner, "weight_lb_ft": weight,
    }  # fmt: skip
    return Component.model_validate(raw if length is None else raw | {"length_ft": length})


def lined(name: str, top: float, bottom: float | None, diameter: float) -> HoleSection:
    """Return a hole section; feet, inches."""
    raw: dict[str, object] = {"name": name, "top_ft": top, "diameter_in": diameter}
    return HoleSection.model_validate(raw if bottom is None else raw | {"bottom_ft": bottom})


PIPE = part("pipe", 5, 4.276, None, 21.9)
COLLARS = part("collars", 6.75, 2.8125, 600, 100)
HEAVY = part("heavy-weight", 5, 3, 400, 49.3)
CASED = lined("casing", 0, 5000, 8.681)
OPEN = lined("open hole", 5000, None, 8.5)
R1 = WellGeometry((COLLARS, HEAVY, PIPE), (CASED, OPEN), 5000 * FT)
EXAMPLE = WellGeometry.of(well())


def area(outer: float, inner: float = 0.0) -> float:
    """Area between two diameters [in]. [bbl/ft]"""
    return pi / 4 * (outer**2 - inner**2) * 12 / 9702


def volumes(geometry: WellGeometry, bit: float, hole: float) -> Volumes:
    found = geometry.volumes(bit, hole)
    assert isinstance(found, Volumes), found
    return found


def sections(geometry: WellGeometry, bit: float, hole: float) -> tuple[Section, ...]:
    found = geometry.sections(bit, hole)
    assert not isinstance(found, Unknown), found
    return found


def test_the_reference_well_adds_up_by_hand() -> None:
    """Own: 10,000 ft, 5 in pipe, 400 ft heavy-weight, 600 ft collars, shoe at 5,000 ft."""
    v = volumes(R1, 10_000 * FT, 10_000 * FT)
    string = 9000 * area(4.276) + 400 * area(3) + 600 * area(2.8125)
    open_hole = 600 * area(8.5, 6.75) + 4400 * area(8.5, 5)
    cased = 5000 * area(8.681, 5)
    assert v.string / BBL == pytest.approx(string, rel=1e-12)
    assert v.to_shoe == pytest.approx(open_hole * BBL, rel=1e-12)
    assert v.from_shoe == pytest.approx(cased * BBL, rel=1e-12)
    assert v.annulus / BBL == pytest.approx(open_hole + cased, rel=1e-12)
    assert v.below_bit == 0.0
    steel = (9000 * 21.9 + 400 * 49.3 + 600 * 100) * 0.45359237 / 7850
    assert v.open_end == pytest.approx(steel, rel=1e-12)
    assert v.closed_end / BBL == pytest.approx(9400 * area(5) + 600 * area(6.75), rel=1e-12)


def test_sections_are_listed_from_the_floor_down() -> None:
    """Own: bit at 9,000 of 10,000 ft."""
    found = sections(R1, 9000 * FT, 10_000 * FT)
    assert [(s.hole_name, s.pipe_name) for s in found] == [
        ("casing", "pipe"),
        ("open hole", "pipe"),
        ("open hole", "heavy-weight"),
        ("open hole", "collars"),
        ("open hole", ""),
    ]
    assert [s.top / FT for s in found] == pytest.approx([0, 5000, 8000, 8400, 9000])
    assert [s.bottom / FT for s in found] == pytest.approx([5000, 8000, 8400, 9000, 10_000])
    last = found[-1]
    assert (last.outer, last.inner, last.weight, last.bore) == (0.0, 0.0, 0.0, 0.0)
    assert last.annulus / BBL == pytest.approx(1000 * area(8.5), rel=1e-12)
    assert found[3].annulus / BBL == pytest.approx(600 * area(8.5, 6.75), rel=1e-12)


def test_the_bit_above_the_shoe_has_no_annulus_to_it() -> None:
    v = volumes(R1, 4000 * FT, 10_000 * FT)
    assert v.to_shoe == 0.0
    assert v.from_shoe == pytest.approx(v.annulus, rel=1e-12)
    assert v.below_bit / BBL == pytest.approx(1000 * area(8.681) + 5000 * area(8.5), rel=1e-12)


def test_a_bit_shallower_than_the_collars_has_only_collars_in_the_hole() -> None:
    """Own: 200 ft of the 600 ft of collars are below the floor."""
    found = sections(R1, 200 * FT, 10_000 * FT)
    assert found[0].pipe_name == "collars"
    v = volumes(R1, 200 * FT, 10_000 * FT)
    assert v.string / BBL == pytest.approx(200 * area(2.8125), rel=1e-12)
    assert v.open_end == pytest.approx(200 * 100 * 0.45359237 / 7850, rel=1e-12)


def test_an_empty_hole_holds_only_mud() -> None:
    v = volumes(R1, 0.0, 6000 * FT)
    assert (v.string, v.annulus, v.to_shoe, v.open_end, v.closed_end) == (0, 0, 0, 0, 0)
    assert v.below_bit == pytest.approx(v.hole)
    assert v.hole / BBL == pytest.approx(5000 * area(8.681) + 1000 * area(8.5), rel=1e-12)
    empty = WellGeometry((), R1.hole, R1.shoe)
    assert volumes(empty, 0.0, 6000 * FT) == v
    assert empty.closed_at([0.0]).tolist() == [0.0]
    assert sections(WellGeometry((PIPE,), (lined("h", 0, None, 8.5),)), 0.0, 0.0) == ()


def test_a_well_without_casing_has_no_volume_to_the_shoe() -> None:
    bare = WellGeometry((PIPE,), (lined("hole", 0, None, 12.25),))
    v = volumes(bare, 1000 * FT, 1000 * FT)
    assert v.to_shoe == Unknown("no casing in the well file")
    assert v.from_shoe == Unknown("no casing in the well file")
    assert v.annulus / BBL == pytest.approx(1000 * area(12.25, 5), rel=1e-12)


def test_casing_being_run_is_a_string_like_another() -> None:
    """Own: 7 in casing, inside 6.276 in, 26 lb/ft, shoe at 8,000 ft: it displaces its outside."""
    casing = part("casing 7", 7, 6.276, None, 26)
    run = WellGeometry.of(well(), [casing])
    assert run.hole == well().hole
    geometry = WellGeometry((casing,), R1.hole, R1.shoe)
    v = volumes(geometry, 8000 * FT, 10_000 * FT)
    assert v.closed_end / BBL == pytest.approx(8000 * area(7), rel=1e-12)
    assert v.string / BBL == pytest.approx(8000 * area(6.276), rel=1e-12)


@pytest.mark.parametrize(
    ("geometry", "bit", "hole", "why"),
    [
        (R1, NAN, 3000, "bit depth is unknown"),
        (R1, 1000, float("inf"), "hole depth is unknown"),
        (R1, -5, 3000, "bit depth is -5 m, above the floor"),
        (R1, 3000.5, 3000, "the bit at 3000.50 m is below the bottom of the hole, 3000.00 m"),
        (R1, 1000, 1000, "casing ends at 1524.00 m, below the bottom of the hole, 1000.00 m"),
        (WellGeometry((PIPE,), ()), 10, 10,
         "no hole in the well file; it needs a [[hole]] table"),
        (WellGeometry((), R1.hole, R1.shoe), 10, 3000,
         "no string is described, yet the bit is at 10.00 m"),
        (WellGeometry((PIPE,), (lined("h", 100, None, 8.5),)), 10, 100,
         "the hole above 30.48 m is not described"),
        (WellGeometry((PIPE,), (lined("h", 0, 1000, 8.5),)), 10, 400,
         "the hole is at 400.00 m but described only to 304.80 m; "
         "give the last [[hole]] no bottom and it grows"),
        (WellGeometry((part("big", 9.5, 3, 100, 200), PIPE), R1.hole, R1.shoe), 1600, 1700,
         "big (241.3 mm) does not go into open hole (215.9 mm) at 1569.5 m"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_unknown_with_its_reason(
    geometry: WellGeometry, bit: float, hole: float, why: str
) -> None:
    assert geometry.sections(bit, hole) == Unknown(why)
    assert geometry.volumes(bit, hole) == Unknown(why)


def test_a_liner_longer_than_the_hole_is_unknown() -> None:
    """Own: liner to 9,000 ft written down, hole at 8,990 ft."""
    hole = (CASED, lined("liner", 5000, 9000, 6.276), lined("open", 9000, None, 6))
    lean = WellGeometry((part("pipe", 3.5, 2.76, None, 13.3),), hole, 9000 * FT)
    assert isinstance(volumes(lean, 9000 * FT, 9000 * FT).to_shoe, float)
    short = lean.volumes(5000 * FT, 8990 * FT)
    assert isinstance(short, Unknown)
    assert short.reason.startswith("liner ends at 2743.20 m, below the bottom")


@given(st.floats(0, 3000), st.floats(0, 900))
def test_the_volumes_of_a_hole_add_up(bit: float, more: float) -> None:
    """Hole = annulus + outside of the body + below the bit, at any depth under the shoe."""
    hole = max(bit + more, EXAMPLE.shoe)
    v = volumes(EXAMPLE, bit, hole)
    assert v.hole == pytest.approx(v.annulus + v.closed_end + v.below_bit, rel=1e-9)
    assert isinstance(v.to_shoe, float)
    assert isinstance(v.from_shoe, float)
    assert v.annulus == pytest.approx(v.to_shoe + v.from_shoe, rel=1e-12, abs=1e-12)
    assert min(v.string, v.annulus, v.to_shoe, v.from_shoe, v.below_bit, v.open_end) >= 0
    total = sum(s.length for s in sections(EXAMPLE, bit, hole))
    assert total == pytest.approx(hole, abs=1e-4)


@given(st.lists(st.floats(0, 4000), max_size=20))
def test_many_bit_depths_at_once_give_the_same_numbers(bits: list[float]) -> None:
    for geometry in (EXAMPLE, R1):
        at = np.array(bits)
        many = (geometry.annulus_at(at), geometry.string_at(at), geometry.open_at(at),
                geometry.closed_at(at))  # fmt: skip
        for i, bit in enumerate(bits):
            v = volumes(geometry, bit, max(bit, geometry.shoe))
            one = (v.annulus, v.string, v.open_end, v.closed_end)
            assert [m[i] for m in many] == pytest.approx(one, rel=1e-9, abs=1e-7)


def test_many_bit_depths_at_once_are_nan_where_one_would_be_unknown() -> None:
    """Too deep for the hole described, negative, NaN, too thick a part."""
    closed = WellGeometry((PIPE,), (lined("h", 0, 1000, 8.5),))
    got = closed.annulus_at([-1.0, NAN, 100.0, 304.8, 305.0])
    assert np.isnan(got).tolist() == [True, True, False, False, True]
    big = WellGeometry((part("big", 9.5, 3, 100, 200), PIPE), (lined("c", 0, 5000, 12.6), OPEN))
    got = big.annulus_at([1000.0, 1523.0, 1525.0, 1600.0])
    assert np.isnan(got).tolist() == [False, False, True, True]
    assert isinstance(big.volumes(1525.0, 1600.0), Unknown)
    fat = WellGeometry((part("fat", 8.6, 4, None, 90),), (lined("c", 0, 5000, 8.681), OPEN))
    got = fat.annulus_at([1000.0, 1524.0, 1525.0])
    assert np.isnan(got).tolist() == [False, False, True]
    assert np.isnan(closed.string_at([-0.1, NAN])).all()
    assert np.isnan(WellGeometry((PIPE,), ()).annulus_at([5.0])).all()
    assert np.isnan(WellGeometry((), R1.hole).closed_at([5.0])).all()
    assert EXAMPLE.annulus_at(100.0).shape == ()


def test_displacement_agrees_with_that_of_the_live_hook_load() -> None:
    """The live string (`engine.ops.string_weight`) and this one are the same pipe."""
    live, at = StringWeight.of(well()), np.array([0.0, 5.0, 150.0, 199.0, 800.0, 2400.0])
    assert EXAMPLE.open_at(at) == pytest.approx(live.steel_volume(at), rel=1e-12)
    assert EXAMPLE.closed_at(at) == pytest.approx(live.closed_volume(at), rel=1e-12)
