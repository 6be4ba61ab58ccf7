"""The whole circulating system: surface lines, string, bit, annulus; pressures and ECD.

A model, not a measurement: steady flow, concentric pipe, gauge hole, one mud at one
temperature, no cuttings, no loss in motors and tools. Calibrate it on the standpipe
(`engine.well.pressure_law`).

References
----------
.. [1] API RP 13D, 5th ed. (2006). A. T. Bourgoyne et al., Applied Drilling Engineering, SPE,
   1986, ch. 4.
.. [2] IADC WellSharp formula sheet (2016): ECD from the friction in the annulus.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from engine.block import FloatArray
from engine.units import GAL, MINUTE, PPG, PSI
from engine.well.answer import Answer, Unknown, finite
from engine.well.bit_hydraulics import DISCHARGE, bit_loss
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.ecd import circulating_density
from engine.well.friction import FLOW_FLOOR, annulus_loss, pipe_loss
from engine.well.geometry import CLOSE, Section, WellGeometry
from engine.well.rheology import Rheology
from engine.well.sheet import EXACT, numbers

SURFACE_EXPONENT = 1.86
"""Of flow in the surface lines. [-]"""


def vertical(depth: FloatArray) -> FloatArray:
    """Return measured depth as true vertical depth: a straight hole. [m]"""
    return depth


@dataclass(frozen=True, slots=True)
class Fluid:
    """The mud that is pumped."""

    density: float
    """[kg/m3]"""
    pipe: Rheology
    annulus: Rheology
    """The same as `pipe` except in the power law of RP 13D (1995)."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """All that the mud runs through, whatever the flow and the depth."""

    geometry: WellGeometry
    fluid: Fluid
    nozzle_area: Answer
    """Total flow area of the bit. [m2]"""
    surface: float
    """Coefficient of standpipe, hose and top drive, 2 to 10; 0: not counted. [-]"""
    discharge: float = DISCHARGE
    """Discharge coefficient of the nozzles. [-]"""
    true_depth: Callable[[FloatArray], FloatArray] = vertical
    """Measured to true vertical depth, shape (n,) to (n,). [m]"""

    def tvd(self, depth: float) -> float:
        """Return the true vertical depth of `depth`. [m]"""
        return float(self.true_depth(np.array([depth]))[0])

    def sections(self, bit: float) -> tuple[Section, ...] | Unknown:
        """List what has pipe in it, from the floor to the bit at `bit` [m]."""
        # The hole is at least as deep as its casing; what is below the bit stands still.
        found = self.geometry.sections(bit, max(bit, self.geometry.shoe))
        if isinstance(found, Unknown):
            return found
        return tuple(s for s in found if s.pipe_name)


@dataclass(frozen=True, slots=True)
class Circulation:
    """Pressures [Pa] and densities [kg/m3] at one flow and bit depth; 0 is no friction."""

    static: bool
    """Nothing is pumped: the densities are the mud weight, the label is static, not ECD."""
    surface: Answer
    string: Answer
    bit: Answer
    annulus: Answer
    standpipe: Answer
    """Expected standpipe pressure: the sum of the four."""
    above_shoe: Answer
    """Friction in the annulus above the shoe (or the bit, if that is higher)."""
    ecd_bit: Answer
    ecd_shoe: Answer
    parts: tuple[tuple[Section, Answer, Answer], ...]
    """Each section with its loss inside and outside the pipe."""


def surface_loss(coefficient: float, density: float, flow: float) -> Answer:
    """Return the loss in standpipe, hose and top drive. [Pa]

    1e-5 k MW Q^1.86 in psi, ppg and gpm, converted exactly; it is an empirical fit.

    Parameters
    ----------
    coefficient : float
        2 for wide to 10 for narrow surface pipe. [-]
    density : float
        [kg/m3]
    flow : float
        [m3/s]

    Returns
    -------
    float or Unknown
        [Pa] 0 below 1 L/min.

    References
    ----------
    .. [1] Drilling fluid surface pressure losses, eng-info-tech.blogspot.com (2016).
    """
    got = numbers(("coefficient", coefficient, 0.0), ("density", density, 1.0), ("flow", flow, 0.0))
    if isinstance(got, Unknown) or flow < FLOW_FLOOR:
        return got if isinstance(got, Unknown) else 0.0
    gpm = flow / (GAL / MINUTE)
    lost = 1e-5 * coefficient * density / PPG * float(gpm**SURFACE_EXPONENT) * PSI
    return finite(lost, "surface loss: the flow is too fast")


def circulate(circuit: Circuit, flow: float, bit: float) -> Circulation | Unknown:
    """Work out the whole system at one flow and bit depth.

    Parameters
    ----------
    circuit : Circuit
    flow : float
        Pump rate. [m3/s]
    bit : float
        Measured depth of the bit. [m]

    Returns
    -------
    Circulation or Unknown
        `Unknown` for a flow that is not known or negative, and where string and hole cannot
        be told at that depth. Without nozzles only bit and standpipe are unknown; without
        casing only what concerns the shoe.
    """
    got = numbers(("flow", flow, 0.0), ("bit depth", bit, 0.0))
    if isinstance(got, Unknown):
        return got
    sections = circuit.sections(bit)
    if isinstance(sections, Unknown):
        return sections
    fluid, density = circuit.fluid, circuit.fluid.density
    parts = tuple(
        (
            s,
            pipe_loss(fluid.pipe, density, flow, s.inner, s.length),
            annulus_loss(fluid.annulus, density, flow, s.hole, s.outer, s.length),
        )
        for s in sections
    )
    surface = surface_loss(circuit.surface, density, flow)
    string = total(inside for _, inside, _ in parts)
    nozzles = bit_loss(density, flow, circuit.nozzle_area, circuit.discharge)
    annulus = total(outside for _, _, outside in parts)
    shoe = circuit.geometry.shoe
    cased: Answer = Unknown("no casing in the well file")
    ecd_shoe: Answer = cased
    if shoe > 0:
        cased = total(outside for s, _, outside in parts if s.bottom <= shoe + CLOSE)
        ecd_shoe = circulating_density(EXACT, density, cased, circuit.tvd(shoe))
    return Circulation(
        static=flow < FLOW_FLOOR,
        surface=surface,
        string=string,
        bit=nozzles,
        annulus=annulus,
        standpipe=total((surface, string, nozzles, annulus)),
        above_shoe=cased,
        ecd_bit=circulating_density(EXACT, density, annulus, circuit.tvd(bit)),
        ecd_shoe=ecd_shoe,
        parts=parts,
    )


def total(answers: Iterable[Answer]) -> Answer:
    """Return the sum of some answers, or the first unknown among them."""
    added = 0.0
    for answer in answers:
        if isinstance(answer, Unknown):
            return answer
        added += answer
    return added


def _work(given: Mapping[str, float]) -> Mapping[str, Answer]:
    return {"loss": surface_loss(given["coefficient"], given["density"], given["flow"])}


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "surface-loss",
        "Pressure lost in standpipe, hose and top drive",
        (
            Input("coefficient", "count", "2 (wide) to 10 (narrow)", low=0.0, high=50.0),
            mud_input("density", "mud weight"),
            Input("flow", "flow", "pump rate", low=0.0),
        ),
        (Output("loss", "pressure", "surface loss"),),
        "Empirical: 1e-5 k MW Q^1.86 (common practice)",
        _work,
    ),
)
