"""Tables of the well file that pressures are worked out from; import from `engine.config`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from engine.config_base import Length, Model, NotNegative, Number, Of, Positive, TableError, keys_of

_DIAL = ("r600", "r300", "r100", "r6", "r3")


class Mud(Model):
    """The fluid in use. How it flows is told by PV and YP, or by the dial, or not at all."""

    density: Annotated[Positive, Of("density")]
    plastic_viscosity: Annotated[Positive, Of("viscosity")] | None = None
    """[Pa s]"""
    yield_point: Annotated[NotNegative, Of("pressure")] | None = None
    """[Pa]"""
    r600: Positive | None = None
    """Reading of a rotational viscometer at 600 rpm, and so on. [degrees]"""
    r300: Positive | None = None
    r100: Positive | None = None
    r6: Positive | None = None
    r3: Positive | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Mud:
        problems = []
        pair = {"plastic_viscosity": "viscosity", "yield_point": "pressure"}
        given = [name for name in pair if getattr(self, name) is not None]
        read = [name for name in _DIAL if getattr(self, name) is not None]
        if len(given) == 1:
            (other,) = set(pair) - set(given)
            text = f"missing; {given[0]} needs it too: {keys_of(other, pair[other])}"
            problems.append((other, text))
        if given and read:
            text = "give plastic viscosity and yield point, or dial readings, not both"
            problems.append((read[0], text))
        if read:
            problems += [
                (name, f"missing; {read[0]} is of no use without it")
                for name in ("r600", "r300")
                if getattr(self, name) is None
            ]
        if self.r600 is not None and self.r300 is not None and self.r600 <= self.r300:
            problems.append(("r600", f"must be above r300, got {self.r600:g} and {self.r300:g}"))
        if problems:
            raise TableError(problems)
        return self


class Bit(Model):
    """The bit in the hole."""

    diameter: Length | None = None
    """None: that of the last hole section. [m]"""
    nozzles: Annotated[tuple[NotNegative, ...], Of("length")] = ()
    """Diameter of each, 0 for a blank: ``nozzles_in32 = [12, 12, 13]``. [m]"""
    discharge_coefficient: Annotated[Number, Field(ge=0.5, le=1.2)] = 0.95
    """Of the nozzles: 0.95 by custom, near 1.03 measured. [-]"""

    @model_validator(mode="after")
    def _open(self) -> Bit:
        if self.nozzles and not any(self.nozzles):
            raise TableError([("nozzles", "all are blank; at least one must be open")])
        return self


class Surface(Model):
    """Standpipe, hose and top drive: what they take at one flow, with the mud in use."""

    pressure_loss: Annotated[NotNegative, Of("pressure")]
    flow: Annotated[Positive, Of("flow")]


class Standpipe(Model):
    """One reading to calibrate the model on, taken with the mud and the bit in use."""

    pressure: Annotated[Positive, Of("pressure")]
    flow: Annotated[Positive, Of("flow")]
    bit_depth: Length


class Survey(Model):
    """True vertical depth at one measured depth."""

    md: Length
    """Measured along the hole, from the floor. [m]"""
    tvd: Annotated[NotNegative, Of("length")]
    """True vertical depth. [m]"""
