"""String and hole of a well file as the few sums that the synthetic rig needs."""

from __future__ import annotations

from dataclasses import dataclass

from engine.config import WellConfig
from engine.errors import InputError
from engine.units import G0
from engine.well.capacities import STEEL, circle
from engine.well.weight_drag import YOUNG


@dataclass(frozen=True, slots=True)
class Geometry:
    """What does not change while a well is drilled."""

    bottom: tuple[tuple[float, float, float], ...]
    """Parts of the string below the pipe: length [m], outer area [m2], weight in air [N/m]."""
    steel: float
    """Cross-section of the pipe, tool joints spread over it. [m2]"""
    bore: float
    """Bore area of the pipe. [m2]"""
    pipe_weight: float
    """Weight of the pipe in air. [N/m]"""
    bottom_weight: float
    """Weight of everything below the pipe, in air. [N]"""
    bottom_length: float
    sections: tuple[tuple[float, float], ...]
    """Hole from the top down: depth of the lower end [m] and area [m2]; the last is endless."""
    hole: float
    """Area of the hole being drilled. [m2]"""
    diameter: float
    """Diameter of the bit. [m]"""

    @classmethod
    def of(cls, config: WellConfig) -> Geometry:
        """Take the sums from `config`; `InputError` if it describes no string in a hole."""
        *below, pipe = config.string
        if not config.hole:
            raise InputError("synthetic rig: the well file needs a [[hole]] table, got none")
        lengths = [part.length or 0.0 for part in below]
        sections = tuple(
            (float("inf") if s is config.hole[-1] else (s.bottom or 0.0), circle(s.diameter))
            for s in config.hole
        )
        return cls(
            bottom=tuple(
                (length, circle(part.outer), part.weight * G0)
                for length, part in zip(lengths, below, strict=True)
            ),
            steel=pipe.weight / STEEL,
            bore=circle(pipe.inner),
            pipe_weight=pipe.weight * G0,
            bottom_weight=sum(n * part.weight * G0 for n, part in zip(lengths, below, strict=True)),
            bottom_length=sum(lengths),
            sections=sections,
            hole=sections[-1][1],
            diameter=config.hole[-1].diameter,
        )

    def weight(self, bit: float) -> float:
        """Return the weight in air of the string down to `bit`. [N]"""
        return self.bottom_weight + self.pipe_weight * (bit - self.bottom_length)

    def stiffness(self, bit: float) -> float:
        """Return the axial stiffness of the string, as of plain pipe all the way. [N/m]"""
        return YOUNG * self.steel / max(bit, 100.0)

    def annulus(self, bit: float) -> float:
        """Return the volume between string and hole from the bit to surface. [m3]"""
        total, top = 0.0, 0.0
        for lower, area in self.sections:
            low = min(lower, bit)
            total += area * max(0.0, low - top)
            top = max(top, low)
        solid = sum(length * area for length, area, _ in self.bottom)
        return total - solid - (self.steel + self.bore) * (bit - self.bottom_length)

    @property
    def gap(self) -> float:
        """Annular area around the pipe at surface. [m2]"""
        return self.sections[0][1] - self.steel - self.bore
