"""Dial readings to flow models: Newtonian, Bingham, power law, Herschel-Bulkley.

All four are one law, stress = yield + consistency * rate ** index, so that friction needs
one formula. A model that the readings contradict is rejected, the next simpler one is tried,
and the reason is kept.

References
----------
.. [1] API RP 13D, Rheology and hydraulics of oil-well drilling fluids, 3rd ed. (1995) and
   5th ed. (2006): models and their parameters from dial readings.
.. [2] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), p. 25: PV and YP.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite, log2
from typing import Literal

from engine.errors import InputError
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input, Output

DIAL = 0.511
"""Shear stress of one degree on the dial (5.11 dyn/cm2, RP 13D). [Pa]"""
RATE = 1.703
"""Shear rate at one revolution a minute (RP 13D). [1/s]"""

Model = Literal["newtonian", "bingham", "power_law", "herschel_bulkley"]
SIMPLER: Mapping[Model, Model | None] = {
    "herschel_bulkley": "bingham",
    "power_law": "bingham",
    "bingham": "newtonian",
    "newtonian": None,
}
"""What is tried when a model is rejected; Bingham next, for it needs no slow readings."""


@dataclass(frozen=True, slots=True)
class Rheology:
    """How a mud resists shear: stress = `yield_stress` + `consistency` * rate ** `index`."""

    model: Model
    yield_stress: float
    """Stress at which it begins to flow. [Pa]"""
    consistency: float
    """Pa s^n; the viscosity of a Newtonian and a Bingham mud. [Pa s^n]"""
    index: float
    """1 for Newtonian and Bingham. [-]"""

    def stress(self, rate: float) -> float:
        """Return the shear stress at a shear `rate` [1/s] above zero. [Pa]"""
        return self.yield_stress + float(self.consistency * rate**self.index)

    @property
    def turbulence_index(self) -> float:
        """Power-law index between 300 and 600 rpm, which rules turbulence in RP 13D. [-]"""
        return log2(self.stress(600 * RATE) / self.stress(300 * RATE))


@dataclass(frozen=True, slots=True)
class Readings:
    """Dial of a rotational viscometer [degrees]; None where it was not read."""

    r600: float
    r300: float
    r100: float | None = None
    r6: float | None = None
    r3: float | None = None


@dataclass(frozen=True, slots=True)
class FlowModel:
    """The model that the readings allow, for the bore and for the annulus."""

    pipe: Rheology
    annulus: Rheology
    rejected: tuple[str, ...] = ()
    """Why the models asked for first could not be used, in order."""


def newtonian(viscosity: float) -> Rheology | Unknown:
    """Return a mud of one `viscosity` [Pa s]; `Unknown` unless it is positive."""
    if not (isfinite(viscosity) and viscosity > 0):
        return Unknown(f"viscosity must be positive, got {viscosity:g} Pa s")
    return Rheology("newtonian", 0.0, viscosity, 1.0)


def bingham(plastic_viscosity: float, yield_point: float) -> Rheology | Unknown:
    """Return a mud of `plastic_viscosity` [Pa s] > 0 and `yield_point` [Pa] >= 0, or why not."""
    if not (isfinite(plastic_viscosity) and plastic_viscosity > 0):
        return Unknown(f"plastic viscosity must be positive, got {plastic_viscosity:g} Pa s")
    if not (isfinite(yield_point) and yield_point >= 0):
        return Unknown(f"yield point must not be negative, got {yield_point:g} Pa")
    return Rheology("bingham", yield_point, plastic_viscosity, 1.0)


def power_law(index: float, consistency: float) -> Rheology | Unknown:
    """Return a mud of `index` [-], 0.1 < n <= 1, and `consistency` [Pa s^n] > 0, or why not."""
    return _curved("power_law", 0.0, index, consistency)


def herschel_bulkley(yield_stress: float, index: float, consistency: float) -> Rheology | Unknown:
    """Return a mud of `yield_stress` [Pa] >= 0, `index` [-] and `consistency` [Pa s^n]."""
    if not (isfinite(yield_stress) and yield_stress >= 0):
        return Unknown(f"yield stress must not be negative, got {yield_stress:g} Pa")
    return _curved("herschel_bulkley", yield_stress, index, consistency)


def _curved(model: Model, stress: float, index: float, consistency: float) -> Rheology | Unknown:
    if not (isfinite(index) and 0.1 < index <= 1 + 1e-9):
        return Unknown(f"flow index must lie above 0.1 and up to 1, got {index:.3g}")
    if not (isfinite(consistency) and consistency > 0):
        return Unknown(f"consistency must be positive, got {consistency:g} Pa s^n")
    return Rheology(model, stress, consistency, min(index, 1.0))


def fit(readings: Readings, model: Model = "herschel_bulkley") -> FlowModel | Unknown:
    r"""Fit `model`, or the next simpler one that the readings allow.

    .. math::
        \mu_p = \frac{R_{600} - R_{300}}{300 \cdot 1.703}, \quad \tau_y = R_{300} - 511 \mu_p
        \qquad \text{(Bingham)}

    .. math::
        n = \frac{\log(R_a / R_b)}{\log(a / b)}, \quad K = R_a / (1.703 a)^n
        \qquad \text{(power law: 600 and 300 in the pipe, 100 and 3 in the annulus)}

    .. math::
        \tau_y = 2 R_3 - R_6, \quad n = \log_2 \frac{R_{600} - \tau_y}{R_{300} - \tau_y}, \quad
        K = \frac{R_{300} - \tau_y}{511^n} \qquad \text{(Herschel-Bulkley)}

    Parameters
    ----------
    readings : Readings
        Dial readings. [degrees]
    model : str
        The model wanted.

    Returns
    -------
    FlowModel or Unknown
        With every rejected model and its reason; `Unknown` if not even the Newtonian one
        (half the reading at 600, in mPa s) stands, as when R600 <= R300.

    Raises
    ------
    InputError
        If `model` is none of the four.

    Notes
    -----
    R3 is read to half a degree: in the power law of the annulus R3 = 3 +/- 0.5 moves the
    index by about 0.05. With R100 or R3 missing, or R3 not below R100, the power law of the
    pipe also serves the annulus and `rejected` says so.
    """
    if model not in _FITS:
        raise InputError(f"flow model: no model {model!r}; use {', '.join(_FITS)}")
    rejected: list[str] = []
    wanted: Model | None = model
    while wanted is not None:
        found = _FITS[wanted](readings)
        if isinstance(found, Rheology):
            annulus, note = found, None
            if wanted == "power_law":
                annulus, note = _slow_power_law(readings, found)
            return FlowModel(found, annulus, (*rejected, *([note] if note else [])))
        rejected.append(f"{wanted.replace('_', ' ')} rejected: {found.reason}")
        wanted = SIMPLER[wanted]
    return Unknown("; ".join(rejected))


def _fast(readings: Readings) -> Unknown | None:
    """Say what is wrong with the readings at 600 and 300, which every model needs."""
    a, b = readings.r600, readings.r300
    if not (isfinite(a) and isfinite(b) and b > 0):
        return Unknown(f"R300 must be a positive reading and R600 known, got {b:g} and {a:g}")
    if a <= b:
        return Unknown(f"R600 must be above R300, got {a:g} and {b:g}")
    return None


def _fit_newtonian(readings: Readings) -> Rheology | Unknown:
    return _fast(readings) or newtonian(readings.r600 * DIAL / (600 * RATE))


def _fit_bingham(readings: Readings) -> Rheology | Unknown:
    viscosity = (readings.r600 - readings.r300) * DIAL / (300 * RATE)
    return _fast(readings) or bingham(viscosity, (2 * readings.r300 - readings.r600) * DIAL)


def _fit_power_law(readings: Readings) -> Rheology | Unknown:
    wrong = _fast(readings)
    return wrong or _through(600, readings.r600, 300, readings.r300)


def _through(rpm_a: float, a: float, rpm_b: float, b: float) -> Rheology | Unknown:
    index = log2(a / b) / log2(rpm_a / rpm_b)
    return power_law(index, a * DIAL / (RATE * rpm_a) ** index)


def _slow_power_law(readings: Readings, pipe: Rheology) -> tuple[Rheology, str | None]:
    a, b = readings.r100, readings.r3
    if a is None or b is None:
        return pipe, "annulus: no readings at 100 and 3 rpm, those at 600 and 300 serve it too"
    slow = _slow(a, b)
    if isinstance(slow, Rheology):
        return slow, None
    return pipe, f"annulus: {slow.reason}; the readings at 600 and 300 serve it too"


def _slow(r100: float, r3: float) -> Rheology | Unknown:
    if not (isfinite(r100) and 0 < r3 < r100):
        return Unknown(f"R100 must be above R3 > 0, got {r100:g} and {r3:g}")
    return _through(100, r100, 3, r3)


def _fit_herschel_bulkley(readings: Readings) -> Rheology | Unknown:
    if wrong := _fast(readings):
        return wrong
    if readings.r6 is None or readings.r3 is None:
        return Unknown("it needs the readings at 6 and 3 rpm")
    if not (isfinite(readings.r6) and isfinite(readings.r3) and readings.r3 > 0):
        return Unknown(f"R3 must be a positive reading and R6 known, got {readings.r3:g}")
    stress = 2 * readings.r3 - readings.r6
    if readings.r300 <= stress:
        return Unknown(f"R300 must be above the yield, 2 R3 - R6 = {stress:g}")
    index = log2((readings.r600 - stress) / (readings.r300 - stress))
    return herschel_bulkley(
        stress * DIAL, index, (readings.r300 - stress) * DIAL / (300 * RATE) ** index
    )


_FITS: Mapping[str, Callable[[Readings], Rheology | Unknown]] = {
    "herschel_bulkley": _fit_herschel_bulkley,
    "power_law": _fit_power_law,
    "bingham": _fit_bingham,
    "newtonian": _fit_newtonian,
}


def bingham_sheet(r600: float, r300: float) -> tuple[Answer, Answer]:
    """Return PV [cP] and YP [lbf/100 ft2] as a mud report has them.

    PV = R600 - R300 and YP = R300 - PV: a degree of the dial counts as one lbf/100 ft2,
    though it is 1.067 of them. `Unknown` where PV is not positive or YP is negative.

    References
    ----------
    .. [1] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), p. 25.
    """
    if wrong := _fast(Readings(r600, r300)):
        return wrong, wrong
    pv, yp = r600 - r300, 2 * r300 - r600
    return pv, yp if yp >= 0 else Unknown(f"yield point must not be negative, got {yp:g}")


def _work(given: Mapping[str, float]) -> Mapping[str, Answer]:
    readings = Readings(*(given[f"r{rpm}"] for rpm in (600, 300, 100, 6, 3)))
    slow = _slow(given["r100"], given["r3"])
    out: dict[str, Answer] = {}
    for found, parts in (
        (
            _fit_bingham(readings),
            {"plastic_viscosity": "consistency", "yield_point": "yield_stress"},
        ),
        (_fit_power_law(readings), {"pipe_index": "index", "pipe_consistency": "consistency"}),
        (slow, {"annulus_index": "index", "annulus_consistency": "consistency"}),
        (_fit_herschel_bulkley(readings), {n: n for n in ("yield_stress", "index", "consistency")}),
    ):
        for name, part in parts.items():
            out[name] = found if isinstance(found, Unknown) else float(getattr(found, part))
    return out


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "flow-models",
        "Bingham, power-law and Herschel-Bulkley parameters from dial readings",
        tuple(
            Input(f"r{rpm}", "count", f"dial reading at {rpm} rpm", low=0.0, high=1000.0)
            for rpm in (600, 300, 100, 6, 3)
        ),
        (
            Output("plastic_viscosity", "viscosity", "Bingham, plastic viscosity"),
            Output("yield_point", "pressure", "Bingham, yield point at 0.511 Pa a degree"),
            Output("pipe_index", "none", "power law in the pipe, index"),
            Output("pipe_consistency", "none", "power law in the pipe, consistency in Pa s^n"),
            Output("annulus_index", "none", "power law in the annulus, index"),
            Output("annulus_consistency", "none", "power law in the annulus, in Pa s^n"),
            Output("yield_stress", "pressure", "Herschel-Bulkley, yield stress"),
            Output("index", "none", "Herschel-Bulkley, index"),
            Output("consistency", "none", "Herschel-Bulkley, consistency in Pa s^n"),
        ),
        "API RP 13D (1995, 2006)",
        _work,
    ),
)
