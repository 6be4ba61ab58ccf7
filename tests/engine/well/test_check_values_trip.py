"""Tripping: fill, fall of level, pressure lost, stands to 75 psi, against published examples.

Sources: [A] Pressure decrease when pulling pipe, docs.kws.tn/formulas/1/pressure-decrease.html ;
[B] www.drillingformulas.com/hydrostatic-pressure-decrease-when-pooh/ ; [C] 30 CFR 250.456(c) ;
[D] well-control formulas in bar, kg/L, L/m, kickdrill.com/formulas ; ``own`` by hand, ``memory``
common practice that was not looked up.
"""

from __future__ import annotations

import pytest

from engine.units import BBL, FT, G0, PPG, PSI
from engine.well.answer import Answer, Unknown
from engine.well.fill_card import LIMIT, MOST_STANDS, Fill, fill
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet
from engine.well.trip import (
    displaced,
    dry_length,
    length_to_lose,
    level_fall,
    level_fall_out,
    level_ratio,
    pressure_drop,
    slug_gain,
)
from engine.well.trip_sheet import difference, expected, expected_part
from tests.check_rows import row

CASING = 0.0732075
"""9 5/8 in casing, inside 8.681 in. [bbl/ft]"""
DRY, WET, COLLAR = 0.0080, 0.02576, 0.05449
"""5 in pipe dry and wet, 8 in collars dry. [bbl/ft]"""


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def drop(cs: ConstantSet, mud: float, length: float, casing: float, taken: Answer) -> float:
    return known(pressure_drop(cs, mud, level_fall(length, casing, known(taken))))


def rule(mud: float, taken: float, casing: float = CASING) -> Fill:
    found = fill(FIELD, mud, casing, taken, 93)
    assert not isinstance(found, Unknown)
    return found


def to_limit(mud: float, taken: float) -> float:
    return known(rule(mud, taken).to_limit)


WET_5 = displaced(0.0075, 0.01776, 1)


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(
            drop(FIELD, 11.5, 5 * 92, 0.0773, displaced(0.0075, 0.01776)), 29.56, 0.005,
            id="T01-[A] five stands dry, psi",
        ),
        pytest.param(
            drop(FIELD, 11.5, 5 * 92, 0.0773, WET_5), 133.52, 0.005, id="T02-[A] wet, psi"
        ),
        pytest.param(expected(5 * 92, 0.0075, 0.01776, "out", "dry"), 3.45, 0.005, id="T03-[A]"),
        pytest.param(
            expected(5 * 92, 0.0075, 0.01776, "out", "wet"), 11.6196, 5e-5, id="T04-[A] wet, bbl"
        ),
        pytest.param(
            drop(FIELD, 12, 5.01 / 0.0055, 0.0873, 0.0055), 38.2, 0.05,
            id="T05-[B] carries 5.01 bbl",
        ),
        pytest.param(to_limit(9, DRY), 14.0455912255, 1.4e-4, id="T06-[C] dry, stands"),
        pytest.param(to_limit(10, WET), 2.85655405692, 2.8e-5, id="T07-[C] wet, stands"),
        pytest.param(
            drop(FIELD, 10, 1, CASING, DRY), 0.0637963424453, 6e-7, id="T11-own psi for a foot"
        ),
        pytest.param(
            length_to_lose(FIELD, 200, 10, CASING, DRY), 3134.97596154, 0.03,
            id="T12-[D] feet to lose 200 psi",
        ),
        pytest.param(
            level_fall_out(600, CASING, COLLAR), 446.593586723, 4e-3, id="T13-[D] last collars, ft"
        ),
        pytest.param(slug_gain(25, 12, 10.5), 3.57142857143, 3e-6, id="T14-memory slug, bbl"),
        pytest.param(
            dry_length(slug_gain(25, 12, 10.5), 0.01776), 201.093951094, 2e-4,
            id="T15-memory dry pipe, ft",
        ),
        pytest.param(
            difference(expected(5 * 93, DRY, 0, "out", "dry"), 3.0, "out"), 0.72, 1e-6,
            id="T16-own short fill, bbl",
        ),
        pytest.param(
            drop(METRIC, 1.2, 1, 38.19, 4.17), 0.0144295238095, 1e-8, id="T17-[D] bar for a metre"
        ),
        pytest.param(
            expected_part(10 * 91, 0.0055, 0.01776, 0.25), 9.0454, 9e-6, id="T18-[B] part wet, bbl"
        ),
    ],
)  # fmt: skip
def test_the_trip_agrees_with_paper(got: Answer, want: float, within: float) -> None:
    assert known(got) == pytest.approx(want, abs=within)


@pytest.mark.parametrize(
    ("mud", "taken", "allowed"),
    [
        pytest.param(10, WET, 2, id="T08-[C] wet at 10 ppg"),
        pytest.param(10, DRY, 5, id="T09-[C] dry at 10 ppg"),
        pytest.param(10, COLLAR, 0, id="T10-[C] collars: fill before one stand"),
    ],
)
def test_the_stands_allowed_are_whole_and_at_most_five(
    mud: float, taken: float, allowed: int
) -> None:
    assert rule(mud, taken).allowed == allowed


@pytest.mark.parametrize(
    ("mud", "taken", "fall", "stands", "allowed", "over_five", "volume"),
    [
        (9.0, DRY, 160.3, 14.05, 5, 26.7, 3.72),
        (9.0, WET, 160.3, 3.17, 3, 118.15, 7.19),
        (10.0, DRY, 144.2, 12.64, 5, 29.7, 3.72),
        (10.0, WET, 144.2, 2.86, 2, 131.3, 4.79),
        (12.0, WET, 120.2, 2.38, 2, 157.55, 4.79),
        (10.0, COLLAR, 144.2, 0.53, 0, 703.9, None),
    ],
)
def test_the_fill_card_by_hand(
    mud: float, taken: float, fall: float, stands: float, allowed: int, over_five: float,
    volume: float | None,
) -> None:  # fmt: skip
    """R-26 by hand from [C] with 0.052: pipe dry and wet, collars; 93 ft stands."""
    line = rule(mud, taken)
    assert known(line.fall) == pytest.approx(fall, abs=0.05)
    assert known(line.to_limit) == pytest.approx(stands, abs=0.005)
    assert line.allowed == allowed
    assert known(line.over_five) == pytest.approx(over_five, abs=0.11)
    if volume is None:
        assert line.volume == Unknown("fill continuously")
    else:
        assert known(line.volume) == pytest.approx(volume, abs=0.005)


@row("G21")
def test_less_than_a_stand_means_fill_continuously() -> None:
    """Case G21."""
    line = rule(10, COLLAR)
    assert line.allowed == 0
    assert line.text == "fill continuously"
    assert line.each == pytest.approx(93 * COLLAR)
    assert rule(10, WET).text == "fill every 2 stands"
    assert rule(20, WET).text == "fill every stand"


@row("G20")
@pytest.mark.parametrize("casing", [COLLAR, COLLAR - 0.01, 1e-9])
def test_pipe_that_fills_the_casing_leaves_the_fall_unknown(casing: float) -> None:
    """Case G20: unknown, never negative; the fill for each stand is known."""
    for answer in (
        level_ratio(casing, COLLAR),
        level_fall(100, casing, COLLAR),
        pressure_drop(FIELD, 10, level_fall(100, casing, COLLAR)),
        level_fall_out(100, casing, COLLAR),
        length_to_lose(FIELD, 75, 10, casing, COLLAR),
    ):
        assert isinstance(answer, Unknown)
    line = rule(10, COLLAR, casing)
    assert isinstance(line.allowed, Unknown)
    assert isinstance(line.over_five, Unknown)
    assert line.each == pytest.approx(93 * COLLAR)
    assert "all the room" in line.text


def test_live_numbers_lie_close_to_those_of_paper() -> None:
    """Own: 0.052 for 12/231 is 0.1 % too much pressure, so exactly 0.1 % more stands."""
    taken = WET * BBL / FT
    line = fill(EXACT, 10 * PPG, CASING * BBL / FT, taken, 93 * FT)
    assert not isinstance(line, Unknown)
    assert known(line.to_limit) == pytest.approx(to_limit(10, WET) * 0.052 * 231 / 12, rel=1e-9)
    assert known(line.fall) == pytest.approx(75 * PSI / (10 * PPG * G0), rel=1e-12)
    assert pytest.approx(75 * PSI) == LIMIT
    assert MOST_STANDS == 5


def test_whole_stands_are_not_lost_to_binary_noise() -> None:
    """Own: muds in which exactly 1 to 5 stands cost 75 psi; some come out a hair below."""
    below = 0
    for taken in (DRY, WET):
        for whole in range(1, 6):
            for stand in (88.5, 91.3, 93.0, 94.7):
                mud = 75 / (0.052 * whole * stand * taken / (CASING - taken))
                line = fill(FIELD, mud, CASING, taken, stand)
                assert not isinstance(line, Unknown)
                assert line.allowed == whole
                below += known(line.to_limit) < whole
                more = fill(FIELD, mud * 1.001, CASING, taken, stand)
                assert not isinstance(more, Unknown)
                assert more.allowed == whole - 1
    assert below > 0
