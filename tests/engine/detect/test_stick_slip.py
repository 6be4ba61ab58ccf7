"""Torque that swings in time, what only looks so, and which rates can see it.

Period of 2 to 10 s: J. D. Jansen and L. van den Steen, Journal of Sound and Vibration 179, 1995,
647-668 (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.detect.torque_swing import swing_of
from tests.string_rows import blind, calls, check_splits, evidence
from tests.tables import NAN, block_of, table_of, with_bits

AT = 120.0


def rows(
    swing: float, *, hz: float = 10.0, depth: float = 2500.0, period: float = 4.0,
    seconds: float = 300.0, noise: float = 0.03, extra: object = 0.0, seed: int = 1,
) -> dict[str, Block]:  # fmt: skip
    """Return torque that swings by `swing` of its mean from `AT` on."""
    rng = np.random.default_rng(seed)
    t = np.arange(round(seconds * hz)) / hz
    torque = 9e3 * (1 + swing * (t >= AT) * np.sin(2 * np.pi * t / period) + extra)
    torque *= 1 + noise * rng.standard_normal(t.size)
    return table_of(
        step=1 / hz, torque=torque, rotary=7.3, on_bottom=1.0, bit_depth=depth, hole_depth=depth
    )


@pytest.mark.parametrize("period", [2.2, 4.7, 9.0])
def test_a_swing_of_more_than_a_quarter_is_called_in_half_a_minute(period: float) -> None:
    out = calls(rows(0.35, period=period), "stick_slip")
    at = next(t for t, _, event in out if event == "warning")
    assert 0 < at - AT <= 30
    said = evidence(rows(0.35, period=period), "stick_slip", "warning")
    assert said["period_s"] == pytest.approx(period, rel=0.1)
    assert said["rate_hz"] == pytest.approx(10)


def test_a_smaller_swing_is_an_advice_and_none_is_nothing() -> None:
    assert {e for _, _, e in calls(rows(0.2), "stick_slip")} == {"advice"}
    assert calls(rows(0.08), "stick_slip") == []


def test_it_ends_half_a_minute_after_the_last_swing() -> None:
    table = rows(0.35)
    t = np.arange(len(table["torque"])) / 10
    torque = np.where(t < 200, table["torque"].value, 9e3)
    out = calls(table | {"torque": block_of(table["torque"].t, torque)}, "stick_slip")
    assert out[-1][2] == "end"
    assert 30 <= out[-1][0] - 200 <= 80


@pytest.mark.parametrize("seed", range(10))
def test_noise_of_a_third_is_no_swing(seed: int) -> None:
    assert calls(rows(0.0, noise=0.33, seed=seed), "stick_slip") == []


@pytest.mark.parametrize("shape", ["step", "slope", "pulse"])
def test_torque_that_changes_is_no_swing(shape: str) -> None:
    t = np.arange(3000) / 10
    extra = {
        "step": 0.8 * (t >= AT), "slope": 0.02 * np.clip(t - AT, 0, 60),
        "pulse": 0.8 * ((t >= AT) & (t < AT + 6)),
    }[shape]  # fmt: skip
    assert calls(rows(0.0, extra=extra), "stick_slip") == []


def test_one_reading_a_second_sees_deep_swings_and_is_blind_to_shallow_ones() -> None:
    """Periods of 2.2 and 4.7 s at 1 and 3 km; at 1 Hz the one lies next to Nyquist's limit."""
    deep, shallow = (rows(0.4, hz=1.0, depth=d, period=p) for d, p in ((3000, 4.7), (1000, 2.2)))
    assert "warning" in {e for _, _, e in calls(deep, "stick_slip")}
    assert calls(shallow, "stick_slip") == []
    why = "torque comes 1 times a second, too seldom for a swing at this depth"
    assert blind(shallow, "stick_slip") == [("blind", why)]
    assert blind(deep, "stick_slip") == []


@pytest.mark.parametrize(("hz", "word"), [(0.2, "0.2"), (0.5, "0.5"), (2.0, "2")])
def test_it_says_which_rate_it_has(hz: float, word: str) -> None:
    (_, reason), *more = blind(rows(0.4, hz=hz, depth=100.0), "stick_slip")
    assert reason.startswith(f"torque comes {word} times a second")
    assert more == []


def test_repeated_readings_do_not_make_a_rate() -> None:
    table = rows(0.4, depth=500.0, period=2.0)
    held = np.arange(len(table["torque"])) % 10 != 0
    slow = table | {"torque": with_bits(table["torque"], Quality.HELD, held)}
    assert blind(slow, "stick_slip")[0][1].startswith("torque comes 1 times a second")


@pytest.mark.parametrize("name", ["torque", "rotary", "on_bottom"])
def test_it_is_blind_without_what_it_needs(name: str) -> None:
    table = rows(0.4)
    lost = table | {name: block_of(table[name].t, NAN)}
    assert blind(lost, "stick_slip") == [("blind", f"no {name}")]
    assert calls(lost, "stick_slip") == []


def test_a_sine_has_the_amplitude_of_its_percentiles() -> None:
    """Worked by hand: 5th and 95th percentile of a sine are -+sin(0.45 pi) = 0.9877."""
    t = np.arange(0, 30, 0.1)
    found = swing_of(t, 10 + 3 * np.cos(2 * np.pi * t / 5))
    assert found.amplitude == pytest.approx(0.3 * 0.9877, rel=0.01)
    assert found.period == pytest.approx(5.0, abs=0.2)
    assert found.periodicity > 0.95


@pytest.mark.parametrize("hz", [1.0, 5.0])
def test_any_split_gives_the_same_lines(hz: float) -> None:
    entries = check_splits(rows(0.4, hz=hz, seconds=250.0))
    assert any(e.id == "stick_slip" and e.event == "warning" for e in entries)
