"""The well-control calculations as they are called by name, SI in and out."""

from __future__ import annotations

from math import isfinite

import pytest

from engine.errors import InputError
from engine.units import BBL, FT, LB, PPG, PSI, UNITS
from engine.well import kill_calculations, rate_calculations
from engine.well.answer import Unknown

ALL = {
    c.name: c for m in (kill_calculations, rate_calculations) for c in m.CALCULATIONS
}  # fmt: skip
WELL = {
    "mud_weight": 10.5 * PPG, "tvd": 10_000 * FT, "sidpp": 400 * PSI, "sicp": 520 * PSI,
    "gain": 20 * BBL, "slow_pressure": 600 * PSI, "slow_rate": 40 / 60,
    "stroke_volume": 0.119472057 * BBL, "string_volume": 167.965 * BBL,
    "open_hole_volume": 217.517 * BBL, "cased_volume": 244.607 * BBL, "shoe_tvd": 5000 * FT,
    "test_mud_weight": 9.8 * PPG, "test_pressure": 1500 * PSI, "collar_length": 600 * FT,
    "collar_annulus": 26.6875 / 1029.4 * BBL / FT, "pipe_annulus": 47.25 / 1029.4 * BBL / FT,
    "highest_mud_weight": 15.5 * PPG, "formation_density": 11 * PPG,
    "influx_gradient": 0.1 * PSI / FT, "margin": 0.0, "new_mud_weight": 11.3 * PPG,
    "pressure_rise": 100 * PSI, "time": 3600.0, "annulus": 0.0459 * BBL / FT,
    "kill_mud_weight": 11.3 * PPG, "front_md": 0.0, "front_tvd": 0.0, "md": 10_000 * FT,
    "pressure": 1800 * PSI, "old_rate": 1.0, "new_rate": 0.5, "exponent": 2.0, "rate": 1.0,
    "pressure_2": 450 * PSI, "rate_2": 0.5, "pumped": 50 * BBL, "volume": 100 * BBL,
    "barite_density": 35 * PPG, "new_pressure": 900 * PSI,
}  # fmt: skip
"""The invented well of the field sheet; 10.5 ppg, 10,000 ft."""


def given(name: str) -> dict[str, float]:
    return {i.name: WELL[i.name] for i in ALL[name].inputs}


def shown(name: str, output: str, unit: str) -> float:
    answer = ALL[name].run(given(name))[output]
    assert not isinstance(answer, Unknown), answer.reason
    return UNITS[unit].from_si(answer)


@pytest.mark.parametrize("name", ALL)
def test_every_calculation_gives_all_it_promises_and_prints_the_caution(name: str) -> None:
    found = ALL[name].run(given(name))
    assert set(found) == {o.name for o in ALL[name].outputs}
    assert all(isinstance(a, float) and isfinite(a) for a in found.values())
    assert ALL[name].caution


@pytest.mark.parametrize("name", ALL)
def test_every_calculation_names_all_missing_inputs_at_once(name: str) -> None:
    with pytest.raises(InputError) as error:
        ALL[name].run({})
    for i in ALL[name].inputs:
        assert i.default is not None or f"{i.name} is missing" in str(error.value)


@pytest.mark.parametrize("name", ALL)
def test_no_zero_makes_a_calculation_fail_or_show_an_infinity(name: str) -> None:
    """Also all inputs 0 at once, where 0 is allowed."""
    inputs = ALL[name].inputs
    for zeros in ([i] for i in inputs), (inputs,):
        for some in zeros:
            values = given(name) | {i.name: max(i.low, 0.0) for i in some}
            for answer in ALL[name].run(values).values():
                assert isinstance(answer, Unknown) or isfinite(answer)


def test_the_field_sheet_by_name_is_the_hand_filled_one() -> None:
    """By hand with the formulas of the IADC WellSharp field sheet, rev. 3 (2018)."""
    name = "kill-sheet-field"
    assert shown(name, "kill", "ppg") == pytest.approx(11.3, abs=1e-9)
    assert shown(name, "initial", "psi") == pytest.approx(1000, abs=1e-9)
    assert shown(name, "final", "psi") == pytest.approx(646, abs=1e-9)
    assert shown(name, "step", "psi") == pytest.approx(25, abs=1e-9)
    assert shown(name, "to_bit", "count") == 1406
    assert shown(name, "time_to_bit", "min") == pytest.approx(35.15, abs=0.05)
    assert shown(name, "maasp", "psi") == pytest.approx(1300, abs=1e-9)
    assert shown(name, "influx_height", "ft") == pytest.approx(696.836, abs=0.01)
    assert shown(name, "influx_gradient", "psi_ft") == pytest.approx(0.37379, abs=1e-5)


def test_field_barite_is_pounds_per_barrel_in_si() -> None:
    """48.98 lb/bbl: 1500 of the IWCF field sheet (2000)."""
    assert shown("barite-field", "barite", "kg_m3") == pytest.approx(48.97959 * LB / BBL, rel=1e-6)
    exact = 4200 * 0.8 / (4200 / PPG - 11.3)
    assert shown("barite", "barite", "kg_m3") == pytest.approx(exact, rel=1e-9)


def test_other_numbers_by_name_agree_with_their_sheets() -> None:
    """IWCF: 183 ft/h. Lapeyrouse: 450 psi. kick tolerance by hand: 2331.8 ft, 75.4 bbl."""
    assert shown("gas-migration-field", "speed", "ft_h") == pytest.approx(183.150, abs=0.001)
    assert shown("pump-pressure-at-rate", "pressure", "psi") == pytest.approx(450)
    assert shown("rate-exponent", "exponent", "none") == pytest.approx(2)
    assert shown("kick-tolerance-field", "height", "ft") == pytest.approx(2331.84, abs=0.01)
    assert shown("kick-tolerance-field", "at_bottom", "bbl") == pytest.approx(75.41, abs=0.05)
    assert shown("kill-mud-weight-metric", "kill_mud_weight", "sg") == pytest.approx(1.36)
    assert shown("average-mud-weight", "average", "ppg") == pytest.approx(10.9)
    assert shown("boyle", "volume", "bbl") == pytest.approx(40)
    assert shown("drillpipe-pressure", "pressure", "psi") == pytest.approx(1000)
    assert shown("weight-up-volume", "increase", "bbl") == pytest.approx(100 * 0.8 / 23.7)
    assert shown("kick-tolerance-factor", "factor", "ppg") == pytest.approx(2.5)
