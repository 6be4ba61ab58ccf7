"""The block primitives against plain per-sample code, and for any split into blocks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.ops.primitives import (
    CumSum,
    Delay,
    Dwell,
    Hysteresis,
    Trailing,
    hold,
    last_good,
    previous,
    running_max,
)
from engine.ops.windows import RecentMedian, RunningMedian

VALUES = st.lists(
    st.one_of(st.floats(-100, 100), st.just(float("nan")), st.sampled_from([0.0, 1.0, 9.0])),
    max_size=60,
)
GAPS = st.lists(st.sampled_from([0.0, 0.1, 0.9, 1.0, 1.1, 7.0]), min_size=60, max_size=60)
CUTS = st.lists(st.integers(0, 60), max_size=8)


def parts(n: int, cuts: Sequence[int]) -> list[slice]:
    edges = [0, *sorted(min(c, n) for c in cuts), n]
    return [slice(a, b) for a, b in pairwise(edges)]


def times(n: int, gaps: Sequence[float]) -> np.ndarray:
    return 1.7e9 + np.cumsum(np.array(gaps[:n], float))


def check_split(make: Callable[[], Callable[..., object]], n: int, cuts: list[int], *columns):
    """One big block, single samples, and random blocks give the same bytes."""
    whole = np.asarray(make()(*columns))
    for each in (cuts, list(range(n))):
        run = make()
        got = [np.asarray(run(*(c[s] for c in columns))) for s in parts(n, each)]
        assert np.concatenate(got, axis=-1).tobytes() == whole.tobytes()


def test_hold_takes_the_newest_marked_sample_and_the_carry_before() -> None:
    value, mask = np.array([1.0, 2.0, 3.0, 4.0]), np.array([False, True, False, True])
    assert hold(value, mask, 9.0).tolist() == [9.0, 2.0, 2.0, 4.0]
    assert last_good(np.array([np.nan, 5.0, np.nan]), 7.0).tolist() == [7.0, 5.0, 5.0]
    assert previous(np.array([1, 2, 3]), 0).tolist() == [0, 1, 2]
    assert running_max(np.array([np.nan, 3.0, 1.0]), 2.0).tolist() == [2.0, 3.0, 3.0]


@given(VALUES, CUTS)
def test_hysteresis_is_the_plain_loop_and_nan_holds(values: list[float], cuts: list[int]) -> None:
    x = np.array(values, float)
    state, expected = False, []
    for v in values:
        state = True if v > 10.0 else False if v < -10.0 else state
        expected.append(state)
    assert Hysteresis(10.0, -10.0).process(x).tolist() == expected
    check_split(lambda: Hysteresis(10.0, -10.0).process, len(values), cuts, x)


def test_hysteresis_works_downwards() -> None:
    x = np.array([1.0, 0.3, 0.2, 0.4, 0.5, 0.44])
    got = Hysteresis(0.25, 0.45).process(x).tolist()
    assert got == [False, False, True, True, False, False]


class PlainDelay:
    def __init__(self) -> None:
        self.on, self.raw, self.start = False, None, 0.0

    def step(self, t: float, raw: bool) -> bool:
        if raw != self.raw:
            self.raw, self.start = raw, t
        if t - self.start >= (3.0 if raw else 2.0):
            self.on = raw
        return self.on


@given(VALUES, GAPS, CUTS)
def test_delay_is_the_plain_loop(values: list[float], gaps: list[float], cuts: list[int]) -> None:
    raw, t = np.array(values, float) > 0, times(len(values), gaps)
    plain = PlainDelay()
    expected = [plain.step(a, bool(b)) for a, b in zip(t, raw, strict=True)]
    assert Delay(3.0, 2.0).process(t, raw)[0].tolist() == expected

    def make() -> Callable[..., object]:
        op = Delay(3.0, 2.0)
        return lambda a, b: np.stack([np.asarray(x, float) for x in op.process(a, b)])

    check_split(make, len(values), cuts, t, raw)


def test_delay_dates_a_change_back_and_a_flicker_does_not_move_the_date() -> None:
    t = np.arange(12.0)
    raw = np.array([0, 0, 1, 1, 1, 1, 1, 0, 1, 1, 1, 1], bool)
    on, since = Delay(3.0, 2.0).process(t, raw)
    assert on.tolist() == [False] * 5 + [True] * 7
    assert np.isnan(since[:5]).all()
    assert since[5:].tolist() == [2.0] * 7


@given(VALUES, GAPS, CUTS)
def test_dwell_any_split(values: list[float], gaps: list[float], cuts: list[int]) -> None:
    code = (np.nan_to_num(np.array(values, float)) // 50).astype(np.int64)
    check_split(lambda: Dwell().process, len(values), cuts, times(len(values), gaps), code)


def test_dwell_counts_from_the_change() -> None:
    got = Dwell().process(np.array([0.0, 1.0, 5.0, 5.5]), np.array([1, 1, 2, 2]))
    assert got.tolist() == [0.0, 0.0, 5.0, 5.0]


@given(VALUES, CUTS)
def test_running_sum_is_the_plain_loop(values: list[float], cuts: list[int]) -> None:
    step = np.array(values, float)
    set_at, set_to = step > 90, step * 3
    total, expected = 0.0, []
    for s, at, to in zip(values, set_at, set_to, strict=True):
        total = to if at else total if np.isnan(s) else total + s
        expected.append(total)
    assert CumSum().process(step, set_at, set_to).tolist() == expected
    check_split(lambda: CumSum().process, len(values), cuts, step, set_at, set_to)


@given(VALUES, CUTS)
def test_running_median_any_split(values: list[float], cuts: list[int]) -> None:
    check_split(lambda: RunningMedian(5).process, len(values), cuts, np.array(values, float))


def test_running_median_kills_a_spike_and_keeps_nan() -> None:
    got = RunningMedian(3).process(np.array([1.0, 2.0, 99.0, np.nan, 3.0, 4.0]))
    assert got.tolist()[:3] == [1.0, 1.0, 2.0]
    assert np.isnan(got[3])
    assert got.tolist()[4:] == [3.0, 4.0]


def test_running_median_refuses_an_even_window() -> None:
    with pytest.raises(InputError, match="odd and > 0, got 4"):
        RunningMedian(4)


@given(VALUES, GAPS, CUTS)
def test_trailing_window_is_the_plain_loop(
    values: list[float], gaps: list[float], cuts: list[int]
) -> None:
    x, t = np.array(values, float), times(len(values), gaps)
    window = Trailing(3.0).process(t, x)
    for i in range(len(values)):
        inside = x[: i + 1][t[: i + 1] >= t[i] - 3.0]
        if not np.isnan(inside).any():
            assert window.total()[i] == pytest.approx(inside.sum(), abs=1e-9)
            assert window.largest()[i] == inside.max()
            assert window.smallest()[i] == inside.min()
        assert window.full[i] == bool((t[: i + 1] < t[i] - 3.0).any())

    def make() -> Callable[..., object]:
        op = Trailing(3.0)

        def run(a: np.ndarray, b: np.ndarray) -> np.ndarray:
            w = op.process(a, b)
            return np.stack([w.total(), w.largest(), w.smallest(), w.full.astype(float)])

        return run

    check_split(make, len(values), cuts, t, x)


def test_nothing_in_is_nothing_out() -> None:
    none, no = np.empty(0), np.empty(0, bool)
    assert Hysteresis(1.0, 0.0).process(none).size == 0
    assert Delay(1.0, 1.0).process(none, no)[0].size == 0
    assert CumSum(4.0).process(none, no, none).size == 0
    assert RunningMedian().process(none).size == 0
    assert Trailing(3.0).process(none, none).total().size == 0


@given(VALUES, GAPS, CUTS)
def test_recent_median_any_split_and_forgets_over_a_gap(
    values: list[float], gaps: list[float], cuts: list[int]
) -> None:
    x, t = np.array(values, float), times(len(values), gaps)
    check_split(lambda: RecentMedian(5, 2.0).process, len(values), cuts, t, x)
    got = RecentMedian(3, 30.0).process(np.array([0.0, 1, 2, 40, 41]), np.array([1.0, 1, 1, 9, 8]))
    assert got.tolist() == [1.0, 1.0, 1.0, 9.0, 9.0]
