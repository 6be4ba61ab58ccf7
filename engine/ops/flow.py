"""Flow-in from pump strokes, and how much more comes out than goes in."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, Table, mark
from engine.config import WellConfig
from engine.ops.primitives import Delay, DelayState
from engine.ops.table import ever, joined, pick, times
from engine.units import PSI
from engine.well.pumps import STROKING, stroke_volume

PUMP_RATES = ("pump_1_rate", "pump_2_rate", "pump_3_rate")
"""Channel of each pump of the well file, in its order."""

NO_PRESSURE = 50 * PSI
"""Below this, pumps that stroke into the standpipe are not believed. [Pa] common practice"""
NO_PRESSURE_S = 10.0
"""So long may pumps stroke without pressure before it counts: they fill the pipe. [s]"""
FLOWING = 1e-3
"""Above this there is flow-in: the least that `STROKING` gives with a usual pump. [m3/s]"""


@dataclass(frozen=True, slots=True)
class FlowState:
    """What has ever been received, and how long pumps have stroked without pressure."""

    pumps_seen: bool = False
    meter_seen: bool = False
    out_seen: bool = False
    share_seen: bool = False
    no_pressure: DelayState = field(default_factory=DelayState)


@dataclass(slots=True, eq=False)
class Flow:
    """Flow-in, and flow-out minus flow-in.

    Flow-in has one source at a time, never a mix:

    1. As soon as the rate of any lined-up pump has been received, and for ever after, it is
       the sum over the lined-up pumps. A single unknown rate makes the sum unknown.
    2. Until then it is the flow meter, if one is read.

    Pumps that stand still give exactly 0, good; pumps that are not heard of give no number.
    A pump that strokes but is not in the well file has no stroke volume: flow-in is unknown,
    ``NO_REFERENCE``. Flow-in without standpipe pressure for 10 s is kept, with ``CONFLICT``.
    A negative rate within the measuring range is kept as it came.
    """

    config: WellConfig
    state: FlowState = FlowState()
    _volumes: tuple[tuple[str, float], ...] = field(init=False)
    _unlisted: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        pumps = self.config.pumps
        pairs = zip(PUMP_RATES, pumps, strict=False)
        self._volumes = tuple((c, stroke_volume(p)) for c, p in pairs if p.lined_up)
        self._unlisted = PUMP_RATES[len(pumps) :]

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Pump rates [1/s], ``flow_in_measured``, ``flow_out`` [m3/s], ``flow_out_share``
            [-], ``standpipe_pressure`` [Pa], shape (n,); what is missing is taken as unknown.

        Returns
        -------
        dict
            ``flow_in`` and ``flow_difference``, shape (n,). [m3/s] NaN with the reasons of the
            inputs; the difference is NaN and ``NO_REFERENCE`` where only a share of a full
            flow line is measured, which is no flow without a calibration.
        """
        t = times(table)
        s = self.state
        meter, out = pick(table, "flow_in_measured"), pick(table, "flow_out")
        rates = [pick(table, channel) for channel, _ in self._volumes]
        heard = np.zeros(t.size, np.bool_)
        for rate in rates:
            heard |= ~np.isnan(rate.value)
        pumps_seen = ever(heard, s.pumps_seen)
        meter_seen = ever(~np.isnan(meter.value), s.meter_seen)
        out_seen = ever(~np.isnan(out.value), s.out_seen)
        share_seen = ever(~np.isnan(pick(table, "flow_out_share").value), s.share_seen)

        flow = self._by_strokes(table, rates) if rates else meter
        use_meter = ~pumps_seen & meter_seen
        value = np.where(use_meter, meter.usable(), flow.usable())
        quality = np.where(use_meter, meter.quality, flow.quality).astype(np.uint16)
        no_pressure = Delay(NO_PRESSURE_S, 0.0, s.no_pressure)
        silent, _ = no_pressure.process(t, _without_pressure(table, value))
        quality = mark(quality, silent & ~np.isnan(value), Quality.CONFLICT)

        uncalibrated = share_seen & ~out_seen
        reasons = joined(out.quality, quality)
        reasons = np.where(uncalibrated, np.uint16(Quality.NO_REFERENCE), reasons)
        if t.size:
            self.state = FlowState(
                bool(pumps_seen[-1]),
                bool(meter_seen[-1]),
                bool(out_seen[-1]),
                bool(share_seen[-1]),
                no_pressure.state,
            )
        return {
            "flow_in": Block(t, value, quality),
            "flow_difference": Block(t, out.usable() - value, reasons.astype(np.uint16)),
        }

    def _by_strokes(self, table: Table, rates: list[Block]) -> Block:
        """Sum over the lined-up pumps, in the order of the well file."""
        value: FloatArray = np.zeros(len(rates[0]))
        for rate, (_, volume) in zip(rates, self._volumes, strict=True):
            value = value + volume * rate.usable()
        quality = joined(*(rate.quality for rate in rates))
        for channel in self._unlisted:
            strokes: Mask = pick(table, channel).usable() > STROKING
            value = np.where(strokes, np.nan, value)
            quality = mark(quality, strokes, Quality.NO_REFERENCE)
        return Block(rates[0].t, value, quality)


def _without_pressure(table: Table, flow: FloatArray) -> Mask:
    out: Mask = (flow > FLOWING) & (pick(table, "standpipe_pressure").usable() < NO_PRESSURE)
    return out
