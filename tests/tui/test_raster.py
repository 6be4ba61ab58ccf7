from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tui import raster

DT, WIDTH = 2.0, 12


def picture(t: np.ndarray, y: np.ndarray, start: int, stop: int) -> list[str]:
    """Draw cell rows start to stop of one curve."""
    edges = DT * np.arange(4.0 * start - 1, 4.0 * stop + 1)
    low, high = raster.buckets(t, y, edges, hold=5.0)
    first, last = raster.dots(low, high, WIDTH)
    bits, top = raster.cells(first[None], last[None], WIDTH)
    return raster.text_rows(bits, top)


def test_dots_of_a_cell_are_the_ones_unicode_numbers() -> None:
    """Unicode Standard, Braille Patterns: dots 1 2 3 7 left, 4 5 6 8 right, dot 1 is 0x01."""
    for dot, (row, column) in enumerate(
        [(0, 0), (1, 0), (2, 0), (0, 1), (1, 1), (2, 1), (3, 0), (3, 1)]
    ):
        first = np.full((1, 4), 1, np.int32)
        last = np.zeros((1, 4), np.int32)
        first[0, row] = last[0, row] = column
        bits, top = raster.cells(first, last, 1)
        assert raster.text_rows(bits, top) == [chr(0x2800 + (1 << dot))]


@given(
    st.lists(st.one_of(st.none(), st.floats(0, 1)), min_size=1, max_size=160),
    st.sampled_from([0.3, 1.0, 3.0]),
)
def test_a_row_drawn_alone_equals_that_row_of_the_whole(
    values: list[float | None], every: float
) -> None:
    t = every * np.arange(len(values))
    y = np.array([np.nan if v is None else v for v in values])
    rows = int(t[-1] / (4 * DT)) + 1
    whole = picture(t, y, 0, rows)
    assert [picture(t, y, r, r + 1)[0] for r in range(rows)] == whole


@given(st.lists(st.floats(0, 1), min_size=40, max_size=120))
def test_a_past_row_does_not_change_when_samples_are_added(values: list[float]) -> None:
    t, y = np.arange(float(len(values))), np.array(values)
    for n in range(10, len(values)):
        done = int(t[n - 1] / (4 * DT))
        before = picture(t[:n], y[:n], 0, done)
        assert before == picture(t, y, 0, done)


def test_a_curve_is_never_joined_across_a_gap() -> None:
    t = np.arange(24.0)
    y = np.where(t < 8, 0.0, np.where(t < 16, np.nan, 1.0))
    first, middle, last = picture(t, y, 0, 3)
    assert first == "⡇" + " " * (WIDTH - 1)
    assert middle == " " * WIDTH
    assert last == " " * (WIDTH - 1) + "⢸"


def test_rows_missing_for_longer_than_the_hold_time_are_a_gap() -> None:
    """Two samples 60 s apart, hold 5 s: 3 buckets of 2 s are filled after the first.

    After the newest sample nothing is: nobody has seen it yet.
    """
    t, y = np.array([0.0, 60.0]), np.array([0.5, 0.5])
    low, _ = raster.buckets(t, y, DT * np.arange(40.0), hold=5.0)
    assert np.flatnonzero(~np.isnan(low)).tolist() == [0, 1, 2, 30]


def test_a_jump_is_joined_to_the_row_above() -> None:
    low = np.array([0.0, 0.0, 1.0])
    first, last = raster.dots(low, low, 2)
    assert list(zip(first.tolist(), last.tolist(), strict=True)) == [(0, 0), (1, 3)]


def test_the_smallest_and_largest_value_of_a_bucket_both_show() -> None:
    t = np.array([0.0, 0.5, 1.0, 1.5])
    low, high = raster.buckets(t, np.array([3.0, -1.0, np.nan, 2.0]), np.array([0.0, 2.0]), 5.0)
    assert (low[0], high[0]) == (-1.0, 3.0)


def test_the_first_curve_lies_on_top() -> None:
    first = np.zeros((2, 4), np.int32)
    last = np.array([[0] * 4, [3] * 4], np.int32)
    bits, top = raster.cells(first, last, 2)
    assert top.tolist() == [[0, 1]]
    assert raster.text_rows(bits, top, "*+") == ["*+"]


def dotted(first: list[int], last: list[int], width: int) -> list[str]:
    """Draw one curve as the second of a track."""
    a, b = np.array([first, first], np.int32), np.array([last, last], np.int32)
    a[0], b[0] = 1, 0
    bits, top = raster.cells(a, b, width)
    return raster.text_rows(bits, top)


def test_the_second_curve_is_dotted_downward_and_sideways() -> None:
    """Unicode Standard: dots 1 and 3 are 0x05, dots 3 and 6 would be 0x24."""
    assert dotted([0] * 4, [0] * 4, 1) == [chr(0x2805)]
    assert dotted([0, 0, 0, 0], [0, 7, 0, 0], 4) == [
        chr(0x2807) + chr(0x2802) * 3,  # every other dot of the run in the second dot row
    ]


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(-1, 9)), min_size=8, max_size=8))
def test_a_dotted_curve_is_never_lost(ends: list[tuple[int, int]]) -> None:
    """Whatever its shape, of two dot rows one at least has a dot where the curve has any."""
    first = [a for a, _ in ends]
    last = [a + b for a, b in ends]
    text = dotted(first, last, 12)
    for pair in range(4):
        here = any(last[2 * pair + r] >= first[2 * pair + r] for r in (0, 1))
        cell, half = text[pair // 2], 0x1B if pair % 2 == 0 else 0xE4
        assert here == any(c != " " and (ord(c) - 0x2800) & half for c in cell)


def test_no_samples_draw_nothing() -> None:
    low, high = raster.buckets(np.empty(0), np.empty(0), np.arange(6.0), 5.0)
    assert np.isnan(low).all()
    assert np.isnan(high).all()
    for a, b in pairwise(raster.dots(low, high, 4)):
        assert (a > b).all()
