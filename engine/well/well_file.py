"""From the well file to what the hydraulics need; every gap with its reason in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from engine.block import FloatArray
from engine.config import Bit, Mud, Standpipe, Surface, Survey, WellConfig
from engine.well.answer import Answer, Unknown
from engine.well.bit_hydraulics import nozzle_area
from engine.well.checks import positive
from engine.well.geometry import WellGeometry
from engine.well.hydraulics import Circuit, Fluid, circulate, surface_loss, vertical
from engine.well.rheology import FlowModel, Readings, bingham, fit

LEAST_FACTOR, MOST_FACTOR = 1 / 3, 3.0
"""A reading further than this from the model is one of another mud, bit or unit. [-]"""


def flow_model(mud: Mud) -> FlowModel | Unknown:
    """Return how the mud flows, Bingham from PV and YP, else the best fit to the dial."""
    if mud.plastic_viscosity is not None and mud.yield_point is not None:
        found = bingham(mud.plastic_viscosity, mud.yield_point)
        return found if isinstance(found, Unknown) else FlowModel(found, found)
    if mud.r600 is not None and mud.r300 is not None:
        return fit(Readings(mud.r600, mud.r300, mud.r100, mud.r6, mud.r3))
    return Unknown(
        "the well file does not say how the mud flows: under [mud], plastic_viscosity_cP and "
        "yield_point_Pa, or dial readings r600, r300 and, if read, r100, r6, r3"
    )


def bit_area(bit: Bit) -> Answer:
    """Return the total flow area of the nozzles [m2], unknown if none is listed."""
    if not bit.nozzles:
        return Unknown("no nozzles in the well file: under [bit], nozzles_in32 = [12, 12, 13]")
    return nozzle_area(bit.nozzles)


def bit_diameter(config: WellConfig) -> Answer:
    """Return the diameter of the bit, else of the last hole section [m]; unknown without both."""
    if config.bit.diameter is not None:
        return config.bit.diameter
    if config.hole:
        return config.hole[-1].diameter
    return Unknown("no bit diameter in the well file: under [bit], diameter_in, or a [[hole]]")


def true_depth(survey: Sequence[Survey]) -> Callable[[FloatArray], FloatArray]:
    """Return the function from measured to true vertical depth, shape (n,) to (n,). [m]

    Straight from station to station, the first of which is the floor; beyond the last as
    between the last two. A hole without stations is vertical.
    """
    if not survey:
        return vertical
    md = np.array([0.0, *(point.md for point in survey)])
    tvd = np.array([0.0, *(point.tvd for point in survey)])
    slope = np.diff(tvd) / np.diff(md)

    def tvd_at(depth: FloatArray) -> FloatArray:
        i = np.clip(np.searchsorted(md, depth, side="right") - 1, 0, slope.size - 1)
        out: FloatArray = tvd[i] + slope[i] * (depth - md[i])
        return out

    return tvd_at


def surface_coefficient(surface: Surface, density: float) -> Answer:
    """Return the coefficient of `surface_loss` that gives the loss known at one flow. [-]"""
    one = surface_loss(1.0, density, surface.flow)
    if isinstance(one, Unknown):
        return one
    return surface.pressure_loss / one if one > 0 else Unknown("[surface]: there is no flow")


def circuit_of(config: WellConfig) -> Circuit | Unknown:
    """Return all that the mud runs through, or why it cannot be told.

    Nozzles that are not listed leave only the bit and the standpipe unknown. Surface lines
    that are not described count nothing: `standpipe_factor` sees to that.
    """
    model = flow_model(config.mud)
    if isinstance(model, Unknown):
        return model
    if not config.hole:
        return Unknown("no hole in the well file; it needs a [[hole]] table")
    density = config.mud.density
    surface = 0.0 if config.surface is None else surface_coefficient(config.surface, density)
    if isinstance(surface, Unknown):
        return surface
    return Circuit(
        WellGeometry.of(config),
        Fluid(density, model.pipe, model.annulus),
        bit_area(config.bit),
        surface,
        config.bit.discharge_coefficient,
        true_depth(config.survey),
    )


def standpipe_factor(circuit: Circuit, config: WellConfig) -> Answer:
    """Return what the model's standpipe pressure is multiplied by. [-]

    The reading under ``[standpipe]`` over the model at its flow and bit depth; 1 without a
    reading, if the surface lines are described.
    """
    if isinstance(circuit.nozzle_area, Unknown):
        return circuit.nozzle_area
    reading = config.standpipe
    if reading is None:
        if config.surface is None:
            return Unknown(
                "the well file says nothing of the surface lines: a loss and its flow under "
                "[surface], or one reading of the pressure under [standpipe]"
            )
        return 1.0
    found = circulate(circuit, reading.flow, reading.bit_depth)
    model = found if isinstance(found, Unknown) else found.standpipe
    if isinstance(model, Unknown):
        return Unknown(f"[standpipe]: {model.reason}")
    if not model > 0:
        return Unknown("[standpipe]: there is no flow")
    factor = reading.pressure / model
    if not LEAST_FACTOR <= factor <= MOST_FACTOR:
        return Unknown(
            f"[standpipe]: the reading is {factor:.2g} times the model's; check its unit, "
            "the nozzles and the mud"
        )
    return factor


def reading_of(pressure: float, flow: float, bit_depth: float) -> Standpipe | Unknown:
    """Return a reading of the standpipe as the well file would hold it; unknown if impossible."""
    if bad := positive(pressure=pressure, flow=flow, bit_depth=bit_depth):
        return bad
    return Standpipe.model_validate(
        {"pressure_Pa": pressure, "flow_m3_s": flow, "bit_depth_m": bit_depth}
    )


def reading_factor(config: WellConfig, reading: Standpipe) -> Answer:
    """Return what the model's standpipe pressure is multiplied by to meet `reading`. [-]"""
    circuit = circuit_of(config)
    if isinstance(circuit, Unknown):
        return circuit
    found = standpipe_factor(circuit, config.model_copy(update={"standpipe": reading}))
    if isinstance(found, Unknown):
        return Unknown(found.reason.removeprefix("[standpipe]: "))
    return found
