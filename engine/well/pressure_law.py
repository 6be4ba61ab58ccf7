"""The standpipe's own law, pressure = c Q^n, fitted on readings at some rates.

At one geometry and mud it tells a washout (pressure falls at steady flow) from a plugged nozzle
(it rises) better than the model of `engine.well.hydraulics`, for it holds every loss there is.

References
----------
.. [1] N. J. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, 2nd
   ed., Gulf, 2002: exponent from two readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, isfinite, log

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output
from engine.well.friction import FLOW_FLOOR
from engine.well.sheet import numbers

ASSUMED_EXPONENT = 2.0
"""With readings at one rate only: turbulent and no more is known. [-]"""
SAME_RATE = 1e-3
"""Rates nearer than this to each other are one rate. [-]"""


@dataclass(frozen=True, slots=True)
class PressureLaw:
    """Standpipe pressure = `pressure` at `flow`, scaled by flow ratio ** `exponent`."""

    flow: float
    """Where the law is anchored: the middle of the readings. [m3/s]"""
    pressure: float
    """[Pa]"""
    exponent: float
    assumed: bool
    """The exponent is a default, not fitted; to be shown with every number."""

    def expected(self, flow: float) -> Answer:
        """Return the standpipe pressure at `flow` [m3/s]. [Pa] 0 below 1 L/min."""
        got = numbers(("flow", flow, 0.0))
        if isinstance(got, Unknown):
            return got
        if flow < FLOW_FLOOR:
            return 0.0
        try:
            value = self.pressure * (flow / self.flow) ** self.exponent
        except OverflowError:
            value = float("inf")
        return finite(value, "the flow is too far from the readings")


def fit_law(readings: Sequence[tuple[float, float]]) -> PressureLaw | Unknown:
    r"""Fit c and n of p = c Q^n, least squares of log p against log Q.

    Parameters
    ----------
    readings : sequence of (float, float)
        Flow [m3/s] and standpipe pressure [Pa] at one geometry and mud, two or more rates.

    Returns
    -------
    PressureLaw or Unknown
        Readings at one rate only give exponent 2, marked as assumed. `Unknown` without
        readings, for one that is no positive number, and if the pressure does not rise with
        the flow (then a reading is wrong).
    """
    if not readings:
        return Unknown("no reading of flow and pressure")
    for flow, pressure in readings:
        if not (isfinite(flow) and flow >= FLOW_FLOOR and isfinite(pressure) and pressure > 0):
            return Unknown(f"reading {pressure:g} Pa at {flow:g} m3/s: both must be above 0")
    x = [log(flow) for flow, _ in readings]
    y = [log(pressure) for _, pressure in readings]
    middle, height = sum(x) / len(x), sum(y) / len(y)
    if max(x) - min(x) < SAME_RATE:
        return PressureLaw(exp(middle), exp(height), ASSUMED_EXPONENT, assumed=True)
    spread = sum((a - middle) ** 2 for a in x)
    n = sum((a - middle) * (b - height) for a, b in zip(x, y, strict=True)) / spread
    if n <= 0:
        return Unknown("the pressure does not rise with the flow")
    return PressureLaw(exp(middle), exp(height), n, assumed=False)


def _work(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g = given
    law = fit_law([(g["flow_1"], g["pressure_1"]), (g["flow_2"], g["pressure_2"])])
    if isinstance(law, Unknown):
        return {"exponent": law, "pressure": law}
    if law.assumed:
        one_rate = Unknown("both readings are at one rate; 2 is assumed for the pressure")
        return {"exponent": one_rate, "pressure": law.expected(g["flow"])}
    return {"exponent": law.exponent, "pressure": law.expected(g["flow"])}


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "standpipe-law",
        "Exponent of standpipe pressure from two rates, and the pressure at a third",
        (
            Input("flow_1", "flow", "first rate", low=0.0),
            Input("pressure_1", "pressure", "standpipe pressure at the first rate", low=0.0),
            Input("flow_2", "flow", "second rate", low=0.0),
            Input("pressure_2", "pressure", "standpipe pressure at the second rate", low=0.0),
            Input("flow", "flow", "rate asked for", low=0.0),
        ),
        (
            Output("exponent", "none", "exponent of flow"),
            Output("pressure", "pressure", "standpipe pressure expected"),
        ),
        "Lapeyrouse, Formulas and Calculations, Gulf (2002)",
        _work,
    ),
)
