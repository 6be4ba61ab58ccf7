"""The two constant sets: `EXACT` for live numbers, `FIELD` and `METRIC` for hand-filled sheets.

A set is one whole: its units, its hydrostatic constant, its rounding. A formula of well control
takes the set as its first argument, so that no number can be half of one and half of another.

References
----------
.. [1] IADC WellSharp formula sheet, field units, rev. 3 (2018), and the metric sheet: rounding.
.. [2] IWCF formula sheet, field units (2000): 0.052. Well-control formulas, bar, kg/L, L/m,
   kickdrill.com/formulas: 0.0981, 4.2.
.. [3] NIST Special Publication 811 (2008), appendix B: what `EXACT` is made of.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, isfinite

from engine.units import G0, UNITS
from engine.well.answer import Answer, Unknown

CAPACITY_FIELD = 1029.4
"""Square inches of bore or annulus per bbl/ft; exact: 9702 / (3 pi) = 1029.414. [in2 ft/bbl]"""
CAPACITY_METRIC = 1273.236
"""Square millimetres per L/m; exact: 4000 / pi = 1273.2395. [mm2 m/L]"""
VELOCITY_FIELD = 24.5
"""Annular velocity of one gpm in one square inch; exact: 24.50986. [ft/min in2/gpm]"""
TRIPLEX_FIELD = 0.000243
"""Single-acting triplex, times liner squared and stroke; exact: pi/12936. [bbl/in3]"""
DUPLEX_FIELD = 0.000162
"""Double-acting duplex, times stroke and (2 liner2 - rod2); exact: pi/19404. [bbl/in3]"""
POWER_FIELD = 1714.0
"""Hydraulic power; exact: 12000/7. [psi gpm/hp]"""
STEEL_FIELD = 65.5
"""Steel in the buoyancy factor; 7850 kg/m3 is 65.511. [ppg]"""

_BEYOND = 1e15  # no rig has such a number; below it no product of a few overflows
_GUARD = 1e-9  # 11.3 plus binary noise is 11.3; a real excess is never this small


def round_up(value: float, decimals: int = 0) -> float:
    """Round towards plus infinity, on the decimal: 10.73 to 10.8, 11.3000 stays 11.3.

    Parameters
    ----------
    value : float
        Finite. [any]
    decimals : int
        Decimals kept. [-]
    """
    return ceil(value * 10.0**decimals - _GUARD) / 10.0**decimals


def round_down(value: float, decimals: int = 0) -> float:
    """Round towards minus infinity, on the decimal: 11.76 to 11.7, 11.7 stays 11.7."""
    return floor(value * 10.0**decimals + _GUARD) / 10.0**decimals


def round_half_away(value: float, decimals: int = 0) -> float:
    """Round to the nearest, halves away from zero: 645.5 to 646, -645.5 to -646."""
    size = floor(abs(value) * 10.0**decimals + 0.5 + _GUARD) / 10.0**decimals
    return size if value >= 0 else -size


@dataclass(frozen=True, slots=True)
class Rounding:
    """Decimals a hand-filled sheet keeps, in the units of its set."""

    density: int
    """Kill mud up; leak-off equivalent and highest mud down. [-]"""
    pressure: int
    """Nearest. [-]"""
    limit: int
    """Highest surface pressure, nearest. [-]"""
    step: int
    """Fall of pressure per 100 strokes, down. [-]"""
    volume: int
    """Nearest. [-]"""


@dataclass(frozen=True, slots=True)
class ConstantSet:
    """Units, constants and rounding that belong together."""

    name: str
    """``exact``, ``field sheet`` or ``metric sheet``; shown beside every number."""
    units: dict[str, str]
    """Quantity to unit id; a quantity left out is SI."""
    hydrostatic: float
    """Pressure of one unit of density over one unit of depth."""
    barite: float
    """Usual barite. [density]"""
    atmosphere: float
    """Added to a gauge pressure for a gas law; a hand sheet leaves it out. [pressure]"""
    rounding: Rounding | None
    """None: nothing is rounded."""

    def of(self, quantity: str, si: float) -> float:
        """Return an SI number of `quantity` in the unit of this set."""
        return UNITS[self.units[quantity]].from_si(si) if quantity in self.units else si

    def si(self, quantity: str, number: float) -> float:
        """Return `number`, in the unit this set has for `quantity`, in SI."""
        return UNITS[self.units[quantity]].to_si(number) if quantity in self.units else number

    def answer_si(self, quantity: str, answer: Answer) -> Answer:
        """Return `answer` in SI, or the unknown it is."""
        return answer if isinstance(answer, Unknown) else self.si(quantity, answer)

    def density_up(self, value: float) -> float:
        """Round a density that must not be too light."""
        return round_up(value, self.rounding.density) if self.rounding else value

    def density_down(self, value: float) -> float:
        """Round a density that must not be too heavy."""
        return round_down(value, self.rounding.density) if self.rounding else value

    def pressure(self, value: float) -> float:
        """Round a pressure."""
        return round_half_away(value, self.rounding.pressure) if self.rounding else value

    def limit(self, value: float) -> float:
        """Round a highest surface pressure."""
        return round_half_away(value, self.rounding.limit) if self.rounding else value

    def step(self, value: float) -> float:
        """Round the fall of pressure per 100 strokes."""
        return round_down(value, self.rounding.step) if self.rounding else value

    def volume(self, value: float) -> float:
        """Round a volume."""
        return round_half_away(value, self.rounding.volume) if self.rounding else value

    def whole(self, value: float) -> float:
        """Round strokes."""
        return round_half_away(value) if self.rounding else value


EXACT = ConstantSet("exact", {}, G0, 4200.0, 101325.0, None)
"""SI, exact factors, no rounding: everything worked out live."""
FIELD = ConstantSet(
    "field sheet",
    {
        "length": "ft", "pressure": "psi", "density": "ppg", "volume": "bbl",
        "capacity": "bbl_ft", "gradient": "psi_ft",
    },
    0.052,
    35.8,
    0.0,
    Rounding(density=1, pressure=0, limit=0, step=0, volume=1),
)  # fmt: skip
"""ft, psi, ppg, bbl; 0.052."""
METRIC = ConstantSet(
    "metric sheet",
    {
        "length": "m", "pressure": "bar", "density": "sg", "volume": "l",
        "capacity": "l_m", "gradient": "bar_m",
    },
    0.0981,
    4.2,
    0.0,
    Rounding(density=2, pressure=0, limit=1, step=2, volume=0),
)  # fmt: skip
"""m, bar, kg/L, L; 0.0981. Whole bar and litres, tenths for a limit: common practice."""


def numbers(*given: tuple[str, Answer, float]) -> tuple[float, ...] | Unknown:
    """Return the numbers if all of them are fit to be used, or why one is not.

    Parameters
    ----------
    given : tuples
        What it is for a person, the number, the smallest that makes sense.

    Returns
    -------
    tuple of float or Unknown
        In the order given. The first unknown, NaN, infinite, absurd or too small one decides.
    """
    values: list[float] = []
    for text, answer, low in given:
        if isinstance(answer, Unknown):
            return answer
        if not isfinite(answer):
            return Unknown(f"{text} is not a number")
        if abs(answer) > _BEYOND:
            return Unknown(f"{text}, {answer:g}, is beyond any rig")
        if answer < low:
            return Unknown(f"{text} is below {low:.4g}" if low else f"{text} is negative")
        values.append(answer)
    return tuple(values)
