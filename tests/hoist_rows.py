"""A rig told what to do row by row, for tests: exact loads and positions, no noise unless asked.

The string weighs the same wherever the block is; friction is left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from engine.block import Block
from engine.units import G0, MINUTE
from tests.tables import table_of

T = 1e3 * G0
"""Tonne-force. [N]"""
BLOCK, STRING = 32 * T, 85 * T
RPM = 2 * np.pi / MINUTE


class Rows:
    """Rows so far, `step` seconds apart; `bit` and `hole` are the truth."""

    def __init__(self, z: float = 10.0, bit: float = 2400.0, step: float = 1.0) -> None:
        self.z, self.bit, self.step = z, bit, step
        self.in_slips = False
        self.weight = self.flow = self.rotary = 0.0
        self.string = STRING
        self.rows: list[tuple[float, ...]] = []

    def row(self) -> Rows:
        load = BLOCK + (0.0 if self.in_slips else self.string - self.weight)
        torque = (3e3 if self.rotary else 0.0) + 0.02 * self.weight
        self.rows.append(
            (self.z, load, torque, self.rotary, self.flow, self.bit, float(self.in_slips))
        )
        return self

    def still(self, seconds: float) -> Rows:
        for _ in range(round(seconds / self.step)):
            self.row()
        return self

    def move(self, way: float, speed: float) -> Rows:
        n = max(1, round(abs(way) / speed / self.step))
        for _ in range(n):
            self.z += way / n
            if not self.in_slips:
                self.bit -= way / n
            self.row()
        return self

    def slips(self, in_slips: bool) -> Rows:
        self.in_slips = in_slips
        return self

    def turn(self, on: bool) -> Rows:
        self.rotary, self.flow = (70 * RPM, 0.045) if on else (0.0, 0.0)
        return self

    def to_bottom(self, way: float, speed: float = 0.09) -> Rows:
        """Lower onto bottom with pumps and rotation; weight comes with the last row."""
        self.turn(True).still(15).move(-way, speed)
        return self

    def drill(self, way: float, rate: float = 0.005, weight: float = 10 * T) -> Rows:
        """Drill `way` [m] at `rate` [m/s]."""
        self.weight = weight
        self.move(-way, rate)
        return self

    def pick_up(self, way: float = 3.0) -> Rows:
        self.weight = 0.0
        return self.move(way, 0.15)

    def connect(self, length: float = 28.5) -> Rows:
        """Slips in, block up by a stand, slips out."""
        self.turn(False).still(15).slips(True).still(20).move(length, 0.8).still(30)
        return self.slips(False).still(5)

    def column(self, i: int) -> np.ndarray:
        return np.array([row[i] for row in self.rows])

    def truth(self) -> np.ndarray:
        """Bit depth of each row. [m]"""
        return self.column(5)

    def table(self, seed: int | None = None, **more: Any) -> dict[str, Block]:
        """Return the channels; with a seed, with the noise of a calm rig."""
        z, load, torque, rotary, flow = (self.column(i) for i in range(5))
        if seed is not None:
            rng = np.random.default_rng(seed)
            z = np.round(z + 0.005 * rng.standard_normal(z.size), 2)
            load = load + 0.2 * T * rng.standard_normal(z.size)
            torque = torque + 100.0 * rng.standard_normal(z.size)
        columns: dict[str, Any] = {
            "block_position": z, "hook_load": load, "torque": torque, "rotary": rotary,
            "flow_in": flow, "reported_bit_depth": self.rows[0][5],
            "reported_hole_depth": 2400.0, **more,
        }  # fmt: skip
        return table_of(len(self.rows), self.step, **columns)


def ends(rows: Rows, steps: Iterable[Any]) -> list[int]:
    """Do each step; return the index of the last row of each."""
    out = []
    for step in steps:
        step(rows)
        out.append(len(rows.rows) - 1)
    return out
