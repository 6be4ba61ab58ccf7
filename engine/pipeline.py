"""The operators in their order: raw channels in, derived channels added."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, Quality, Table
from engine.channels import CHANNELS
from engine.config import WellConfig
from engine.ops.advised_speed import AdvisedSpeed
from engine.ops.checks import Checks
from engine.ops.drag import Drag
from engine.ops.efficiency import Efficiency
from engine.ops.flow import Flow
from engine.ops.hoisting import Hoisting
from engine.ops.hydraulics import Hydraulics
from engine.ops.lag import Lag
from engine.ops.line_work import LineWork
from engine.ops.motion import Motion
from engine.ops.rig_state import RigStates
from engine.ops.travel_time import TravelTime
from engine.ops.trip_fill import TripFill
from engine.ops.volume import Volume


@dataclass(slots=True, eq=False)
class Pipeline:
    """Everything that is worked out from the raw channels, block by block.

    Any split of the input into blocks gives the same output to the last bit.
    """

    config: WellConfig
    checks: Checks = field(init=False)
    flow: Flow = field(init=False)
    motion: Motion = field(init=False)
    volume: Volume = field(init=False)
    rig_states: RigStates = field(init=False)
    lag: Lag = field(init=False)
    hydraulics: Hydraulics = field(init=False)
    efficiency: Efficiency = field(init=False)
    hoisting: Hoisting = field(init=False)
    drag: Drag = field(init=False)
    line_work: LineWork = field(init=False)
    travel_time: TravelTime = field(init=False)
    advised_speed: AdvisedSpeed = field(init=False)
    trip_fill: TripFill = field(init=False)

    def __post_init__(self) -> None:
        self.checks = Checks(self.config)
        self.flow = Flow(self.config)
        self.motion = Motion(self.config)
        self.volume = Volume(self.config)
        self.rig_states = RigStates(self.config)
        self.lag = Lag(self.config)
        self.hydraulics = Hydraulics(self.config)
        self.efficiency = Efficiency(self.config)
        self.hoisting = Hoisting(self.config)
        self.drag = Drag(self.config)
        self.line_work = LineWork(self.config)
        self.travel_time = TravelTime(self.config)
        self.advised_speed = AdvisedSpeed(self.config)
        self.trip_fill = TripFill(self.config)

    def process(self, raw: Table) -> dict[str, Block]:
        """Return all channels of `engine.channels.CHANNELS` on the times of `raw`.

        Parameters
        ----------
        raw : mapping
            Channel id to `Block`, shape (n,), one time array for all. [SI]
        """
        table: dict[str, Block] = dict(self.checks.process(raw))
        for stage in (
            self.flow, self.motion, self.volume, self.rig_states, self.lag,
            self.hydraulics, self.efficiency, self.hoisting, self.drag, self.line_work,
            self.travel_time, self.advised_speed, self.trip_fill,
        ):  # fmt: skip
            table |= stage.process(table)
        return {channel: table.get(channel) or _absent(raw) for channel in CHANNELS}

    def set_lines(self, lines: int) -> None:
        """Take another count of lines strung to the block [-]: the loads learned are forgotten."""
        self.motion.set_lines(lines)
        self.hoisting.set_lines(lines)
        self.drag.set_lines(lines)
        self.line_work.set_lines(lines)


def _absent(raw: Table) -> Block:
    t = next(iter(raw.values())).t
    return Block(t, np.full(t.size, np.nan), np.full(t.size, int(Quality.NO_DATA), np.uint16))
