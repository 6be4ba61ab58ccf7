"""What the return gauge shows after the pumps stop: learnt, above the learnt, never learnt.

A flow line that empties exponentially; shares of the full flow worked out by hand.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from engine.detect.drain_back import DrainBack
from engine.detect.settings_connections import ConnectionSettings
from engine.units import BBL

FULL = 0.045
LINE_S = 25.0
NAN = float("nan")
BPM = BBL / 60
"""5.9 % of the flow."""


def drains(t: float) -> float:
    return float(np.exp(-t / LINE_S))


def above(flow: float) -> Callable[[float], float]:
    """Return a drain-back with `flow` [m3/s] on top."""
    return lambda t: drains(t) + flow / FULL


def begun(late: float) -> Callable[[float], float]:
    """Return a drain-back that began so much later. [s]"""
    return lambda t: drains(t - late)


def stop(
    one: DrainBack, share: Callable[[float], float], until: int = 300, accepted: bool = True,
    bit: Callable[[float], float] = lambda _: 2400.0,
) -> list[int]:  # fmt: skip
    """Go through a stop; return the times at which flow was called. [s]"""
    for _ in range(60):
        one.pumping(FULL)
    one.begin()
    called = []
    for t in range(0, until, 5):
        if one.step(float(t), share(t) * FULL, bit(t)):
            called.append(t)
    one.end(accepted)
    return called


def learnt(stops: int, noise: float = 0.0, seed: int = 1) -> DrainBack:
    """Return one that knows so many stops of a gauge that wavers by `noise`. [-]"""
    rng = np.random.default_rng(seed)
    one = DrainBack(ConnectionSettings())
    for _ in range(stops):
        stop(one, lambda t: drains(t) + noise * float(rng.normal()))
    return one


def test_half_a_barrel_a_minute_above_a_known_drain_back_is_called_and_a_quarter_is_not() -> None:
    """0.3 bbl/min is the limit."""
    for rate, called in ((0.5, True), (0.25, False)):
        times = stop(learnt(3), above(rate * BPM))
        assert bool(times) is called
        if called:
            assert times[0] < 120


def test_two_stops_do_not_tell_the_zero_of_a_gauge() -> None:
    """5 % of the flow is the limit then: half a barrel a minute is 2.9 %, a whole one 5.9 %."""
    assert pytest.approx(0.0294, abs=1e-4) == 0.5 * BPM / FULL
    assert stop(learnt(2), above(0.5 * BPM)) == []
    assert stop(learnt(2), above(BPM)) != []


def test_a_gauge_that_wavers_has_a_limit_of_its_own() -> None:
    """2 % from reading to reading, two readings to a point: 1.4 %, of which four are the limit."""
    one = learnt(8, noise=0.02)
    rng = np.random.default_rng(7)
    for _ in range(100):
        assert stop(one, lambda t: drains(t) + 0.02 * float(rng.normal()), accepted=False) == []
    assert one.expected(200.0)[1] == pytest.approx(4 * 0.014, rel=0.25)
    assert stop(one, above(0.5 * BPM), accepted=False) == []
    assert stop(one, above(2 * BPM), accepted=False) != []


def test_coarse_readings_that_are_mostly_the_same_are_not_taken_for_sure() -> None:
    """Steps of 0.9 % of the flow and a waver of 0.7 %: half of all readings are the same."""
    rng = np.random.default_rng(5)

    def coarse(t: float) -> float:
        return round((drains(t) + 0.007 * float(rng.normal())) / 0.009) * 0.009

    one = DrainBack(ConnectionSettings())
    for _ in range(8):
        stop(one, coarse)
    one.begin()
    assert 4 * 0.006 < one.expected(200.0)[1] < 4 * 0.012


def test_a_stop_that_began_a_few_seconds_later_than_its_bin_is_like_the_others() -> None:
    """Where the curve falls fast, seconds make more than 0.3 bbl/min."""
    for late in (2.0, 5.0, 8.0):
        assert drains(40 - late) - drains(40) > 0.3 * BPM / FULL - 0.002
        assert stop(learnt(8), begun(late)) == []


def test_never_learnt_what_falls_is_a_long_flow_line_and_what_holds_is_flow() -> None:
    """75 s of storage, the longest on land: 8 s of them to the gauge, 67 s of flow line."""
    unknown = DrainBack(ConnectionSettings())
    assert stop(unknown, lambda t: float(np.exp(-t / 67)), accepted=False) == []
    assert stop(unknown, lambda t: drains(t) + 0.08, accepted=False)[0] == 120
    assert unknown.holds == pytest.approx(0.08 * FULL, rel=0.01)


def test_one_wild_reading_is_no_flow_and_neither_is_a_gauge_that_says_nothing() -> None:
    wild = stop(learnt(3), lambda t: drains(t) + (0.9 if t == 150 else 0.0))
    assert wild == []
    assert stop(learnt(3), lambda _: NAN) == []


def test_what_pipe_pushed_out_counts_little_until_the_line_has_run_empty_again() -> None:
    """12 % of the flow while 25 m of pipe go in, then the line empties: 3.6 % half a minute on."""

    def pushed(t: float) -> float:
        since = t - 160
        return drains(t) + (0.12 * drains(since) if since > 0 else 0.12 * (t > 100))

    def bit(t: float) -> float:
        return 2300.0 + 25.0 * min(max((t - 100) / 60, 0.0), 1.0)

    assert 0.12 * drains(30) > 0.3 * BPM / FULL
    assert stop(learnt(8), pushed, bit=bit) == []
    assert stop(learnt(8), lambda t: pushed(t) + BPM / FULL, bit=bit) != []


def test_a_stop_that_is_not_accepted_teaches_nothing() -> None:
    one = learnt(3)
    before = one.expected(200.0)
    for _ in range(4):
        stop(one, lambda t: drains(t) + 0.04, accepted=False)
    assert one.expected(200.0) == before
    for _ in range(4):
        stop(one, lambda t: drains(t) + 0.04)
    assert one.expected(200.0)[0] == pytest.approx(before[0] + 0.04)
