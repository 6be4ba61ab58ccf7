"""Pressures that the mud should make at this flow and depth, and how far the standpipe is off.

All of it is a model, see `engine.well.hydraulics`, with the mud, bit, string and hole of the
well file; what is not there is unknown, never assumed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, QualityArray, Table, mark
from engine.config import Standpipe, WellConfig
from engine.ops.pressure_residual import PressureResidual, ResidualState
from engine.ops.seconds import Seconds, SecondsState
from engine.ops.table import joined, pick, times
from engine.well.answer import Answer, Unknown
from engine.well.bit_hydraulics import bit_loss
from engine.well.friction import FLOW_FLOOR
from engine.well.hydraulics import Circuit
from engine.well.hydraulics_table import CirculationRows, HydraulicsTable
from engine.well.kill_mud import DEPTH_FLOOR
from engine.well.well_file import bit_area, circuit_of, reading_factor, standpipe_factor

DEEPEST = 15e3
"""Bit depth up to which a hole that grows is worked out: no hole is deeper. [m]"""
CHANNELS = (
    "expected_pressure", "pressure_residual", "ecd_bit", "ecd_shoe", "bit_pressure_drop",
    "bit_power",
)  # fmt: skip
NEEDS = ("flow_in", "bit_depth", "standpipe_pressure", "in_slips", "on_bottom", "density_in")
AGREES = 0.02
"""The metered mud may be off the mud weight of the well file by this share: a balance is read to
0.1 lb/gal, 1 per cent, and a meter drifts by as much. [-] common practice, no source"""


@dataclass(frozen=True, slots=True)
class HydraulicsState:
    """All that must outlive a block."""

    seconds: SecondsState
    residual: ResidualState
    reading: Standpipe | None
    """What the model is scaled to meet."""


@dataclass(slots=True, eq=False)
class Hydraulics:
    """Expected standpipe pressure and its residual, ECD, pressure drop and power at the bit.

    Expected is the model at the present flow-in and bit depth, times the factor that makes it
    meet the newest reading of a person: see `calibrate`, or ``[standpipe]`` of the well file.
    Without a reading it is the bare model. Nothing is learned into it; the residual may have a
    reference of its own, see `engine.ops.pressure_residual`.

    The mud weight is that of the well file, not ``density_in``: the column in the annulus is what
    was pumped during the last bottoms-up, while a meter swings with every slug and pill. Where a
    meter says that another mud is going in, the results stand and are marked ``CONFLICT``.
    """

    config: WellConfig
    unknown: dict[str, str] = field(init=False)
    """Why a channel can never be known with this well file, in words; by channel."""
    _seconds: Seconds = field(default_factory=Seconds, init=False)
    _reading: Standpipe | None = field(init=False)
    _circuit: Circuit | None = field(init=False)
    _factor: float = field(init=False)
    _at_one: float = field(init=False)
    """Pressure drop at the bit at 1 m3/s. [Pa]"""
    _residual: PressureResidual = field(init=False)

    def __post_init__(self) -> None:
        self._scale(self.config.standpipe)

    def _scale(self, reading: Standpipe | None) -> None:
        """Begin anew with a model that meets `reading`."""
        self._reading = reading
        config = self.config.model_copy(update={"standpipe": reading})
        circuit = circuit_of(config)
        bit = bit_loss(
            config.mud.density, 1.0, bit_area(config.bit), config.bit.discharge_coefficient
        )
        factor: Answer = (
            circuit if isinstance(circuit, Unknown) else standpipe_factor(circuit, config)
        )
        shoe: Answer | Circuit = circuit
        if isinstance(circuit, Circuit) and not circuit.geometry.shoe > 0:
            shoe = Unknown("no casing in the well file: the first of two [[hole]] tables")
        needs = (factor, factor, circuit, shoe, bit, bit)
        self.unknown = {
            channel: need.reason
            for channel, need in zip(CHANNELS, needs, strict=True)
            if isinstance(need, Unknown)
        }
        self._circuit = None if isinstance(circuit, Unknown) else circuit
        self._factor = np.nan if isinstance(factor, Unknown) else factor
        self._at_one = np.nan if isinstance(bit, Unknown) else bit
        self._residual = PressureResidual(declared=reading is not None)

    def calibrate(self, reading: Standpipe) -> Answer:
        """Let the model meet `reading` from now on; the residual must settle anew.

        Returns
        -------
        float or Unknown
            What the model is multiplied by [-]; unknown: why the reading is of no use, and
            the old one stays.
        """
        factor = reading_factor(self.config, reading)
        if not isinstance(factor, Unknown):
            self._scale(reading)
        return factor

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``flow_in`` [m3/s], ``bit_depth`` [m], ``standpipe_pressure`` [Pa], ``in_slips``,
            ``on_bottom`` [-], ``density_in`` [kg/m3], shape (n,); what is missing is unknown.

        Returns
        -------
        dict
            ``expected_pressure``, ``pressure_residual``, ``bit_pressure_drop`` [Pa],
            ``ecd_bit``, ``ecd_shoe`` [kg/m3], ``bit_power`` [W], shape (n,). NaN with the
            reasons of flow and depth; ``NO_REFERENCE`` where the well file lacks what it
            takes (`unknown` says what), or the string does not go into the hole at that depth;
            ``NOT_APPLICABLE`` for an ECD above 1 m of true vertical depth. At no flow friction
            is 0 and the ECD is the static mud weight. ``CONFLICT`` while a good ``density_in`` is
            more than 2 per cent off the mud weight they are worked out from. Worked out once a
            second.
        """
        needed = {name: pick(table, name) for name in NEEDS}
        return self._seconds.process(needed, self._work)

    def _work(self, table: Table) -> dict[str, Block]:
        t = times(table)
        flow, bit = table["flow_in"], table["bit_depth"]
        # A rate just below 0 is the noise of a pump that stands: no pump sucks.
        q, z = np.maximum(flow.usable(), 0.0), bit.usable()
        rows = self._rows(q, z)
        both = joined(flow.quality, bit.quality)
        known = ~np.isnan(q) & ~np.isnan(z)
        drop = np.where(q < FLOW_FLOOR, q * 0.0, self._at_one * q * q)
        expected = self._block("expected_pressure", t, rows.standpipe * self._factor, both, known)
        out = {
            "expected_pressure": expected,
            "pressure_residual": self._residual_of(table, q, expected),
            "ecd_bit": self._density("ecd_bit", t, rows.ecd_bit, both, known, z),
            "ecd_shoe": self._block("ecd_shoe", t, rows.ecd_shoe, both, known),
            "bit_pressure_drop": self._block(
                "bit_pressure_drop", t, drop, flow.quality, ~np.isnan(q)
            ),
            "bit_power": self._block("bit_power", t, drop * q, flow.quality, ~np.isnan(q)),
        }
        other = np.abs(table["density_in"].usable() / self.config.mud.density - 1) > AGREES
        return {
            name: Block(t, b.value, mark(b.quality, other & ~np.isnan(b.value), Quality.CONFLICT))
            for name, b in out.items()
        }

    def _rows(self, q: FloatArray, z: FloatArray) -> CirculationRows:
        if self._circuit is None:
            none = np.full(q.size, np.nan)
            return CirculationRows(none, none, none, none, none)
        last = self.config.hole[-1].bottom
        return _grid(self._circuit, DEEPEST if last is None else last).at(q, z)

    def _residual_of(self, table: Table, q: FloatArray, expected: Block) -> Block:
        if "pressure_residual" in self.unknown:
            return _lacking(expected.t)
        return self._residual.process(
            q, table["standpipe_pressure"], expected, table["in_slips"], table["on_bottom"]
        )

    def _density(
        self, name: str, t: FloatArray, value: FloatArray, quality: QualityArray, known: Mask,
        depth: FloatArray,
    ) -> Block:  # fmt: skip
        block = self._block(name, t, value, quality, known)
        if self._circuit is None:
            return block
        shallow = known & ~(self._circuit.true_depth(depth) >= DEPTH_FLOOR)
        bits = np.where(shallow, quality | np.uint16(Quality.NOT_APPLICABLE), block.quality)
        return Block(t, block.value, bits.astype(np.uint16))

    def _block(
        self, name: str, t: FloatArray, value: FloatArray, quality: QualityArray, known: Mask
    ) -> Block:
        if name in self.unknown:
            return _lacking(t)
        return Block(t, value, mark(quality, known & np.isnan(value), Quality.NO_REFERENCE))

    @property
    def state(self) -> HydraulicsState:
        """All that must outlive a block, a restart or a seek."""
        return HydraulicsState(self._seconds.state, self._residual.state, self._reading)

    @state.setter
    def state(self, s: HydraulicsState) -> None:
        if s.reading != self._reading:
            self._scale(s.reading)
        self._seconds.state, self._residual.state = s.seconds, s.residual


def _lacking(t: FloatArray) -> Block:
    """Return what a channel is that the well file says too little for."""
    return Block(t, np.full(t.size, np.nan), np.full(t.size, int(Quality.NO_REFERENCE), np.uint16))


@lru_cache(maxsize=8)
def _grid(circuit: Circuit, deepest: float) -> HydraulicsTable:
    """Work out the grid of a well once in a program, when it is first asked for."""
    return HydraulicsTable.of(circuit, deepest)
