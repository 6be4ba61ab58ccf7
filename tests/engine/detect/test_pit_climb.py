"""A straight line through the pits of a stop; textbook least squares, numbers by hand."""

from __future__ import annotations

import numpy as np
import pytest

from engine.detect.at_connections import AtConnections
from engine.detect.pit_climb import WAVES, PitClimb
from engine.detect.settings_connections import ConnectionSettings
from engine.units import BBL

NAN = float("nan")


def climb(*points: tuple[float, float]) -> PitClimb:
    one = PitClimb()
    for t, v in points:
        one.add(t, v)
    return one


def test_rate_and_its_standard_deviation_by_hand() -> None:
    """At 0, 5 ... 25: squares about 12.5 make 437.5. v = 1, 1, 2, 2, 3, 3: slope 40/437.5."""
    one = climb((0, 1), (5, 1), (10, 2), (15, 2), (20, 3), (25, 3))
    rate, sd = one.fit(0.0, 0.1)
    assert rate == pytest.approx(40 / 437.5)
    assert sd == pytest.approx(0.1 * (WAVES / 437.5) ** 0.5)


def test_what_is_not_known_counts_for_nothing_and_five_bins_make_no_line() -> None:
    one = climb((0, 1), (5, 1), (10, NAN), (15, 2), (20, 3), (25, 3))
    assert np.isnan(one.fit(0.0, 0.1)).all()
    one.add(30.0, 3.5)
    assert np.isfinite(one.fit(0.0, 0.1)).all()
    assert np.isnan(one.fit(5.0, 0.1)).all()


def test_no_more_than_ten_minutes_are_looked_back_on() -> None:
    one = PitClimb()
    for t in range(0, 1205, 5):
        one.add(float(t), 0.0 if t < 600 else 0.01 * (t - 600))
    assert one.fit(0.0, 0.1)[0] == pytest.approx(0.01)


def test_the_standard_deviation_is_that_of_waves_of_eight_seconds() -> None:
    """4000 stops of three minutes of a first-order process: rate over sd has a spread of one."""
    rng = np.random.default_rng(3)
    keep = np.exp(-1 / 8)
    z = []
    for _ in range(4000):
        wave, level = rng.normal(), np.empty(180)
        for i, push in enumerate(rng.normal(size=180)):
            wave = keep * wave + np.sqrt(1 - keep**2) * push
            level[i] = wave
        one = PitClimb()
        for t, v in enumerate(np.median(level.reshape(36, 5), axis=1)):
            one.add(5.0 * t, float(v))
        rate, sd = one.fit(0.0, 1.0)
        z.append(rate / sd)
    assert np.std(z) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(
    ("gauge", "pits", "waves", "known", "both"),
    [
        (0.5, 0.5, 0.25, 0, True),
        (0.25, 0.5, 0.25, 0, False),  # the gauge shows less than 0.3 bbl/min
        (0.5, 0.2, 0.25, 0, False),  # the pits show less than half of what the gauge does
        (0.5, 0.5, 1.0, 0, False),  # the pits are too rough to tell: 0.5 is 1.1 deviations
        (0.5, 0.5, 0.25, 3, False),  # known well enough to be compared
    ],
)
def test_pits_bear_out_a_gauge(
    gauge: float, pits: float, waves: float, known: int, both: bool
) -> None:
    """Four minutes, the last two and a half in line: 31 bins, sum of squares 62,000 s2."""
    one = AtConnections(ConnectionSettings(), 180.0)
    one.prints.noise = waves * BBL
    one.drain.curves.extend([0.0] * 31 for _ in range(known))
    one.drain.holds = gauge * BBL / 60
    for t in range(0, 275, 5):
        one.prints.climb.add(float(t), pits * BBL / 60 * t)
    assert one._both(270.0) is both
