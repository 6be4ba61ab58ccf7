r"""String and hole section by section, and every volume at a bit depth and a hole depth. SI.

Depths are measured along the hole, from the floor. Bore and annulus are those of the pipe body;
the open-end displacement is the steel by weight, tool joints included. So

.. math:: V_{hole} = V_{annulus} + V_{bore} + V_{body} + V_{below}

holds exactly for the body of the pipe, and not for its weight, which is some per cent more.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import fsum, isfinite, pi

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray
from engine.config import Component, HoleSection, WellConfig
from engine.well.answer import Answer, Unknown
from engine.well.capacities import STEEL, circle

CLOSE = 1e-6
"""Depths nearer than this are one depth: the noise of adding lengths. [m]"""


@dataclass(frozen=True, slots=True)
class Section:
    """A length of the well in which hole and pipe stay the same."""

    top: float
    bottom: float
    hole: float
    """Diameter of the hole or inside of the casing. [m]"""
    outer: float
    """Outside of the pipe; 0 below the bit. [m]"""
    inner: float
    """Bore of the pipe; 0 below the bit. [m]"""
    weight: float
    """Of the pipe in air; 0 below the bit. [kg/m]"""
    hole_name: str
    pipe_name: str
    """Empty below the bit."""

    @property
    def length(self) -> float:
        """[m]."""
        return self.bottom - self.top

    @property
    def annular_area(self) -> float:
        """Between hole and pipe; the whole hole below the bit. [m2]"""
        return pi / 4 * (self.hole - self.outer) * (self.hole + self.outer)

    @property
    def annulus(self) -> float:
        """Volume between hole and pipe; the whole hole below the bit. [m3]"""
        return self.annular_area * self.length

    @property
    def bore(self) -> float:
        """Volume inside the pipe. [m3]"""
        return circle(self.inner) * self.length


@dataclass(frozen=True, slots=True)
class Volumes:
    """Every volume at one bit depth and one hole depth. [m3]"""

    string: float
    """Inside the string, floor to bit."""
    annulus: float
    """Around the string, bit to floor."""
    to_shoe: Answer
    """Around the string, bit to shoe: 0 with the bit above the shoe, unknown without casing."""
    from_shoe: Answer
    """Around the string, shoe (or bit, if higher) to floor; unknown without casing."""
    below_bit: float
    """The hole under the bit."""
    open_end: float
    """What the string displaces with its bore full: the steel, tool joints included."""
    closed_end: float
    """What the string displaces with its bore empty: the outside of the body."""
    hole: float
    """The hole without any string, floor to bottom."""


@dataclass(frozen=True, slots=True)
class WellGeometry:
    """A string in a hole. The string is that of the well file or casing being run.

    A bit deeper than all lengths together is reached with more of the uppermost part.
    """

    string: tuple[Component, ...]
    """From the bit up."""
    hole: tuple[HoleSection, ...]
    """From the top down; the last one may have no bottom."""
    shoe: float = 0.0
    """Where the deepest casing or liner ends; 0: there is none. [m]"""

    @classmethod
    def of(cls, config: WellConfig, string: Sequence[Component] | None = None) -> WellGeometry:
        """Take the hole of a well file, and its string unless another one is run.

        The last of several hole sections is the open hole: the shoe is at its top.
        """
        run = config.string if string is None else tuple(string)
        return cls(run, config.hole, config.hole[-1].top if config.hole else 0.0)

    def sections(self, bit: float, hole: float) -> tuple[Section, ...] | Unknown:
        """List the well from the floor to the bottom of the hole.

        Parameters
        ----------
        bit, hole : float
            Measured depth of bit and hole; bit 0 is an empty hole. [m]

        Returns
        -------
        tuple of Section, or Unknown
            From the floor down. Unknown if a depth is unknown or negative, the bit is below
            the hole, the hole ends above the end of a casing or liner or is not described
            that deep, or a pipe is thicker than the hole around it.
        """
        if bad := self._problem(bit, hole):
            return bad
        pipes = list(self._pipes(bit))
        edges = {0.0, bit, hole, *(top for top, _, _ in pipes)}
        edges |= {s.bottom for s in self.hole if s.bottom is not None and s.bottom < hole}
        out: list[Section] = []
        depths = sorted(edges)
        for top, bottom in pairwise(depths):
            if bottom - top <= CLOSE:
                continue
            middle = (top + bottom) / 2
            around = self._around(middle)
            part = next((c for a, b, c in pipes if a <= middle < b), None)
            if part is not None and part.outer >= around.diameter:
                return Unknown(
                    f"{part.name} ({part.outer * 1e3:.1f} mm) does not go into {around.name} "
                    f"({around.diameter * 1e3:.1f} mm) at {top:.1f} m"
                )
            sizes = (part.outer, part.inner, part.weight) if part else (0.0, 0.0, 0.0)
            name = part.name if part else ""
            out.append(Section(top, bottom, around.diameter, *sizes, around.name, name))
        return tuple(out)

    def volumes(self, bit: float, hole: float) -> Volumes | Unknown:
        """Work out every volume, bit and hole at these depths [m]; unknown as `sections`."""
        found = self.sections(bit, hole)
        if isinstance(found, Unknown):
            return found
        inside = [s for s in found if s.pipe_name]
        below = fsum(s.annulus for s in found if not s.pipe_name)
        cased: Answer = Unknown("no casing in the well file")
        open_part: Answer = cased
        if self.shoe > 0:
            cased = fsum(s.annulus for s in inside if s.bottom <= self.shoe + CLOSE)
            open_part = fsum(s.annulus for s in inside if s.bottom > self.shoe + CLOSE)
        return Volumes(
            string=fsum(s.bore for s in inside),
            annulus=fsum(s.annulus for s in inside),
            to_shoe=open_part,
            from_shoe=cased,
            below_bit=below,
            open_end=fsum(s.weight / STEEL * s.length for s in inside),
            closed_end=fsum(circle(s.outer) * s.length for s in inside),
            hole=fsum(circle(s.hole) * s.length for s in found),
        )

    def annulus_at(self, bit: npt.ArrayLike) -> FloatArray:
        """Annulus volume, bit to floor, for many bit depths at once.

        Parameters
        ----------
        bit : array_like
            Shape (n,) or a number. [m]

        Returns
        -------
        ndarray
            Same shape. [m3] NaN where the bit depth is NaN, negative or deeper than the hole
            is described, and where a part of the string does not go into the hole.
        """
        depth = np.asarray(bit, np.float64)
        volume = self._hole_volume(depth) - self.closed_at(depth)
        return np.where(self._fits(depth), volume, np.nan)

    def string_at(self, bit: npt.ArrayLike) -> FloatArray:
        """Volume inside the string for many bit depths [m]; NaN for NaN or negative. [m3]"""
        return self._along(bit, [circle(c.inner) for c in self.string])

    def open_at(self, bit: npt.ArrayLike) -> FloatArray:
        """Open-end displacement (steel by weight) for many bit depths [m]. [m3]"""
        return self._along(bit, [c.weight / STEEL for c in self.string])

    def closed_at(self, bit: npt.ArrayLike) -> FloatArray:
        """Closed-end displacement (outside of the body) for many bit depths [m]. [m3]"""
        return self._along(bit, [circle(c.outer) for c in self.string])

    def _problem(self, bit: float, hole: float) -> Unknown | None:
        if not self.hole:
            return Unknown("no hole in the well file; it needs a [[hole]] table")
        for name, depth in (("bit depth", bit), ("hole depth", hole)):
            if not isfinite(depth):
                return Unknown(f"{name} is unknown")
            if depth < 0:
                return Unknown(f"{name} is {depth:g} m, above the floor")
        if bit > hole + CLOSE:
            return Unknown(f"the bit at {bit:.2f} m is below the bottom of the hole, {hole:.2f} m")
        if bit > CLOSE and not self.string:
            return Unknown(f"no string is described, yet the bit is at {bit:.2f} m")
        if self.hole[0].top > CLOSE:
            return Unknown(f"the hole above {self.hole[0].top:g} m is not described")
        ends = [s.bottom for s in self.hole if s.bottom is not None]
        if ends and ends[-1] < hole - CLOSE and self.hole[-1].bottom is not None:
            return Unknown(
                f"the hole is at {hole:.2f} m but described only to {ends[-1]:.2f} m; "
                "give the last [[hole]] no bottom and it grows"
            )
        cased = [s for s in self.hole if s.bottom is not None and s.bottom <= self.shoe + CLOSE]
        if cased and (deepest := cased[-1].bottom or 0.0) > hole + CLOSE:
            return Unknown(
                f"{cased[-1].name} ends at {deepest:.2f} m, below the bottom of the hole, "
                f"{hole:.2f} m"
            )
        return None

    def _pipes(self, bit: float) -> Iterator[tuple[float, float, Component]]:
        """Yield top, bottom and part of what is in the hole, from the bit up."""
        for i, part in enumerate(self.string):
            last = i == len(self.string) - 1 or part.length is None
            top = 0.0 if last or part.length is None else max(0.0, bit - part.length)
            if bit > 0:
                yield top, bit, part
            bit = top

    def _around(self, depth: float) -> HoleSection:
        """Return the hole section at `depth`; the last one goes on."""
        return next((s for s in self.hole if s.bottom is None or depth < s.bottom), self.hole[-1])

    def _along(self, bit: npt.ArrayLike, per_metre: list[float]) -> FloatArray:
        depth = np.asarray(bit, np.float64)
        left = np.where(depth >= 0, depth, np.nan)
        total: FloatArray = np.where(left > 0, np.nan, left) if not per_metre else left * 0.0
        for i, (part, each) in enumerate(zip(self.string, per_metre, strict=True)):
            last = i == len(self.string) - 1 or part.length is None
            length = left if last or part.length is None else np.minimum(left, part.length)
            total = total + each * length
            left = left - length
        return total

    def _hole_volume(self, depth: FloatArray) -> FloatArray:
        total: FloatArray = np.where(depth >= 0, depth, np.nan) * 0.0
        if not self.hole or self.hole[0].top > CLOSE:
            return np.full_like(total, np.nan)
        for s in self.hole:
            end = np.inf if s.bottom is None else s.bottom
            total = (
                total
                + circle(s.diameter) * np.clip(depth, s.top, end)
                - (circle(s.diameter) * s.top)
            )
        last = self.hole[-1].bottom
        return total if last is None else np.where(depth > last + CLOSE, np.nan, total)

    def _fits(self, depth: FloatArray) -> npt.NDArray[np.bool_]:
        """Whether no part of the string lies where the hole is narrower than it."""
        fits: npt.NDArray[np.bool_] = np.full(depth.shape, True)
        low = depth
        for i, part in enumerate(self.string):
            last = i == len(self.string) - 1 or part.length is None
            high = np.zeros_like(low) if last else np.maximum(0.0, low - (part.length or 0.0))
            for s in self.hole:
                if part.outer >= s.diameter:
                    end = np.inf if s.bottom is None else s.bottom
                    fits &= ~(np.minimum(low, end) - np.maximum(high, s.top) > CLOSE)
            low = high
        return fits
