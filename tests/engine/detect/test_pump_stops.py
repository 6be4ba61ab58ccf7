"""Levels before and at the end of a stop of the pumps."""

from __future__ import annotations

from math import exp, isnan

import numpy as np
import pytest

from engine.detect.pump_stops import PumpStops

FLOW = 0.045


def test_the_level_before_is_a_mean_of_a_minute_not_the_last_wave() -> None:
    """White noise of 1: a mean with a time constant of 60 s in bins of 5 s leaves 0.204 of it."""
    rng = np.random.default_rng(2)
    found = []
    for _ in range(2000):
        one = PumpStops()
        for i in range(60):
            one.step(5.0 * i, float(rng.normal()), FLOW, pumping=True, steady=True)
        found.append(one.off_from)
    keep = exp(-5 / 60)
    assert np.std(found) == pytest.approx(((1 - keep) / (1 + keep)) ** 0.5, rel=0.06)


def test_the_level_of_before_the_flow_had_settled_is_forgotten() -> None:
    one = PumpStops()
    for i in range(20):
        one.step(5.0 * i, 50.0, FLOW, pumping=True, steady=False)
    assert isnan(one.off_from)
    for i in range(3):
        one.step(100.0 + 5 * i, 40.0 + i, FLOW, pumping=True, steady=True)
    assert one.off_from == pytest.approx(41.0)
    one.step(115.0, 60.0, 0.0, pumping=False, steady=False)
    assert one.off_from == pytest.approx(41.0)
    one.step(120.0, 55.0, FLOW, pumping=True, steady=False)
    one.step(125.0, float("nan"), FLOW, pumping=True, steady=True)
    assert isnan(one.off_from)  # the level of before is none of now


def test_a_stop_teaches_what_the_flow_line_held_in_seconds_of_flow() -> None:
    """37 s of 45 L/s are 1.665 m3."""
    one = PumpStops()
    for i in range(40):
        one.step(5.0 * i, 60.0, FLOW, pumping=True, steady=True)
    for i in range(40, 100):
        assert isnan(one.step(5.0 * i, 61.665, 0.0, pumping=False, steady=False))
    assert one.step(500.0, 61.5, FLOW, pumping=True, steady=False) == pytest.approx(37.0)
    assert isnan(one.step(505.0, 61.0, FLOW, pumping=True, steady=False))
