"""Trip sheet and fill card of a well. All by hand; R-26."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import BBL
from engine.well.answer import Answer, Unknown
from engine.well.fill_card import CardLine, Fill, fill_card
from engine.well.trip_sheet import (
    Bore,
    Entry,
    Way,
    by_strokes,
    by_trip_tank,
    difference,
    expected,
    expected_part,
    trip_sheet,
)
from tests.tables import well

NAN = float("nan")


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


@pytest.mark.parametrize(
    ("way", "state", "want"),
    [
        ("out", "dry", 0.114), ("out", "wet", 0.3705), ("out", "closed", 0.3705),
        ("in", "dry", 0.114), ("in", "wet", 0.114), ("in", "closed", 0.3705),
    ],
)  # fmt: skip
def test_what_a_stand_should_take_or_give(way: Way, state: Bore, want: float) -> None:
    """28.5 m of 0.004 m3/m steel and 0.009 m3/m bore; a float keeps pipe closed going in."""
    assert known(expected(28.5, 0.004, 0.009, way, state)) == pytest.approx(want)


def test_sixty_dry_stands_that_take_too_little_are_20_barrels_short() -> None:
    """SC-13 of R-26: 0.74 bbl expected, 0.41 taken, 60 stands: 19.8 bbl short."""
    rows = trip_sheet([Entry(1, 0.74 * BBL, 0.41 * BBL)] * 60)
    assert known(rows[-1].total_difference) / BBL == pytest.approx(19.8)
    assert known(rows[-1].total_expected) / BBL == pytest.approx(44.4)
    assert known(rows[-1].total_actual) / BBL == pytest.approx(24.6)
    assert rows[-1].stands == 60
    over = [r.stands for r in rows if known(r.total_difference) >= 2 * BBL]
    assert over[0] == 7


def test_pipe_declared_wet_changes_what_is_expected_from_then_on() -> None:
    """SC-13: 0.0080 dry, 0.02576 wet on 93 ft: 0.744 and 2.396 bbl, less the mud recovered."""
    dry = known(expected(93, 0.0080, 0.01776, "out", "dry"))
    wet = known(expected(93, 0.0080, 0.01776, "out", "wet"))
    assert (dry, wet) == (pytest.approx(0.744), pytest.approx(2.39568))
    assert expected_part(93, 0.0080, 0.01776, 0.5) == pytest.approx((dry + wet) / 2)
    rows = trip_sheet([*[Entry(1, dry, dry)] * 9, *[Entry(1, wet, dry)] * 2])
    assert rows[8].total_difference == pytest.approx(0.0, abs=1e-12)
    assert known(rows[-1].total_difference) == pytest.approx(2 * (wet - dry))


def test_a_fill_may_cover_several_stands() -> None:
    rows = trip_sheet([Entry(3, 0.342, 0.30), Entry(2, 0.228, 0.24)])
    assert [r.stands for r in rows] == [3, 5]
    assert [r.difference for r in rows] == pytest.approx([0.042, -0.012])
    assert [r.total_difference for r in rows] == pytest.approx([0.042, 0.030])


def test_going_in_a_return_that_is_too_large_counts_like_a_fill_that_is_too_small() -> None:
    """Both are on the side of an influx; totals of fill and return begin anew."""
    rows = trip_sheet([Entry(5, 0.5, 0.4), Entry(5, 0.6, 0.65, way="in")])
    assert [r.difference for r in rows] == pytest.approx([0.1, 0.05])
    assert known(rows[1].total_difference) == pytest.approx(0.15)
    assert (rows[1].total_expected, rows[1].total_actual) == (0.6, 0.65)


def test_a_fill_that_was_not_measured_is_no_zero() -> None:
    gap = Unknown("trip tank level was stale")
    rows = trip_sheet([Entry(1, 0.1, 0.1), Entry(2, 0.2, gap), Entry(1, 0.1, 0.05)])
    why = Unknown("stands 2 to 3: trip tank level was stale")
    assert rows[1].difference == gap
    assert rows[2].difference == pytest.approx(0.05)
    assert [r.total_difference for r in rows[1:]] == [why, why]
    assert [r.total_actual for r in rows[1:]] == [why, why]
    assert rows[2].total_expected == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("got", "want"),
    [
        (by_trip_tank(5.0, 4.6, "out"), 0.4), (by_trip_tank(5.0, 5.4, "in"), 0.4),
        (by_trip_tank(1.0, 5.6, "out", added=5.0), 0.4), (by_trip_tank(5.0, 5.3, "out"), -0.3),
        (by_trip_tank(5.4, 1.8, "in", added=-4.0), 0.4), (by_strokes(21, 0.019), 0.399),
        (by_strokes(0, 0.019), 0.0),
    ],
)  # fmt: skip
def test_the_actual_fill_is_measured(got: Answer, want: float) -> None:
    """A refill of the tank is added; a hole that gives instead of taking stays negative."""
    assert known(got) == pytest.approx(want)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (by_trip_tank(NAN, 4.6, "out"), "trip tank before is unknown"),
        (by_trip_tank(5.0, -0.1, "out"), "trip tank after is -0.1; it must not be negative"),
        (by_trip_tank(5.0, 4.0, "out", added=NAN), "volume added is unknown"),
        (by_strokes(-2, 0.019), "strokes is -2; it must not be negative"),
        (by_strokes(2, 0.0), "volume per stroke is 0; it must be above 0"),
        (expected(-1, 0.004, 0.009, "out", "dry"), "length is -1; it must not be negative"),
        (difference(NAN, 1.0, "out"), "a fill is no number"),
        (difference(Unknown("no pipe"), 1.0, "out"), "no pipe"),
    ],
)
def test_what_cannot_be_is_unknown_with_its_reason(answer: Answer, why: str) -> None:
    assert answer == Unknown(why)


@given(st.lists(st.tuples(st.integers(1, 5), st.floats(0, 2), st.floats(-1, 3))))
def test_the_total_is_the_sum_of_the_lines(entries: list[tuple[int, float, float]]) -> None:
    rows = trip_sheet([Entry(n, want, got) for n, want, got in entries])
    for i, row in enumerate(rows, 1):
        assert known(row.total_difference) == pytest.approx(
            sum(want - got for _, want, got in entries[:i]), abs=1e-9
        )
        assert row.stands == sum(n for n, _, _ in entries[:i])


def card(**changes: object) -> dict[tuple[str, bool, bool], CardLine]:
    lines = fill_card(well(**changes))
    return {(line.part, line.wet, line.float_holds): line for line in lines}


def fill_of(line: CardLine) -> Fill:
    assert isinstance(line.fill, Fill), line.fill
    return line.fill


def test_the_fill_card_of_a_well_has_every_part_dry_and_wet_with_and_without_a_float() -> None:
    """By hand: pipe 31.9 kg/m, bore 108.6 mm; casing 220.5 mm; 28.5 m stands; 1050 kg/m3."""
    found = card()
    parts = ["drill pipe", "drill collars", "bit and motor"]
    assert [line.part for line in fill_card(well())] == [p for p in parts for _ in range(4)]
    assert len(found) == 12
    dry = fill_of(found["drill pipe", False, False])
    assert dry.taken == pytest.approx(31.9 / 7850)
    assert dry.each == pytest.approx(28.5 * 31.9 / 7850)
    # 517107 / (1050 g) = 50.22 m; (0.038185 - 0.004064) / 0.004064 = 8.397; / 28.5 = 14.80
    assert known(dry.fall) == pytest.approx(50.22, abs=0.01)
    assert known(dry.to_limit) == pytest.approx(14.80, abs=0.01)
    assert dry.allowed == 5
    # wet: 0.004064 + 0.009265 = 0.013329; (0.038185 - 0.013329) / 0.013329 * 50.22 / 28.5
    wet = fill_of(found["drill pipe", True, False])
    assert known(wet.to_limit) == pytest.approx(3.286, abs=2e-3)
    assert wet.allowed == 3
    assert known(wet.volume) == pytest.approx(3 * 28.5 * 0.013329, rel=1e-4)
    assert wet.text == "fill every 3 stands"


def test_a_float_that_holds_makes_dry_pipe_take_as_much_as_wet() -> None:
    found = card()
    for part in ("drill pipe", "drill collars", "bit and motor"):
        wet = found[part, True, False].fill
        assert found[part, False, True].fill == wet == found[part, True, True].fill
        dry = fill_of(found[part, False, False])
        assert fill_of(found[part, False, True]).taken > dry.taken


def test_a_level_that_would_leave_the_top_casing_is_unknown() -> None:
    """Own: 75 psi are 50.2 m of 1050 kg/m3; a liner from 40 m down is another bore."""
    hole = [{"name": "conductor", "bottom_m": 40.0, "diameter_in": 12.4},
            {"name": "open", "top_m": 40.0, "diameter_in": 8.5}]  # fmt: skip
    for line in card(hole=hole).values():
        assert line.fill == Unknown("the level would leave conductor, which ends at 40 m")
    assert all(isinstance(line.fill, Unknown) for line in card(hole=[]).values())


def test_the_mud_of_the_moment_may_stand_in_for_that_of_the_well_file() -> None:
    light, heavy = fill_card(well(), 1000.0)[0], fill_card(well(), 2000.0)[0]
    assert known(fill_of(light).to_limit) == pytest.approx(2 * known(fill_of(heavy).to_limit))
