"""Every unit against pint, a units library that keeps its own definitions; and there and back."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.units import UNITS, convert, units_of

REGISTRY = pint.UnitRegistry()
SI = {
    "length": "m", "area": "m**2", "capacity": "m**3/m", "gradient": "Pa/m", "viscosity": "Pa*s",
    "power": "W", "power_flux": "W/m**2", "work": "J", "acceleration": "m/s**2", "angle": "rad",
    "force": "N", "pressure": "Pa", "flow": "m**3/s", "volume": "m**3", "rotation": "rad/s",
    "stroke_rate": "1/s", "torque": "N*m", "speed": "m/s", "density": "kg/m**3",
    "temperature": "K", "linear_weight": "kg/m", "time": "s", "ratio": "", "count": "", "none": "",
}  # fmt: skip
PINT = {
    "m": "m", "mm": "mm", "cm": "cm", "ft": "foot", "in": "inch", "in32": "inch/32",
    "m2": "m**2", "mm2": "mm**2", "in2": "inch**2",
    "m3_m": "m**3/m", "l_m": "liter/m", "bbl_ft": "oil_bbl/foot",
    "Pa_m": "Pa/m", "kPa_m": "kPa/m", "bar_m": "bar/m", "psi_ft": "psi/foot",
    "Pa_s": "Pa*s", "cP": "centipoise",
    "W": "W", "kW": "kW", "hp": "horsepower",
    "W_m2": "W/m**2", "W_mm2": "W/mm**2", "hp_in2": "horsepower/inch**2",
    "J": "J", "MJ": "MJ", "ton_mile": "2000*force_pound*mile", "tkm": "metric_ton*g_0*km",
    "m_s2": "m/s**2", "rad": "rad", "deg": "degree",
    "N": "N", "kN": "kN", "kdaN": "1000*decanewton", "tf": "metric_ton*g_0",
    "klbf": "1000*force_pound", "lbf": "force_pound",
    "Pa": "Pa", "kPa": "kPa", "bar": "bar", "MPa": "MPa", "psi": "psi",
    "lb_100ft2": "force_pound/(100*foot**2)",
    "m3_s": "m**3/s", "l_min": "liter/minute", "l_s": "liter/s", "gpm": "gallon/minute",
    "bbl_min": "oil_bbl/minute",
    "m3": "m**3", "l": "liter", "bbl": "oil_bbl",
    "rad_s": "rad/s", "rpm": "revolution/minute", "per_s": "1/s", "spm": "1/minute",
    "Nm": "N*m", "kNm": "kN*m", "ft_lbf": "foot*force_pound", "kft_lbf": "1000*foot*force_pound",
    "m_s": "m/s", "m_h": "m/hour", "ft_h": "foot/hour", "ft_min": "foot/minute", "ft_s": "foot/s",
    "kg_m3": "kg/m**3", "sg": "kg/liter", "ppg": "pound/gallon",
    "kg_m": "kg/m", "lb_ft": "pound/foot",
    "s": "s", "min": "minute", "h": "hour",
    "fraction": "", "percent": "percent", "count": "", "none": "",
}  # fmt: skip
UNDERFLOW = 1e-290
"""Below it a product with a factor may leave the range of floats; 0 lies that near to it."""
SCALES = {"K": "kelvin", "degC": "degC", "degF": "degF"}


@pytest.mark.parametrize("unit_id", UNITS)
def test_a_unit_is_what_pint_says_it_is(unit_id: str) -> None:
    """The default registry of pint; inch, foot, pound, gallon and g are exact there too."""
    ours = UNITS[unit_id]
    if unit_id in SCALES:
        for number in (-40.0, 0.0, 98.6):
            theirs = REGISTRY.Quantity(number, SCALES[unit_id]).to("kelvin").magnitude
            assert ours.to_si(number) == pytest.approx(theirs, rel=1e-12)
        return
    theirs = (1.0 * REGISTRY(PINT[unit_id] or "dimensionless")).to(
        SI[ours.quantity] or "dimensionless"
    )
    assert ours.factor == pytest.approx(theirs.magnitude, rel=1e-12)
    assert ours.offset == 0.0


def test_every_quantity_begins_with_its_si_unit() -> None:
    for quantity in SI:
        first = units_of(quantity)[0]
        assert (first.factor, first.offset) == (1.0, 0.0), quantity


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e12, 1e12))
def test_there_and_back_is_the_same_number(unit_id: str, number: float) -> None:
    """Relative 1e-9; near the zero of a temperature scale 1e-9 of a degree."""
    unit = UNITS[unit_id]
    slack = 1e-9 if unit.offset else UNDERFLOW
    assert unit.from_si(unit.to_si(number)) == pytest.approx(number, rel=1e-9, abs=slack)


@given(st.sampled_from(sorted(UNITS)), st.data(), st.floats(-1e9, 1e9))
def test_through_another_unit_and_back_is_the_same_number(
    unit_id: str, data: st.DataObject, number: float
) -> None:
    ours = UNITS[unit_id]
    other = data.draw(st.sampled_from([u.id for u in units_of(ours.quantity)]))
    back = convert(convert(number, unit_id, other), other, unit_id)
    slack = 1e-9 if ours.quantity == "temperature" else UNDERFLOW
    assert back == pytest.approx(number, rel=1e-9, abs=slack)


@given(st.floats(-200, 1000), st.floats(0.1, 100))
def test_a_difference_of_temperature_has_no_offset(number: float, rise: float) -> None:
    unit = UNITS["degF"]
    assert unit.to_si(number + rise) - unit.to_si(number) == pytest.approx(rise / 1.8, abs=1e-9)
