from __future__ import annotations

from datetime import timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import DISPLAY
from tui.format import Formatter, age, duration, fit

METRIC, OILFIELD = Formatter(), Formatter(DISPLAY["oilfield"])


@pytest.mark.parametrize(
    ("channel", "value", "metric", "oilfield"),
    [
        ("hook_load", 1.0e6, "1000.0", "224.8"),
        ("standpipe_pressure", 1.0e7, "10000", "1450"),
        ("bit_depth", 1000.0, "1000.00", "3280.84"),
        ("flow_in", 0.05, "3000", "793"),
        ("pit_volume", 41.2, "41.20", "259.1"),
        ("rop", 0.01, "36.0", "118.1"),
        ("temperature_out", 373.15, "100.0", "212.0"),
        ("gas", 0.021, "2.1", "2.1"),
        ("block_speed", 0.5, "0.50", "98"),
    ],
)
def test_values_are_shown_in_the_units_of_the_well(
    channel: str, value: float, metric: str, oilfield: str
) -> None:
    """NIST SP 811 (2008), app. B.8: lbf 4.448222 N, psi 6894.757 Pa, gal 3.785412e-3 m3."""
    assert METRIC.text(channel, value) == metric
    assert OILFIELD.text(channel, value) == oilfield


def test_unknown_is_dashes_and_zero_is_zero() -> None:
    """R-02."""
    assert METRIC.number("hook_load", None, 8) == "    ----"
    assert METRIC.number("hook_load", float("nan"), 8) == "    ----"
    assert METRIC.number("hook_load", 0.0, 8) == "     0.0"


@given(st.floats(-1e12, 1e12, allow_nan=False), st.integers(0, 4), st.integers(1, 14))
def test_a_number_is_never_clipped(number: float, decimals: int, width: int) -> None:
    """R-03: what is shown reads back as the number, to the last figure shown."""
    text = fit(number, decimals, width)
    assert abs(float(text) - number) <= max(0.5 if "e" not in text else 0.005 * abs(number), 1e-9)
    if len(text) > width:
        assert len(f"{number:.0f}") > width


def test_a_negative_zero_shows_no_sign() -> None:
    assert fit(-0.0001, 2, 6) == "  0.00"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.4, "0s"), (99.9, "99s"), (100, "1m"), (5999, "99m"), (6000, "1h"), (4e5, "4d"),
     (float("inf"), "--")],
)  # fmt: skip
def test_an_age_takes_at_most_four_characters(seconds: float, text: str) -> None:
    assert age(seconds) == text
    assert len(text) <= 4


def test_a_running_time_shows_hours_only_when_there_are_any() -> None:
    assert duration(245) == "4:05"
    assert duration(4350) == "1:12:30"
    assert duration(None) == "-:--"


def test_the_clock_is_that_of_the_zone() -> None:
    at = 1_773_468_753.0  # 2026-03-14T06:12:33Z
    assert METRIC.clock(at) == "06:12:33"
    assert Formatter(zone=timezone(timedelta(hours=2))).clock(at) == "08:12:33"
    assert METRIC.clock(None) == "--:--:--"
