"""The recording's clock."""

from __future__ import annotations

import pytest

from engine.clock import RunningClock


class Ticker:
    """A monotonic clock moved by hand."""

    def __init__(self) -> None:
        self.at = 100.0

    def __call__(self) -> float:
        return self.at


def test_it_runs_with_the_monotonic_clock_at_its_speed() -> None:
    ticker = Ticker()
    clock = RunningClock(ticker, 1000.0, speed=5.0)
    ticker.at += 2.0
    assert clock.now() == pytest.approx(1010.0)


def test_a_change_of_speed_goes_on_from_now() -> None:
    ticker = Ticker()
    clock = RunningClock(ticker, 1000.0)
    ticker.at += 10.0
    clock.set_speed(60.0)
    ticker.at += 1.0
    assert clock.now() == pytest.approx(1070.0)


def test_a_jump_skips_ahead() -> None:
    ticker = Ticker()
    clock = RunningClock(ticker, 1000.0)
    clock.jump(3600.0)
    assert clock.now() == pytest.approx(4600.0)
