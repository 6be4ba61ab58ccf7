"""Rate of penetration: its window, its silence, and what it refuses to show."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from engine.block import Block, Quality
from engine.ops.rop import Rop
from engine.units import HOUR
from tests.check_rows import row
from tests.tables import NAN, T0, has


def run(depth: np.ndarray, on: np.ndarray | None = None, step: float = 1.0) -> Block:
    t = T0 + np.arange(depth.size) * step
    on = np.ones(depth.size, np.bool_) if on is None else on
    return Rop().process(t, depth, np.maximum.accumulate(depth), on)


@pytest.mark.parametrize("step", [0.1, 1.0, 5.0])
@pytest.mark.parametrize("metres_an_hour", [0.5, 6.0, 30.0, 120.0])
def test_a_steady_rate_is_found_at_every_speed(step: float, metres_an_hour: float) -> None:
    n = int(400 / step)
    rate = run(2400 + metres_an_hour / HOUR * step * np.arange(n), step=step)
    assert rate.value[-1] * HOUR == pytest.approx(metres_an_hour, rel=1e-6)


@given(st.lists(st.tuples(st.floats(1.01, 4), st.floats(0.001, 0.006)), min_size=30, max_size=40))
def test_the_rate_is_the_slope_that_scipy_finds(steps: list[tuple[float, float]]) -> None:
    """Uneven times a second apart or more, less than a quarter metre: all is in the window."""
    gaps, made = (np.array(x) for x in zip(*steps, strict=True))
    t, depth = T0 + np.r_[5.0, gaps].cumsum(), 2400 + np.r_[0.0, made].cumsum()
    t = np.r_[T0 - 20.0, t]
    depth = np.r_[2400.0, depth]
    rate = Rop().process(t, depth, depth, np.ones(t.size, np.bool_)).value[-1]
    theirs = linregress(t - T0, depth - 2400).slope
    assert rate == pytest.approx(theirs, rel=1e-6, abs=1e-9)


def test_nothing_is_shown_for_twenty_seconds() -> None:
    rate = run(2400 + 0.01 * np.arange(60))
    assert np.flatnonzero(~np.isnan(rate.value))[0] == 20
    assert has(rate, Quality.NO_REFERENCE)[:21] == [True] * 20 + [False]


def test_off_bottom_there_is_no_rate_and_the_window_starts_again() -> None:
    on = np.ones(200, np.bool_)
    on[100:110] = False
    rate = run(2400 + np.where(np.arange(200) < 110, 0.01, 0.002) * np.arange(200), on)
    assert has(rate, Quality.NOT_APPLICABLE)[100:110] == [True] * 10
    assert np.isnan(rate.value[100:130]).all()
    assert rate.value[130:] == pytest.approx(0.002, rel=1e-6)


def test_the_window_is_the_last_quarter_metre_but_thirty_seconds_at_least() -> None:
    """At 0.01 m/s a quarter metre takes 25 s: 30 s after a change the old rate is forgotten."""
    depth = 2400 + np.concatenate([0.002 * np.arange(300), 0.6 + 0.01 * np.arange(100)])
    rate = run(depth)
    assert rate.value[299] == pytest.approx(0.002, rel=1e-6)
    assert 0.002 < rate.value[315] < 0.01
    assert rate.value[331:] == pytest.approx(0.01, rel=1e-6)


def test_a_bit_that_makes_nothing_shows_zero_and_never_less() -> None:
    """5 mm of noise on a standing bit: 0 within 0.1 m/h after the longest window."""
    rng = np.random.default_rng(1)
    rate = run(2400 + 0.005 * rng.standard_normal(2000))
    late = rate.value[320:]
    assert (late >= 0).all()
    assert late.max() * HOUR < 0.1


def test_a_depth_that_runs_backwards_is_a_conflict_not_a_rate() -> None:
    rate = run(2400 - 0.001 * np.arange(100))
    assert np.isnan(rate.value).all()
    assert all(has(rate, Quality.CONFLICT)[30:])


@row("G16")
def test_equal_times_give_no_rate() -> None:
    """Own, G16: a fit over equal times has no slope."""
    rate = run(2400 + 0.01 * np.arange(30), step=0.0)
    assert np.isnan(rate.value).all()
    assert all(has(rate, Quality.NO_REFERENCE))


def test_reset_forgets_the_window() -> None:
    op = Rop()
    t, depth, on = T0 + np.arange(60.0), 2400 + 0.01 * np.arange(60), np.ones(60, np.bool_)
    op.process(t, depth, depth, on)
    op.reset()
    again = op.process(t + 60, depth + 9, depth + 9, on)
    assert np.isnan(again.value[:20]).all()
    assert again.value[30] == pytest.approx(0.01, rel=1e-6)


def test_a_gap_starts_a_new_window_and_leaves_no_old_rate_standing() -> None:
    t = T0 + np.concatenate([np.arange(100.0), 200 + np.arange(60.0)])
    depth = 2400 + np.concatenate([0.01 * np.arange(100), 1.5 + 0.002 * np.arange(60)])
    depth[90:95] = NAN
    on = np.ones(depth.size, np.bool_)
    rate = Rop().process(t, depth, np.fmax.accumulate(depth), on)
    assert rate.value[99] == pytest.approx(0.01, rel=1e-6)
    assert np.isnan(rate.value[100:120]).all()
    assert rate.value[121:] == pytest.approx(0.002, rel=1e-6)
    depth[40:90] = NAN
    rate = Rop().process(t, depth, np.fmax.accumulate(depth), on)
    assert np.isnan(rate.value[70:90]).all()
    assert not np.isnan(rate.value[69])
