"""Block speed within a pressure margin, for many bit depths at once.

`engine.well.swab_surge.speed_limit` at each, of which this is the look-up: the pressure lost in
a metre of each kind of section on a grid of speeds, times the length of it at that bit depth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.block import FloatArray
from engine.well.answer import Unknown
from engine.well.friction import Shape, gradient
from engine.well.geometry import Section
from engine.well.hydraulics import Circuit
from engine.well.hydraulics_table import slope_edges
from engine.well.swab_surge import CLINGING, FASTEST, PEAK, SPEED_FLOOR, effective_speed

NODES = 512
"""Speeds in the grid; 2 % apart, which keeps a speed within 0.2 % (a test holds it to that). [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class SpeedTable:
    """What each metre costs at each speed; build it again when mud, string or hole change."""

    depths: FloatArray
    """Bit depths between which lengths are linear, rising, shape (d,). [m]"""
    lengths: FloatArray
    """Of each kind of section at each of them, shape (d, k); NaN: the string does not fit. [m]"""
    speeds: FloatArray
    """Mean speeds of a stand, shape (s,). [m/s]"""
    lost: FloatArray
    """Pressure per metre of each kind at each speed, shape (k, s). [Pa/m]"""

    @classmethod
    def of(
        cls, circuit: Circuit, deepest: float, *, closed: bool = True,
        clinging: float = CLINGING, peak: float = PEAK,
    ) -> SpeedTable:  # fmt: skip
        """Work out the table.

        Parameters
        ----------
        circuit : Circuit
        deepest : float
            Greatest bit depth that will be asked for. [m]
        closed, clinging, peak
            As in `engine.well.swab_surge.speed_limit`.
        """
        depths = slope_edges(circuit, deepest)
        kinds: dict[tuple[float, float, float], int] = {}
        rows: list[dict[int, float] | None] = []
        for bit in depths.tolist():
            found = circuit.sections(bit)
            rows.append(None if isinstance(found, Unknown) else _lengths(found, kinds))
        lengths = np.zeros((depths.size, len(kinds)))
        for row, known in zip(lengths, rows, strict=True):
            if known is None:
                row[:] = np.nan
            else:
                row[list(known)] = list(known.values())
        speeds = np.geomspace(SPEED_FLOOR, FASTEST, NODES)
        lost = np.empty((len(kinds), NODES))
        for (hole, outer, inner), k in kinds.items():
            share = effective_speed(1.0, hole, outer, 0.0 if closed else inner, clinging)
            v = np.nan if isinstance(share, Unknown) else share * speeds * peak
            lost[k] = gradient(
                circuit.fluid.annulus, circuit.fluid.density, np.broadcast_to(v, NODES),
                hole - outer, Shape.ANNULUS,
            )  # fmt: skip
        return cls(depths, lengths, speeds, lost)

    def at(self, bit: FloatArray, margin: float) -> FloatArray:
        """Look up the mean block speed that spends no more than `margin` at each bit depth.

        Parameters
        ----------
        bit : ndarray
            Measured depth, shape (n,). [m]
        margin : float
            Overbalance when pulling, distance to the fracture pressure when running in. [Pa]

        Returns
        -------
        ndarray
            Shape (n,). [m/s] 0 where the yield stress alone uses the margin up, 3 m/s where even
            that stays within it; NaN where the depth is NaN, negative or beyond the table, or
            the string does not go into the hole.
        """
        known = (bit >= 0) & (bit <= self.depths[-1])
        z = np.where(known, bit, 0.0)
        i = np.clip(np.searchsorted(self.depths, z, side="right") - 1, 0, self.depths.size - 2)
        x = ((z - self.depths[i]) / (self.depths[i + 1] - self.depths[i]))[:, None]
        near, far = self.lengths[i], self.lengths[i + 1]
        # Without the choice, NaN at an edge not needed (weight 0) would spread to this row.
        length = np.where(x == 0, near, np.where(x == 1, far, near * (1 - x) + far * x))
        cost = np.zeros((z.size, self.speeds.size))
        for k, lost in enumerate(self.lost):  # a matrix product would round by its size
            cost += length[:, k, None] * lost
        out = np.array([self._speed(row, margin) for row in cost])
        return np.where(known & ~np.isnan(cost[:, -1]), out, np.nan)

    def _speed(self, cost: FloatArray, margin: float) -> float:
        """Return the speed at which the rising `cost` [Pa], shape (s,), meets `margin` [Pa]."""
        if not margin > 0.0 or cost[0] > margin:
            return 0.0
        return float(np.interp(margin, cost, self.speeds))


def _lengths(
    sections: tuple[Section, ...], kinds: dict[tuple[float, float, float], int]
) -> dict[int, float]:
    """Return length by kind of section; new kinds are added to `kinds`."""
    out: dict[int, float] = {}
    for s in sections:
        k = kinds.setdefault((s.hole, s.outer, s.inner), len(kinds))
        out[k] = out.get(k, 0.0) + s.length
    return out
