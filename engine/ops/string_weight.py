"""What the string weighs in mud, and what it displaces, at a bit depth.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: the buoyancy
   factor is one less the ratio of mud to steel density, for a string filled with the mud it
   hangs in.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray
from engine.config import Component, WellConfig
from engine.errors import InputError
from engine.units import G0
from engine.well.capacities import STEEL
from engine.well.weight_drag import YOUNG


def buoyancy_factor(mud_density: float) -> float:
    """Share of its weight in air that steel keeps in mud of `mud_density` [kg/m3]. [-]

    Raises
    ------
    InputError
        If the density is not between that of nothing and that of steel.
    """
    if not 0.0 <= mud_density < STEEL:
        raise InputError(f"buoyancy: mud density must be 0 to {STEEL:g} kg/m3, got {mud_density}")
    return 1.0 - mud_density / STEEL


@dataclass(frozen=True, slots=True)
class StringWeight:
    """The string from the bit up, in one mud that fills bore and annulus.

    A bit deeper than all lengths added up is reached with more of the last component.
    """

    components: tuple[Component, ...]
    mud_density: float
    """[kg/m3]"""

    @classmethod
    def of(cls, config: WellConfig) -> StringWeight:
        """Take string and mud of a well file."""
        return cls(config.string, config.mud.density)

    def _sum(self, depth: npt.ArrayLike, per_metre: list[float]) -> FloatArray:
        """Add ``length in the hole * per_metre`` over the components; NaN stays NaN."""
        left = np.asarray(depth, np.float64)
        left = np.where(left > 0.0, left, np.where(np.isnan(left), np.nan, 0.0))
        total: FloatArray = np.zeros_like(left)
        for i, (part, share) in enumerate(zip(self.components, per_metre, strict=True)):
            last = i == len(self.components) - 1
            length = left if last or part.length is None else np.minimum(left, part.length)
            total = total + share * length
            left = left - length
        return total

    def air(self, depth: npt.ArrayLike) -> FloatArray:
        """Weight in air of the string from the bit to the floor, bit at `depth` [m]. [N]"""
        return self._sum(depth, [G0 * c.weight for c in self.components])

    def buoyed(self, depth: npt.ArrayLike) -> FloatArray:
        """Weight in mud of the string, bit at `depth` [m]; no drag. [N]"""
        return buoyancy_factor(self.mud_density) * self.air(depth)

    def steel_volume(self, depth: npt.ArrayLike) -> FloatArray:
        """Mud displaced by the steel alone (open end), bit at `depth` [m]. [m3]"""
        return self._sum(depth, [c.weight / STEEL for c in self.components])

    def stretch(self, depth: npt.ArrayLike) -> FloatArray:
        """Stretch for each newton pulled at the top, bit at `depth` [m]. [m/N]

        Hooke's law on every component, steel of `YOUNG`.
        """
        areas = [pi / 4 * (c.outer**2 - c.inner**2) for c in self.components]
        return self._sum(depth, [1 / (YOUNG * area) for area in areas])

    def closed_volume(self, depth: npt.ArrayLike) -> FloatArray:
        """Mud displaced with the bore closed, bit at `depth` [m]. [m3]"""
        return self._sum(depth, [pi / 4 * c.outer**2 for c in self.components])
