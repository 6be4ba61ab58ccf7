"""Specific energy and drilling exponent where there is nothing to show."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import FT, HOUR, IN, LBF
from engine.well.answer import Unknown
from engine.well.efficiency import (
    bit_rotation,
    corrected_d_exponent,
    d_exponent,
    rotary_power,
    sliding_coefficient,
    specific_energy,
    torque_per_weight,
)
from tests.check_rows import row

NAN = float("nan")
RPM = 2 * pi / 60
M_H = 1 / HOUR


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown), answer
    return answer.reason


@row("G08")
def test_no_progress_leaves_only_the_power() -> None:
    """G08: rate 0 on bottom: energy and d unknown, rotary power still shown."""
    found = specific_energy(1.5e5, 120 * RPM, 6e3, 0.0, 0.2159)
    assert reason(found.total) == "nothing is drilled: below 0.1 m/h"
    assert reason(found.rotary) == reason(found.total)
    assert found.power == pytest.approx(120 * RPM * 6e3)
    assert reason(d_exponent(0.0, 120 * RPM, 1.5e5, 0.2159)) == reason(found.total)


@row("G09")
def test_a_sliding_string_has_only_the_axial_part_and_says_so() -> None:
    """G09: no rotation: weight over area, marked; d unknown."""
    found = specific_energy(1.5e5, 0.0, 6e3, 10 * M_H, 0.2159)
    assert found.axial_only
    assert found.rotary == 0.0
    assert found.total == found.axial == pytest.approx(1.5e5 / (pi / 4 * 0.2159**2))
    assert reason(d_exponent(10 * M_H, 0.0, 1.5e5, 0.2159)) == "the bit does not turn"
    turning = specific_energy(1.5e5, 60 * RPM, 6e3, 10 * M_H, 0.2159)
    assert not turning.axial_only


@row("G10")
def test_a_ratio_of_one_has_no_exponent() -> None:
    """G10: R >= 60 N, or 12 W >= 1e6 D."""
    rate = 60 * 1.0 * FT * M_H  # 60 ft/h at 1 rpm: a foot in each turn
    assert reason(d_exponent(rate * 1.0001, RPM * 1.0000001, 1.5e5, 0.2159)).startswith("a foot")
    heavy = 1e6 * 8.5 / 12 * LBF
    assert reason(d_exponent(30 * FT * M_H, 120 * RPM, heavy * 1.0001, 8.5 * IN)).startswith(
        "a mil"
    )
    assert isinstance(d_exponent(30 * FT * M_H, 120 * RPM, heavy * 0.99, 8.5 * IN), float)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"weight": 0.0}, "there is no weight on the bit"),
        ({"weight": NAN}, "weight on bit is unknown"),
        ({"weight": -5e4}, "must not be negative"),
        ({"torque": 0.0}, "torque reads 0 while the bit turns"),
        ({"torque": NAN}, "torque is unknown"),
        ({"rotation": NAN}, "rotation is unknown"),
        ({"rotation": -1.0}, "must not be negative"),
        ({"rate": NAN}, "rate of penetration is unknown"),
        ({"rate": -1.0}, "must not be negative"),
        ({"diameter": 0.0}, "must be above 0"),
        ({"diameter": 1e-9}, "the bit is too small"),
    ],
)
def test_a_reading_that_cannot_be_gives_no_energy(given: dict[str, float], words: str) -> None:
    usual = {"weight": 1.5e5, "rotation": 12.0, "torque": 6e3, "rate": 3e-3, "diameter": 0.2159}
    assert words in reason(specific_energy(**(usual | given)).total)


def test_a_muds_correction_needs_a_mud() -> None:
    assert corrected_d_exponent(1.8, 1078.0, 1078.0) == pytest.approx(1.8)
    assert reason(corrected_d_exponent(Unknown("sliding"), 1078.0, 1200.0)) == "sliding"
    assert "mud density" in reason(corrected_d_exponent(1.8, 1078.0, 0.0))


def test_torque_for_weight_needs_weight() -> None:
    assert torque_per_weight(6e3, 1.5e5) == pytest.approx(0.04)
    assert sliding_coefficient(6e3, 1.5e5, 0.24) == pytest.approx(0.5)
    assert reason(sliding_coefficient(6e3, 0.0, 0.24)) == "there is no weight on the bit"
    assert rotary_power(0.0, 6e3) == 0.0
    assert bit_rotation(0.0, 0.0, 250.0) == 0.0
    assert "flow" in reason(bit_rotation(1.0, -1.0, 250.0))


@given(
    st.floats(1e3, 5e5), st.floats(0.2, 30), st.floats(10, 5e4), st.floats(1e-4, 0.03),
    st.floats(0.1, 0.7),
)  # fmt: skip
def test_energy_is_work_over_volume(w: float, n: float, t: float, v: float, d: float) -> None:
    """Work of a second, W v + N T, over the rock of a second, A v."""
    found = specific_energy(w, n, t, v, d).total
    assert found == pytest.approx((w * v + n * t) / (pi / 4 * d * d * v), rel=1e-9)
