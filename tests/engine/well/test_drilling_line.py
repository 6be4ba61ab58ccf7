"""Line work against the integral of force over travel, and the slip-and-cut programme."""

from __future__ import annotations

from functools import reduce
from itertools import pairwise
from math import ceil, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from engine.well.answer import Unknown
from engine.well.drilling_line import (
    Due,
    LineLoad,
    LineWork,
    SlipAndCut,
    casing_work,
    coring_work,
    drilling_work,
    excess_weight,
    move_work,
    round_trip_work,
    short_trip_work,
    stand_by_stand_work,
)
from engine.well.weight_drag import Part
from tests.check_rows import row

NAN = float("nan")
LOAD = LineLoad(pipe=165.0, block=4.2e5, excess=1.2e5, stand=28.5)
PLAN = SlipAndCut(limit=2e10, drum=1.0)


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


def test_a_round_trip_is_the_integral_of_hook_load_over_block_travel() -> None:
    """Numerical integral (scipy): stands hang whole, the block goes back empty."""
    n = 60
    depth = n * LOAD.stand

    def both_ways(x: float) -> float:
        hanging = LOAD.pipe * LOAD.stand * ceil(x / LOAD.stand) + LOAD.excess
        return LOAD.block + (LOAD.block + hanging)

    edges = [k * LOAD.stand for k in range(n + 1)]
    one_way = sum(quad(both_ways, a, b)[0] for a, b in pairwise(edges))
    assert round_trip_work(LOAD, depth) == pytest.approx(2 * one_way, rel=1e-9)
    assert stand_by_stand_work(LOAD, n) == pytest.approx(one_way, rel=1e-9)


def test_any_depth_lies_on_the_smooth_integral() -> None:
    """Numerical integral (scipy): mid-stand string length at each depth."""
    depth = 1234.5
    smooth = quad(
        lambda x: 2 * LOAD.block + LOAD.excess + LOAD.pipe * (x + LOAD.stand / 2), 0, depth
    )[0]
    assert round_trip_work(LOAD, depth) == pytest.approx(2 * smooth, rel=1e-9)


def test_casing_is_half_a_round_trip_of_it() -> None:
    """Numerical integral (scipy), no assembly; the excess of the drill string does not count."""
    depth = 1500.0
    smooth = quad(lambda x: 2 * LOAD.block + LOAD.pipe * (x + LOAD.stand / 2), 0, depth)[0]
    assert casing_work(LOAD, depth) == pytest.approx(smooth, rel=1e-9)


@given(st.lists(st.floats(-60, 60), max_size=30))
def test_live_work_is_the_sum_of_every_move(moves: list[float]) -> None:
    """Force times distance, either way: own, by definition."""
    work = reduce(lambda w, dz: w.moved(1e6, dz, 9e5), moves, LineWork())
    assert work.done == pytest.approx(1e6 * sum(abs(dz) for dz in moves))
    assert (work.estimated, work.uncounted) == (0.0, 0.0)


@row("G32")
def test_an_unknown_hook_load_counts_with_the_expected_one_and_is_marked() -> None:
    """G32: ton-miles estimated, marked; with no expected load the travel is kept, not lost."""
    first = LineWork().moved(1e6, 10.0, 9e5)
    guessed = first.moved(Unknown("link down"), -10.0, 9e5)
    assert guessed == LineWork(1.9e7, 9e6, 0.0)
    assert guessed.moved(NAN, 1.0, Unknown("no tally")) == LineWork(1.9e7, 9e6, 1.0)
    assert guessed.moved(-5e4, 1.0, 9e5) == LineWork(1.99e7, 9.9e6, 0.0)
    assert guessed.moved(1e6, NAN, 9e5) == guessed


def test_no_trip_is_no_work() -> None:
    assert round_trip_work(LOAD, 0.0) == 0.0
    assert stand_by_stand_work(LOAD, 0) == 0.0
    assert move_work(0.0, 30.0) == 0.0
    assert excess_weight([], 30.0, 1200.0) == 0.0


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (round_trip_work(LOAD, -1.0), "depth is -1"),
        (round_trip_work(LineLoad(NAN, 1.0, 1.0, 1.0), 1.0), "pipe weight is unknown"),
        (round_trip_work(LineLoad(1.0, 1.0, 1.0, 0.0), 1.0), "stand is 0"),
        (casing_work(LineLoad(1.0, -1.0, 1.0, 1.0), 1.0), "block weight is -1"),
        (move_work(NAN, 1.0), "hook load is unknown"),
        (move_work(1.0, NAN), "travel is unknown"),
        (drilling_work(10.0, 5.0, reaming=True), "swap them"),
        (coring_work(Unknown("no depth"), 5.0), "no depth"),
        (short_trip_work(5.0, Unknown("no depth")), "no depth"),
        (excess_weight([Part(100.0, 10.0)], 30.0, 1200.0), "lighter than the pipe"),
        (excess_weight([Part(100.0, 90.0)], 30.0, 8000.0), "as heavy as steel"),
    ],
)
def test_a_trip_that_cannot_be_has_no_work(answer: object, words: str) -> None:
    assert words in reason(answer)


def test_reaming_each_length_costs_half_as_much_again() -> None:
    """API RP 9B: 3 times the difference, 2 without reaming (the second from memory)."""
    assert drilling_work(4.0, 10.0, reaming=True) == 18.0
    assert drilling_work(4.0, 10.0, reaming=False) == 12.0


@pytest.mark.parametrize(
    ("share", "due"),
    [
        (0.0, Due.NOTHING), (0.799, Due.NOTHING), (0.8, Due.SOON), (0.9, Due.NEXT),
        (0.999, Due.NEXT), (1.0, Due.NOW), (1.7, Due.NOW),
    ],
)  # fmt: skip
def test_the_crew_is_told_at_80_90_and_100_per_cent(share: float, due: Due) -> None:
    assert PLAN.due(share * PLAN.limit) is due
    assert PLAN.left(share * PLAN.limit) == pytest.approx(max(0.0, (1 - share) * PLAN.limit))


def test_what_is_left_is_told_in_trips() -> None:
    assert PLAN.trips_left(1.5e10, 1e9) == pytest.approx(5.0)
    assert reason(PLAN.trips_left(1.5e10, 0.0)).startswith("work of a trip is 0")
    assert reason(PLAN.trips_left(Unknown("no record"), 1e9)) == "no record"
    assert reason(PLAN.due(NAN)) == "work is unknown"
    assert reason(SlipAndCut(0.0, 1.0).used(1e9)).startswith("limit is 0")


def test_a_cut_is_never_whole_laps() -> None:
    """Common practice: a part of a lap moves the cross-over points."""
    assert PLAN.cut(8.5) == pytest.approx(8.5 * pi)
    for laps in (8.0, 7.98, 9.03):
        assert "cross-over" in reason(PLAN.cut(laps))
    assert reason(PLAN.cut(0.0)).startswith("laps is 0")
