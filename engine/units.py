"""Exact unit factors. Everything inside is SI; other units exist only at the edges.

References
----------
.. [1] NIST Special Publication 811 (2008), appendix B: inch, foot, pound, gallon and standard
   gravity are exact by definition; every other factor here is a product of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from engine.errors import InputError

IN = 0.0254
"""Inch. [m] exact"""
FT = 0.3048
"""International foot. [m] exact"""
LB = 0.45359237
"""Avoirdupois pound. [kg] exact"""
G0 = 9.80665
"""Standard gravity. [m/s2] exact"""
GAL = 231 * IN**3
"""US gallon. [m3] exact"""
BBL = 42 * GAL
"""Barrel of 42 US gallons. [m3] exact"""
LBF = LB * G0
"""Pound-force. [N] exact"""
PSI = LBF / IN**2
"""Pound-force per square inch. [Pa]"""
PPG = LB / GAL
"""Pound per US gallon. [kg/m3]"""
HP = 550 * FT * LBF
"""Mechanical horsepower. [W]"""
LB100 = LBF / (100 * FT**2)
"""Pound-force per hundred square feet. [Pa]"""
TON_MILE = 2000 * LBF * 5280 * FT
"""Short ton mile of work. [J]"""
MINUTE = 60.0
"""[s]"""
HOUR = 3600.0
"""[s]"""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one quantity: SI value = number * factor + offset."""

    id: str
    """As it ends a config key (``liner_mm``) and names a column (``hook_load_kN``)."""
    quantity: str
    factor: float
    symbol: str
    """As shown to a person."""
    offset: float = 0.0
    decimals: int = 1
    """Decimals shown by default. [-]"""

    def to_si(self, number: float) -> float:
        """Convert `number` of this unit to SI."""
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """Convert an SI `value` to this unit."""
        return (value - self.offset) / self.factor


_ALL = (
    Unit("m", "length", 1.0, "m", decimals=2),
    Unit("mm", "length", 1e-3, "mm", decimals=1),
    Unit("cm", "length", 1e-2, "cm", decimals=1),
    Unit("ft", "length", FT, "ft", decimals=2),
    Unit("in", "length", IN, "in", decimals=3),
    Unit("in32", "length", IN / 32, "1/32 in", decimals=0),
    Unit("m2", "area", 1.0, "m²", decimals=6),
    Unit("mm2", "area", 1e-6, "mm²", decimals=1),
    Unit("in2", "area", IN**2, "in²", decimals=4),
    Unit("m3_m", "capacity", 1.0, "m³/m", decimals=6),
    Unit("l_m", "capacity", 1e-3, "L/m", decimals=3),
    Unit("bbl_ft", "capacity", BBL / FT, "bbl/ft", decimals=5),
    Unit("Pa_m", "gradient", 1.0, "Pa/m", decimals=1),
    Unit("kPa_m", "gradient", 1e3, "kPa/m", decimals=3),
    Unit("bar_m", "gradient", 1e5, "bar/m", decimals=4),
    Unit("psi_ft", "gradient", PSI / FT, "psi/ft", decimals=4),
    Unit("Pa_s", "viscosity", 1.0, "Pa·s", decimals=4),
    Unit("cP", "viscosity", 1e-3, "cP", decimals=1),
    Unit("W", "power", 1.0, "W", decimals=0),
    Unit("kW", "power", 1e3, "kW", decimals=1),
    Unit("hp", "power", HP, "hp", decimals=1),
    Unit("W_m2", "power_flux", 1.0, "W/m²", decimals=0),
    Unit("W_mm2", "power_flux", 1e6, "W/mm²", decimals=2),
    Unit("hp_in2", "power_flux", HP / IN**2, "hp/in²", decimals=2),
    Unit("J", "work", 1.0, "J", decimals=0),
    Unit("MJ", "work", 1e6, "MJ", decimals=2),
    Unit("ton_mile", "work", TON_MILE, "ton mile", decimals=1),
    Unit("tkm", "work", 1e6 * G0, "t·km", decimals=1),
    Unit("m_s2", "acceleration", 1.0, "m/s²", decimals=2),
    Unit("rad", "angle", 1.0, "rad", decimals=4),
    Unit("deg", "angle", pi / 180, "°", decimals=1),
    Unit("N", "force", 1.0, "N", decimals=0),
    Unit("kN", "force", 1e3, "kN", decimals=1),
    Unit("kdaN", "force", 1e4, "kdaN", decimals=2),
    Unit("tf", "force", 1e3 * G0, "t", decimals=1),
    Unit("klbf", "force", 1e3 * LBF, "klbf", decimals=1),
    Unit("lbf", "force", LBF, "lbf", decimals=0),
    Unit("Pa", "pressure", 1.0, "Pa", decimals=0),
    Unit("kPa", "pressure", 1e3, "kPa", decimals=0),
    Unit("bar", "pressure", 1e5, "bar", decimals=1),
    Unit("MPa", "pressure", 1e6, "MPa", decimals=2),
    Unit("psi", "pressure", PSI, "psi", decimals=0),
    Unit("lb_100ft2", "pressure", LB100, "lbf/100 ft²", decimals=1),
    Unit("m3_s", "flow", 1.0, "m³/s", decimals=4),
    Unit("l_min", "flow", 1e-3 / MINUTE, "L/min", decimals=0),
    Unit("l_s", "flow", 1e-3, "L/s", decimals=1),
    Unit("gpm", "flow", GAL / MINUTE, "gpm", decimals=0),
    Unit("bbl_min", "flow", BBL / MINUTE, "bbl/min", decimals=2),
    Unit("m3", "volume", 1.0, "m³", decimals=2),
    Unit("l", "volume", 1e-3, "L", decimals=1),
    Unit("bbl", "volume", BBL, "bbl", decimals=1),
    Unit("rad_s", "rotation", 1.0, "rad/s", decimals=2),
    Unit("rpm", "rotation", 2 * pi / MINUTE, "rpm", decimals=0),
    Unit("per_s", "stroke_rate", 1.0, "1/s", decimals=3),
    Unit("spm", "stroke_rate", 1 / MINUTE, "spm", decimals=0),
    Unit("Nm", "torque", 1.0, "N·m", decimals=0),
    Unit("kNm", "torque", 1e3, "kN·m", decimals=2),
    Unit("ft_lbf", "torque", FT * LBF, "ft·lbf", decimals=0),
    Unit("kft_lbf", "torque", 1e3 * FT * LBF, "kft·lbf", decimals=2),
    Unit("m_s", "speed", 1.0, "m/s", decimals=2),
    Unit("m_h", "speed", 1 / HOUR, "m/h", decimals=1),
    Unit("ft_h", "speed", FT / HOUR, "ft/h", decimals=1),
    Unit("ft_min", "speed", FT / MINUTE, "ft/min", decimals=0),
    Unit("ft_s", "speed", FT, "ft/s", decimals=1),
    Unit("kg_m3", "density", 1.0, "kg/m³", decimals=0),
    Unit("sg", "density", 1e3, "sg", decimals=3),
    Unit("ppg", "density", PPG, "ppg", decimals=2),
    Unit("K", "temperature", 1.0, "K", decimals=1),
    Unit("degC", "temperature", 1.0, "°C", 273.15, decimals=1),
    Unit("degF", "temperature", 1 / 1.8, "°F", 273.15 - 32 / 1.8, decimals=1),
    Unit("kg_m", "linear_weight", 1.0, "kg/m", decimals=1),
    Unit("lb_ft", "linear_weight", LB / FT, "lb/ft", decimals=1),
    Unit("s", "time", 1.0, "s", decimals=0),
    Unit("min", "time", MINUTE, "min", decimals=1),
    Unit("h", "time", HOUR, "h", decimals=2),
    Unit("fraction", "ratio", 1.0, "", decimals=3),
    Unit("percent", "ratio", 1e-2, "%", decimals=1),
    Unit("count", "count", 1.0, "", decimals=0),
    Unit("none", "none", 1.0, "", decimals=2),
)
UNITS: dict[str, Unit] = {unit.id: unit for unit in _ALL}
"""Every unit by id."""

WITS_UNITS = {
    "F": "ft", "M": "m", "F/HR": "ft_h", "M/HR": "m_h", "FPM": "ft_min", "M/S": "m_s",
    "KLB": "klbf", "KDN": "kdaN", "KFLB": "kft_lbf", "KNM": "kNm", "PSI": "psi", "KPA": "kPa",
    "BBL": "bbl", "M3": "m3", "GPM": "gpm", "L/M": "l_min", "PPG": "ppg", "KGM3": "kg_m3",
    "DEGF": "degF", "DEGC": "degC", "RPM": "rpm", "SPM": "spm", "%": "percent", "-": "none",
    "SEC": "s", "HR": "h",
}  # fmt: skip
"""Unit codes of the WITS record tables to our unit ids."""

DISPLAY: dict[str, dict[str, str]] = {
    "metric": {
        "length": "m", "force": "kN", "pressure": "kPa", "flow": "l_min", "volume": "m3",
        "rotation": "rpm", "stroke_rate": "spm", "torque": "kNm", "speed": "m_h",
        "density": "kg_m3", "temperature": "degC", "linear_weight": "kg_m", "time": "s",
        "ratio": "percent", "count": "count", "none": "none", "area": "mm2", "capacity": "l_m",
        "gradient": "kPa_m", "viscosity": "cP", "power": "kW", "power_flux": "W_m2",
        "work": "tkm", "acceleration": "m_s2", "angle": "deg",
    },
    "oilfield": {
        "length": "ft", "force": "klbf", "pressure": "psi", "flow": "gpm", "volume": "bbl",
        "rotation": "rpm", "stroke_rate": "spm", "torque": "kft_lbf", "speed": "ft_h",
        "density": "ppg", "temperature": "degF", "linear_weight": "lb_ft", "time": "s",
        "ratio": "percent", "count": "count", "none": "none", "area": "in2", "capacity": "bbl_ft",
        "gradient": "psi_ft", "viscosity": "cP", "power": "hp", "power_flux": "hp_in2",
        "work": "ton_mile", "acceleration": "m_s2", "angle": "deg",
    },
}  # fmt: skip
"""Display sets: quantity to unit id; a well file may override single quantities."""


def unit(unit_id: str) -> Unit:
    """Return the unit called `unit_id`.

    Raises
    ------
    InputError
        If there is no such unit; a bare ``ton`` or ``t`` is refused because it is three units.
    """
    found = UNITS.get(unit_id)
    if found is None:
        hint = "; write tf (1000 kgf), klbf or kN" if unit_id in {"t", "ton", "tons"} else ""
        raise InputError(f"unit: no unit {unit_id!r}{hint}")
    return found


def units_of(quantity: str) -> tuple[Unit, ...]:
    """Return all units of `quantity`, SI first."""
    return tuple(u for u in _ALL if u.quantity == quantity)


def convert(number: float, from_unit: str, to_unit: str) -> float:
    """Convert `number` between two units of one quantity; `InputError` if they differ in it."""
    a, b = unit(from_unit), unit(to_unit)
    if a.quantity != b.quantity:
        raise InputError(f"unit: {from_unit} is a {a.quantity}, {to_unit} a {b.quantity}")
    return b.from_si(a.to_si(number))
