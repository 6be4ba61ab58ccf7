r"""How much lighter mud or brine becomes when it is warm: a model, not a measurement.

.. math:: \rho = \rho_0 - a\,(T - T_0) + b\,p

with a what the density loses with each degree and b what it gains with pressure, both as suppliers
of brine print them: per 100 degF, per 1,000 psi. T is the mean of the well, taken as half way
between the top and the bottom; a well that has stood still, or that is being circulated, is not so.

References
----------
.. [1] H. Crumpton, Well Control for Completions and Interventions, Gulf, 2018, ch. 5: eq. 5.2,
   5.3; tables 5.2 and 5.3 (Krook and Boyce, at 12,000 psi; also API RP 13J) and 5.4 (Bridges,
   at atmospheric pressure, where brine expands up to a third more).
.. [2] drillingformulas.com, Brine density with temperature correction: 10.26 ppg to mix.
"""

from __future__ import annotations

from collections.abc import Mapping

from engine.units import G0, PSI, UNITS
from engine.well.answer import Answer, Unknown, first_unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.checks import LIGHTEST

PER_K = 1 / (100 * UNITS["degF"].factor)
"""What is told per 100 degF, per kelvin."""
PER_PA = 1 / (1000 * PSI)
SOURCE = "Crumpton, Well Control for Completions and Interventions, 2018, ch. 5: a model"


def density_at(
    density: float, measured_at: float, temperature: float, loss: float, pressure: float = 0.0,
    gain: float = 0.0,
) -> Answer:  # fmt: skip
    """Return the density of a mud or brine at another temperature. [kg/m3]

    Parameters
    ----------
    density : float
        As measured, at atmospheric pressure. [kg/m3]
    measured_at, temperature : float
        Where it was measured, and where it is asked for. [K]
    loss : float
        Per 100 degF. [kg/m3]
    pressure : float
        Mean pressure of the column, gauge. [Pa]
    gain : float
        Per 1,000 psi. [kg/m3]

    Returns
    -------
    float or Unknown
        Unknown where nothing as heavy as air would be left.
    """
    out = density - loss * PER_K * (temperature - measured_at) + gain * PER_PA * pressure
    return out if out >= LIGHTEST else Unknown("so warm, the model leaves no liquid")


def to_mix(wanted: float, mixed_at: float, temperature: float, loss: float) -> float:
    """Return the density to mix at the surface so that it is `wanted` at `temperature`. [kg/m3]"""
    return wanted + loss * PER_K * (temperature - mixed_at)


def margin(density: Answer, tvd: float, formation: float) -> Answer:
    """Return by how much a column over `tvd` [m] exceeds the `formation` pressure. [Pa]"""
    if isinstance(density, Unknown):
        return density
    return density * G0 * tvd - formation


def mean_temperature(top: float, bottom: float) -> float:
    """Return the mean of a well in which it rises evenly. [K]"""
    return 0.5 * (top + bottom)


def _warm(v: Mapping[str, float]) -> Mapping[str, Answer]:
    mean = mean_temperature(v["surface_temperature"], v["bottom_temperature"])
    middle = 0.5 * v["density"] * G0 * v["tvd"]
    warm = density_at(
        v["density"], v["measured_at"], mean, v["loss_100f"], middle, v["gain_1000psi"]
    )
    over = margin(warm, v["tvd"], v["formation_pressure"])
    unknown = first_unknown(warm, over)
    cold = margin(v["density"], v["tvd"], v["formation_pressure"])
    return {
        "mean_density": warm,
        "margin_as_measured": cold,
        "margin": over,
        "spare": unknown if unknown is not None else _minus(over, v["wanted_margin"]),
    }


def _minus(a: Answer, b: float) -> Answer:
    return a if isinstance(a, Unknown) else a - b


_LOSS = Input(
    "loss_100f", "density",
    "lost per 100 degF: from the supplier; 0.26 to 0.34 ppg in CaCl2 to CaBr2 brine, 0.5 at 19 ppg",
    low=0.0,
)  # fmt: skip
_SURFACE = Input("surface_temperature", "temperature", "of the mud at the top of the well", low=0.0)
_BOTTOM = Input("bottom_temperature", "temperature", "at the bottom", low=0.0)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "warm-density", "a MODEL: density of mud or brine in a warm well, and what is left over "
        "formation pressure",
        (mud_input("density", "as measured"),
         Input("measured_at", "temperature", "temperature at which it was measured", low=0.0),
         _SURFACE, _BOTTOM, _LOSS,
         Input("gain_1000psi", "density", "per 1,000 psi; 0 errs to the safe side", 0.0, 0.0),
         Input("tvd", "length", "true vertical depth", low=0.0),
         Input("formation_pressure", "pressure", "at that depth", low=0.0),
         Input("wanted_margin", "pressure", "least wanted over it; 100 psi", 100 * PSI, 0.0)),
        (Output("mean_density", "density", "of the column, by the model"),
         Output("margin_as_measured", "pressure", "if it stayed as it was measured"),
         Output("margin", "pressure", "over formation pressure, by the model"),
         Output("spare", "pressure", "over the wanted margin; BELOW 0: DO NOT PULL")),
        SOURCE, _warm, caution=True),
    Calculation(
        "brine-to-mix", "a MODEL: density to mix at the surface for a density in the warm well",
        (mud_input("density", "wanted at the mean temperature of the well"),
         _SURFACE, _BOTTOM, _LOSS),
        (Output("to_mix", "density", "at the surface temperature"),), SOURCE,
        lambda v: {"to_mix": to_mix(
            v["density"], v["surface_temperature"],
            mean_temperature(v["surface_temperature"], v["bottom_temperature"]),
            v["loss_100f"])},
        caution=True),
)  # fmt: skip
