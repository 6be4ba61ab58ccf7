"""The circulating system worked out once on a grid of flow and bit depth, then looked up.

For a value a second over a whole tour. Lengths of each kind of section change linearly with
the bit depth between the depths where a part of the string passes an edge of the hole, so with
a node at each of those the look-up is exact in depth; in flow, 512 nodes at a constant ratio
keep it within 0.1 % of `engine.well.hydraulics.circulate` (a test holds it to that).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray
from engine.errors import InputError
from engine.units import G0
from engine.well.answer import Answer, Unknown
from engine.well.bit_hydraulics import bit_loss
from engine.well.friction import FLOW_FLOOR, annulus_loss, pipe_loss
from engine.well.geometry import CLOSE
from engine.well.hydraulics import Circuit, surface_loss
from engine.well.kill_mud import DEPTH_FLOOR

NODES = 512
"""Flows in the grid. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class CirculationRows:
    """One row for each flow and depth asked for, shape (n,); NaN is unknown."""

    standpipe: FloatArray
    """Expected standpipe pressure. [Pa]"""
    string: FloatArray
    """Loss inside the string. [Pa]"""
    annulus: FloatArray
    """Loss in the annulus, bit to floor. [Pa]"""
    ecd_bit: FloatArray
    """[kg/m3] The mud weight while nothing is pumped."""
    ecd_shoe: FloatArray
    """[kg/m3]"""


@dataclass(frozen=True, slots=True, eq=False)
class HydraulicsTable:
    """Losses on a grid; build it again when mud, string, bit or hole change."""

    circuit: Circuit
    depths: FloatArray
    """Bit depths, rising, shape (d,). [m]"""
    flows: FloatArray
    """From 1 L/min up at a constant ratio, shape (f,). [m3/s]"""
    head: FloatArray
    """Surface lines and bit, shape (f,). [Pa]"""
    string: FloatArray
    """Shape (d, f). [Pa]"""
    annulus: FloatArray
    """Shape (d, f). [Pa]"""
    above_shoe: FloatArray
    """Annulus above the shoe or the bit, shape (d, f). [Pa]"""

    @classmethod
    def of(
        cls, circuit: Circuit, deepest: float, fastest: float = 0.1, nodes: int = NODES
    ) -> HydraulicsTable:
        """Work out the grid.

        Parameters
        ----------
        circuit : Circuit
        deepest : float
            Greatest bit depth that will be asked for. [m]
        fastest : float
            Greatest flow; the default, 6000 L/min, is above what a rig pumps. [m3/s]
        nodes : int
            Flows in the grid. [-]

        Raises
        ------
        InputError
            If `deepest` or `fastest` is no positive number, or there are too few nodes.
        """
        if not (0 < deepest < float("inf") and FLOW_FLOOR < fastest < float("inf")):
            raise InputError(
                f"hydraulics table: depth and flow must be positive, got {deepest} m and "
                f"{fastest} m3/s"
            )
        if nodes < 2:
            raise InputError(f"hydraulics table: needs 2 flows or more, got {nodes}")
        flows = np.geomspace(FLOW_FLOOR, fastest, nodes)
        flows[0] = FLOW_FLOOR
        depths = slope_edges(circuit, deepest)
        density = circuit.fluid.density
        head = _numbers(surface_loss(circuit.surface, density, q) for q in flows.tolist())
        head = head + _numbers(
            bit_loss(density, q, circuit.nozzle_area, circuit.discharge) for q in flows.tolist()
        )
        return cls(circuit, depths, flows, head, *_losses(circuit, depths, flows))

    def at(self, flow: FloatArray, bit: FloatArray) -> CirculationRows:
        """Look up every row.

        Parameters
        ----------
        flow, bit : ndarray
            Pump rate [m3/s] and measured bit depth [m], shape (n,). NaN is unknown.

        Returns
        -------
        CirculationRows
            NaN where flow or depth is NaN, negative or beyond the grid, where string and
            hole cannot be told, for the ECD at the bit above 1 m of true vertical depth, for
            the standpipe without nozzles and for the shoe without casing. Below 1 L/min all
            losses are 0.
        """
        known = (flow >= 0) & (flow <= self.flows[-1]) & (bit >= 0) & (bit <= self.depths[-1])
        q = np.where(known, np.maximum(flow, self.flows[0]), self.flows[0])
        z = np.where(known, bit, 0.0)
        j, y = _place(self.flows, q)
        i, x = _place(self.depths, z)
        still = flow < FLOW_FLOOR

        def look(grid: FloatArray) -> FloatArray:
            near = grid[i, j] * (1 - y) + grid[i, j + 1] * y
            far = grid[i + 1, j] * (1 - y) + grid[i + 1, j + 1] * y
            # Without the choice, NaN at a node not needed (weight 0) would spread to this row.
            value = np.where(x == 0, near, np.where(x == 1, far, near * (1 - x) + far * x))
            return np.where(known, np.where(still, value * 0.0, value), np.nan)

        string, annulus = look(self.string), look(self.annulus)
        head = self.head[j] * (1 - y) + self.head[j + 1] * y
        head = np.where(still, head * 0.0, head)
        shoe = self.circuit.geometry.shoe
        tvd = np.array([self.circuit.tvd(shoe) if shoe > 0 else np.nan])
        return CirculationRows(
            head + string + annulus,
            string,
            annulus,
            self._density(annulus, self.circuit.true_depth(z)),
            self._density(look(self.above_shoe), tvd),
        )

    def _density(self, loss: FloatArray, tvd: FloatArray) -> FloatArray:
        deep = np.where(tvd >= DEPTH_FLOOR, tvd, np.nan)
        return self.circuit.fluid.density + loss / (G0 * deep)


def slope_edges(circuit: Circuit, deepest: float) -> FloatArray:
    """Return the bit depths between which the length of each kind of section is linear. [m]"""
    ends = [0.0]
    for part in circuit.geometry.string:
        ends.append(ends[-1] + (part.length or 0.0))
    holes = [0.0, *(s.bottom for s in circuit.geometry.hole if s.bottom is not None)]
    edges = {hole + end for hole in holes for end in ends}
    return np.array(sorted({0.0, deepest, *(e for e in edges if e < deepest)}))


def _losses(
    circuit: Circuit, depths: FloatArray, flows: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Losses in string, annulus, and annulus above the shoe, each (d, f)."""
    fluid, shoe, rates = circuit.fluid, circuit.geometry.shoe, flows.tolist()
    string, annulus, cased = (np.zeros((depths.size, flows.size)) for _ in range(3))
    inside: dict[float, FloatArray] = {}
    outside: dict[tuple[float, float], FloatArray] = {}
    for i, bit in enumerate(depths.tolist()):
        sections = circuit.sections(bit)
        if isinstance(sections, Unknown):
            string[i] = annulus[i] = cased[i] = np.nan
            continue
        for s in sections:
            bore, ring = s.inner, (s.hole, s.outer)
            if bore not in inside:
                inside[bore] = _numbers(
                    pipe_loss(fluid.pipe, fluid.density, q, bore, 1.0) for q in rates
                )
            if ring not in outside:
                outside[ring] = _numbers(
                    annulus_loss(fluid.annulus, fluid.density, q, *ring, 1.0) for q in rates
                )
            string[i] += inside[bore] * s.length
            annulus[i] += outside[ring] * s.length
            if s.bottom <= shoe + CLOSE:
                cased[i] += outside[ring] * s.length
    return string, annulus, cased


def _numbers(answers: Iterable[Answer]) -> FloatArray:
    return np.array([np.nan if isinstance(a, Unknown) else a for a in answers])


def _place(nodes: FloatArray, at: FloatArray) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Return the node below each value, and how far it is to the next one. [-]"""
    i = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, nodes.size - 2)
    return i, (at - nodes[i]) / (nodes[i + 1] - nodes[i])
