"""Published and defined numbers behind units, buoyancy, weight on bit, depth and rate.

Sources: [A] NIST Special Publication 811 (2008), app. B; [B] NIST Handbook 44, app. C;
[C] Buoyancy factor calculation and its application (after Lapeyrouse), worked example;
[D] Buoyancy factor using mud weight (after Lyons, Carter and Lapeyrouse, 3rd ed., p. 24).
``own`` is a computation of this project from exact definitions, ``memory`` common practice
that was not looked up.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.config import Component
from engine.errors import InputError
from engine.ops.block_motion import BlockSpeed
from engine.ops.rop import Rop
from engine.ops.string_weight import StringWeight, buoyancy_factor
from engine.units import (
    BBL,
    FT,
    G0,
    GAL,
    HOUR,
    HP,
    IN,
    LB100,
    LBF,
    PPG,
    PSI,
    TON_MILE,
    convert,
    unit,
)
from tests.check_rows import row
from tests.tables import T0


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(PSI, 6894.757, 5e-4, id="U01 [A] psi"),
        pytest.param(PSI, 6894.757293168361, 6e-12, id="U02 own psi"),
        pytest.param(LBF, 4.4482216152605, 5e-14, id="U03 [A] lbf"),
        pytest.param(GAL * 1000, 3.785411784, 1e-12, id="U04 [B] gallon"),
        pytest.param(BBL, 0.158987294928, 1e-13, id="U05 [B] barrel, 42 gallons"),
        pytest.param(PPG, 119.826427317, 1e-7, id="U06 [A] lb/gal"),
        pytest.param(1000 / PPG, 8.34540445202, 1e-9, id="U07 own water in lb/gal"),
        pytest.param(PPG * G0 * FT / PSI, 12 / 231, 1e-14, id="U08 own 0.0519 psi/ft per ppg"),
        pytest.param(PSI / FT / 1000, 22.6205947939, 1e-8, id="U09 own psi/ft in kPa/m"),
        pytest.param(FT * LBF, 1.35581794833, 1e-10, id="U10 [A] ft lbf"),
        pytest.param(HP, 745.6999, 5e-5, id="U11 [A] horsepower"),
        pytest.param(GAL / 60, 6.30901964e-05, 6e-14, id="U12 [A] gpm"),
        pytest.param(convert(1, "kdaN", "klbf"), 2.248089431, 1e-9, id="U13 own kdaN in klbf"),
        pytest.param(convert(1, "tf", "klbf"), 2.20462262185, 1e-10, id="U14 own tf in klbf"),
        pytest.param(convert(212, "degF", "degC"), 100.0, 1e-9, id="U15 [A] boiling water"),
        pytest.param(10 * unit("degF").factor, 5.55555555556, 1e-10, id="U16 own difference"),
        pytest.param(LB100, 0.478802589803, 1e-11, id="U17 own lbf/100 ft2"),
        pytest.param(TON_MILE / 1e6, 14.3174375344, 1e-9, id="U18 own ton mile in MJ"),
        pytest.param(5.7e6 / PSI, 826.715, 1e-3, id="U19 own 5.7 MPa in psi"),
        pytest.param(350 * BBL, 55.6455532248, 1e-9, id="U20 own 350 bbl in m3"),
        pytest.param(IN / 32 * 1000, 0.79375, 1e-12, id="U21 own nozzle 32nd in mm"),
        pytest.param(convert(30, "ft_h", "m_h"), 9.144, 1e-9, id="D06 own ft/h in m/h"),
        pytest.param(1 / convert(30, "ft_h", "ft_min"), 2.0, 1e-9, id="D07 own min/ft at 30 ft/h"),
        pytest.param(convert(0.005, "m_s", "m_h"), 18.0, 1e-9, id="D08 own 5 mm in 1 s, m/h"),
    ],
)
def test_the_units_are_those_that_were_published(got: float, want: float, within: float) -> None:
    assert got == pytest.approx(want, abs=within)


def string(*parts: tuple[float, float]) -> StringWeight:
    """Components of (length ft, weight lb/ft) from the bit up, in 12 ppg mud."""
    made = [
        Component.model_validate(
            {"name": str(i), "outer_in": 5, "inner_in": 4, "weight_lb_ft": w, "length_ft": n}
        )
        for i, (n, w) in enumerate(parts)
    ]
    return StringWeight(tuple(made), 12 * PPG)


def test_a_350_klbf_string_weighs_280_5_klbf_in_13_ppg_mud() -> None:
    """[C]: factor 0.8015, 280.5 klbf; [C] takes steel at 65.5 ppg, 0.02 % off 7850 kg/m3."""
    assert buoyancy_factor(13 * PPG) == pytest.approx(0.8015, abs=2e-4)
    assert 350 * buoyancy_factor(13 * PPG) == pytest.approx(280.5, abs=0.1)


def test_a_string_of_three_parts_adds_up() -> None:
    """Own: 600 x 150 + 900 x 49.3 + 8500 x 21.9 lb = 320,520 lbf in air; 12 ppg by [D]."""
    s = string((600, 150), (900, 49.3), (8500, 21.9))
    assert s.air(10_000 * FT) / LBF == pytest.approx(320_520, abs=0.5)
    assert s.buoyed(10_000 * FT) / LBF == pytest.approx(261_799, rel=3e-4)
    assert s.air(600 * FT) / LBF == pytest.approx(90_000, abs=0.5)
    assert s.air([0.0, -5.0]).tolist() == [0.0, 0.0]
    assert np.isnan(s.air(np.nan))
    assert s.air(10_100 * FT) / LBF == pytest.approx(322_710, abs=0.5)


def test_steel_displaces_its_weight_over_its_density() -> None:
    """Own: 21.9 lb/ft over 7850 kg/m3 on 1000 ft; closed end: a circle of 5 in."""
    s = string((1000, 21.9))
    assert s.steel_volume(1000 * FT) == pytest.approx(21.9 * 1000 * 0.45359237 / 7850, rel=1e-12)
    assert s.closed_volume(FT) == pytest.approx(np.pi / 4 * (5 * IN) ** 2 * FT, rel=1e-12)


def test_a_pipe_stretches_by_hooke() -> None:
    """From memory: 100,000 lbf on 10,000 ft of 5.275 in2 at 30e6 psi, 75.8 in."""
    pipe = Component.model_validate(
        {"name": "p", "outer_in": 5.0, "inner_in": 4.276, "weight_lb_ft": 19.5, "length_ft": 1e4}
    )
    stretch = StringWeight((pipe,), 0.0).stretch(10_000 * FT) * 100_000 * LBF
    assert stretch / IN == pytest.approx(75.8, abs=0.3)


@pytest.mark.parametrize("density", [-1.0, 7850.0, float("nan")])
def test_a_mud_as_heavy_as_steel_is_refused(density: float) -> None:
    with pytest.raises(InputError, match="mud density must be 0 to 7850 kg/m3, got"):
        buoyancy_factor(density)


def rate(t: list[float], depth: list[float]) -> float:
    """Newest rate of penetration. [m/h]"""
    at = T0 + np.array(t)
    d = 3000.0 + np.array(depth)
    on = np.ones(at.size, np.bool_)
    return float(Rop().process(at, d, np.maximum.accumulate(d), on).value[-1]) * HOUR


@row("D03 own")
def test_the_rate_is_the_least_squares_slope() -> None:
    """Own, D03: seven depths 10 s apart, all in the window: 11.1857 m/h."""
    t, y = [0, 10, 20, 30, 40, 50, 60], [0, 0.03, 0.05, 0.09, 0.11, 0.15, 0.19]
    assert rate(t, y) == pytest.approx(11.1857142857, rel=1e-9)


@row("D05 own")
def test_the_rate_takes_uneven_times() -> None:
    """Own, D05: 12.0 m/h."""
    assert rate([0, 5, 20, 30, 60], [0, 0.02, 0.07, 0.11, 0.2]) == pytest.approx(12.0, rel=1e-9)


def test_the_block_speed_is_a_least_squares_slope() -> None:
    """Own: 0.3 m/s up with 1 cm steps over 3 s of exact numbers."""
    t = T0 + np.arange(5.0)
    speed = BlockSpeed().process(t, np.array([1.0, 1.3, 1.6, 1.9, 2.2])).value
    assert np.isnan(speed[0])
    assert speed[1:] == pytest.approx(0.3, abs=1e-12)
