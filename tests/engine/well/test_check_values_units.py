"""Units against their definitions and against an independent units library.

U01 to U21, D06 to D08 are in ``tests/engine/test_check_values_motion.py``. Sources: [A] NIST
Special Publication 811 (2008), app. B; pint (its unit registry is kept by other people).
"""

from __future__ import annotations

import pint
import pytest

from engine.units import UNITS, convert, unit

UREG = pint.UnitRegistry()

PINT = {
    "m": "m", "mm": "mm", "cm": "cm", "ft": "ft", "in": "inch", "in32": "inch / 32",
    "m2": "m^2", "mm2": "mm^2", "in2": "inch^2",
    "m3_m": "m^3/m", "l_m": "L/m", "bbl_ft": "oil_barrel/ft",
    "Pa_m": "Pa/m", "kPa_m": "kPa/m", "bar_m": "bar/m", "psi_ft": "psi/ft",
    "Pa_s": "Pa s", "cP": "cP", "W": "W", "kW": "kW", "hp": "hp",
    "J": "J", "MJ": "MJ", "ton_mile": "2000 lbf mile", "tkm": "1000 kgf km",
    "m_s2": "m/s^2", "rad": "rad", "deg": "degree",
    "N": "N", "kN": "kN", "kdaN": "10 kN", "tf": "1000 kgf", "klbf": "1000 lbf", "lbf": "lbf",
    "Pa": "Pa", "kPa": "kPa", "bar": "bar", "MPa": "MPa", "psi": "psi",
    "lb_100ft2": "lbf / (100 ft^2)",
    "m3_s": "m^3/s", "l_min": "L/min", "l_s": "L/s", "gpm": "gallon/min",
    "bbl_min": "oil_barrel/min", "m3": "m^3", "l": "L", "bbl": "oil_barrel",
    "rad_s": "rad/s", "rpm": "rpm", "per_s": "1/s", "spm": "1/min",
    "Nm": "N m", "kNm": "kN m", "ft_lbf": "ft lbf", "kft_lbf": "1000 ft lbf",
    "m_s": "m/s", "m_h": "m/hour", "ft_h": "ft/hour", "ft_min": "ft/min",
    "kg_m3": "kg/m^3", "sg": "kg/L", "ppg": "lb/gallon", "kg_m": "kg/m", "lb_ft": "lb/ft",
    "s": "s", "min": "min", "h": "hour", "fraction": "", "percent": "0.01", "count": "",
    "none": "", "W_m2": "W/m^2", "W_mm2": "W/mm^2", "hp_in2": "hp/inch^2",
}  # fmt: skip
"""Our unit to what it is in words of the library."""


@pytest.mark.parametrize("ours", sorted(set(UNITS) - {"K", "degC", "degF"}))
def test_every_unit_is_what_another_library_takes_it_for(ours: str) -> None:
    """One unit in base units of the SI, by pint."""
    assert ours in PINT, "a new unit needs its words here"
    base = UREG.Quantity(PINT[ours] or 1).to_base_units().magnitude
    assert unit(ours).factor == pytest.approx(float(base), rel=1e-12)
    assert unit(ours).offset == 0.0


@pytest.mark.parametrize(("ours", "theirs"), [("degC", "degC"), ("degF", "degF"), ("K", "kelvin")])
@pytest.mark.parametrize("number", [-40.0, 0.0, 37.5, 250.0])
def test_temperatures_are_what_another_library_takes_them_for(
    ours: str, theirs: str, number: float
) -> None:
    kelvin = UREG.Quantity(number, theirs).to("kelvin").magnitude
    assert unit(ours).to_si(number) == pytest.approx(kelvin, rel=1e-12)


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(convert(1, "ton_mile", "tkm"), 1.45997231821, 1e-10, id="U22 own ton mile"),
        pytest.param(convert(1, "ton_mile", "MJ"), 14.3174375344, 1e-9, id="U18 own ton mile"),
        pytest.param(convert(1, "bbl_ft", "l_m"), 521.6118, 1e-4, id="own: 158.987 L on 0.3048 m"),
        pytest.param(1 / convert(1, "in", "in32"), 1 / 32, 1e-15, id="own: 32 in an inch"),
    ],
)
def test_units_convert_into_each_other(got: float, want: float, within: float) -> None:
    assert got == pytest.approx(want, abs=within)
