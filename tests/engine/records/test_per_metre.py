"""What each metre took: rate over time on bottom, means, energy and exponents as by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.records.per_metre import Metre, per_metre
from engine.units import HOUR, IN
from engine.well.answer import Unknown
from engine.well.efficiency import corrected_d_exponent, d_exponent, specific_energy
from tests.check_rows import row
from tests.helpers import FakeRecording
from tests.tables import NAN, table_of, well

RPM = 2 * np.pi / 60
W, N, T, OFF, D = 150e3, 70 * RPM, 8e3, 3e3, 8.5 * IN
RATE = 5e-3
"""A metre in 200 s. [m/s]"""


def metres(hole: Any, step: float = 1.0, **more: Any) -> list[Metre]:
    columns = {
        "on_bottom": 1.0, "weight_on_bit": W, "rotary": N, "torque": T,
        "off_bottom_torque": OFF, "hole_depth": hole,
    } | more  # fmt: skip
    n = max(np.size(c) for c in columns.values())
    table = table_of(n, step, **{k: c for k, c in columns.items() if c is not None})
    return per_metre(FakeRecording(table), well())


def steady(n: int = 1001, start: float = 2400.0) -> np.ndarray:
    return start + RATE * np.arange(n)


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown)
    return answer.reason


def test_a_steady_run_gives_what_the_formulas_give_for_each_metre() -> None:
    found = metres(steady())
    assert [m.depth for m in found] == [2401, 2402, 2403, 2404, 2405]
    d = d_exponent(RATE, N, W, D)
    for m in found:
        assert m.drilled == pytest.approx(1.0, abs=1.1 * RATE)
        assert m.time == pytest.approx(200.0, abs=1.1)
        assert m.rate == pytest.approx(RATE)
        assert m.weight == pytest.approx(W)
        assert m.rotation == pytest.approx(N)
        assert (m.torque, m.off_bottom_torque, m.turned) == pytest.approx((T, OFF, 1.0))
        assert m.energy == pytest.approx(specific_energy(W, N, T - OFF, RATE, D).total)
        assert m.exponent == pytest.approx(d)
        assert m.corrected == pytest.approx(corrected_d_exponent(d, 1030.0, 1050.0))


@row("D04 own")
def test_the_rate_of_a_metre_is_what_was_made_over_the_time_it_took() -> None:
    """End points of the seven depths of D03, 10 s apart: 0.19 m in 60 s, 11.4 m/h."""
    hole = 2400.0 + np.array([0, 0.03, 0.05, 0.09, 0.11, 0.15, 0.19])
    (m,) = metres(hole, step=10.0)
    assert not isinstance(m.rate, Unknown)
    assert m.rate * HOUR == pytest.approx(11.4, abs=1e-9)


def test_the_rate_is_over_the_time_on_bottom_only() -> None:
    """By hand: half the metre, ten minutes off bottom, the other half: still 200 s."""
    first, second = 2400 + RATE * np.arange(101), 2400.5 + RATE * np.arange(101)
    hole = np.concatenate((first, np.full(600, 2400.5), second))
    on = np.concatenate((np.ones(101), np.zeros(600), np.ones(101)))
    (m,) = metres(hole, on_bottom=on)
    assert m.time == pytest.approx(200.0, abs=1.1)
    assert m.rate == pytest.approx(RATE, rel=0.01)


def test_means_are_over_time_whatever_the_spacing_of_the_rows() -> None:
    """100 kN for 120 s in rows of 10 s is no more than 200 kN for 80 s in rows of 1 s."""
    t = np.concatenate((np.arange(0, 121, 10.0), np.arange(121, 200.0)))
    weight = np.where(t <= 120, 100e3, 200e3)
    table = table_of(
        t.size, on_bottom=1.0, hole_depth=2400 + RATE * t, weight_on_bit=weight, rotary=N,
        torque=T, off_bottom_torque=OFF,
    )  # fmt: skip
    start = next(iter(table.values())).t[0]
    table = {k: Block(start + t, b.value, b.quality) for k, b in table.items()}
    (m,) = per_metre(FakeRecording(table), well())
    assert m.weight == pytest.approx((120 * 100e3 + 79 * 200e3) / 199)


def test_the_energy_is_all_the_work_over_the_volume() -> None:
    """Half the time at 2 kN m and 100 rpm, half at 8 and 40: work adds, not the means."""
    half = np.arange(200) < 100
    (m,) = metres(
        2400 + RATE * np.arange(200), torque=np.where(half, OFF + 2e3, OFF + 8e3),
        rotary=np.where(half, 100 * RPM, 40 * RPM),
    )  # fmt: skip
    area = np.pi / 4 * D**2
    work = (99 * 2e3 * 100 * RPM + 100 * 8e3 * 40 * RPM) / 199
    assert m.energy == pytest.approx(W / area + work / (area * RATE))


def test_a_gap_and_a_correction_of_the_depth_make_no_hole() -> None:
    hole = steady(600)
    hole[300:] += 2.0
    (a, b, *rest) = metres(hole)
    assert (a.depth, a.drilled) == (2401, pytest.approx(1.0, abs=1.1 * RATE))
    assert (b.depth, b.drilled) == (2402, pytest.approx(0.5, abs=1.1 * RATE))
    assert [m.depth for m in rest] == [2404, 2405]
    assert rest[0].drilled == pytest.approx(0.5, abs=1.1 * RATE)

    lost = steady(400)
    lost[100:150] = NAN
    (a, b) = metres(lost)
    assert a.drilled == pytest.approx(0.75, abs=2.1 * RATE)
    assert a.rate == pytest.approx(RATE)


def test_rows_that_are_too_far_apart_say_nothing_of_the_time_between() -> None:
    """Slow drilling, nothing received for 100 s: neither these 0.1 m nor the time count."""
    t = np.concatenate((np.arange(400.0), np.arange(500.0, 1000.0)))
    table = table_of(t.size, on_bottom=1.0, hole_depth=2400 + 1e-3 * t, torque=T, rotary=N)
    start = next(iter(table.values())).t[0]
    table = {k: Block(start + t, b.value, b.quality) for k, b in table.items()}
    (m,) = per_metre(FakeRecording(table), well())
    assert m.drilled == pytest.approx(0.898)
    assert m.time == pytest.approx(898.0)


def test_a_metre_drilled_again_is_as_it_was_drilled_last() -> None:
    """The driller sets the depth back from 2402 to 2400.5: what was below did not exist."""
    again = 2400.5 + 2 * RATE * np.arange(151)
    found = metres(np.concatenate((steady(400), again)))
    assert [m.depth for m in found] == [2401, 2402]
    assert found[1].rate == pytest.approx(2 * RATE)
    assert found[1].drilled == pytest.approx(1.0, abs=3 * RATE)
    assert found[0].drilled == pytest.approx(0.5, abs=3 * RATE)


def test_a_channel_known_less_than_half_of_the_time_has_no_mean() -> None:
    torque = np.where(np.arange(200) < 110, NAN, T)
    (m,) = metres(steady(200), torque=torque)
    assert "more than half" in reason(m.torque)
    assert "more than half" in reason(m.energy)
    assert isinstance(m.exponent, float)
    torque[90:] = T
    (m,) = metres(steady(200), torque=torque)
    assert m.torque == pytest.approx(T)


def test_a_frozen_sensor_is_not_averaged() -> None:
    table = table_of(200, on_bottom=1.0, hole_depth=steady(200), torque=T, rotary=N)
    torque = table["torque"]
    frozen = np.full(200, int(Quality.FROZEN), np.uint16)
    table["torque"] = Block(torque.t, torque.value, frozen)
    (m,) = per_metre(FakeRecording(table), well())
    assert "more than half" in reason(m.torque)


def test_a_metre_that_was_slid_has_the_axial_energy_and_no_exponent() -> None:
    """Case G09; the torque of a string that stands does not matter."""
    (m,) = metres(steady(200), rotary=0.0, off_bottom_torque=NAN)
    assert m.energy == pytest.approx(W / (np.pi / 4 * D**2))
    assert "turned for 0%" in reason(m.exponent)
    assert m.turned == 0.0


def test_a_recording_without_the_newer_channels_still_gives_the_rest() -> None:
    (m,) = metres(steady(200), off_bottom_torque=None)
    assert m.torque == pytest.approx(T)
    assert isinstance(m.energy, Unknown)
    assert isinstance(m.exponent, float)
    assert metres(steady(200), on_bottom=0.0) == []
    assert per_metre(FakeRecording(), well()) == []
    assert per_metre(FakeRecording(table_of(5, torque=T)), well()) == []


def test_the_cut_of_the_reading_does_not_matter() -> None:
    """Rows are read by the hour; three hours of slow drilling are one table or four."""
    n = 3 * 3600
    hole = 2400 + 1e-3 * np.arange(n)
    whole = metres(hole)
    assert sum(m.time for m in whole) == pytest.approx(n - 1)
    assert sum(m.drilled for m in whole) == pytest.approx(1e-3 * (n - 1))
    assert [m.rate for m in whole] == pytest.approx([3.6 / HOUR] * len(whole))
