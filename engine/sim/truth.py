"""What really happened, second by second: the measure for every detector and state rule."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray
from engine.sim.fluid import Fluid
from engine.sim.hoist import SLIPS_S, Hoist
from engine.states import RigState

MOVING = 0.03
"""A block slower than this stands still: 108 m/h, above any rate of penetration here. [m/s]"""
TURNING = 0.3
"""[rad/s]"""
PUMPING = 0.1
"""Share of the usual flow. [-]"""
BITING = 1e3
"""Weight from which the bit is on bottom. [N]"""

COLUMNS = (
    "rig_state", "in_slips", "bit_depth", "hole_depth", "weight_on_bit", "rop",
    "influx_volume", "loss_volume", "lagged_depth", "trip_fill", "influx_rate", "loss_rate",
    "breath_volume", "transfer_volume", "flow_in", "flow_out", "pit_volume",
)  # fmt: skip
"""Truth columns, SI; ``rig_state`` is the number of a `RigState`, ``in_slips`` is 0 or 1. [-]

``lagged_depth`` is a tracer's: how deep the hole was when the mud that arrives at the bell nipple
left the bit. It rises by what really comes up: less what is lost, plus what pipe displaces. [m]
``trip_fill`` is all that the trip tank gave to hole and pipe, less what came back into it. [m3]
``breath_volume`` is what a breathing fracture holds; ``transfer_volume`` all that was moved into
the pits (negative: out), solids control and the trip tank not counted. [m3]
"""


def state_of(hoist: Hoist, fluid: Fluid) -> RigState:
    """Return what the rig is doing at this moment."""
    if hoist.held > 0.5:
        return RigState.IN_SLIPS
    turning = hoist.rotary > TURNING
    up, down = hoist.speed > MOVING, hoist.speed < -MOVING
    if hoist.weight > BITING and turning and not up:
        return RigState.DRILLING_ROTARY
    if fluid.flow_in > PUMPING * fluid.usual:
        if not (up or down):
            return RigState.CIRCULATING
        if not turning:
            return RigState.WASHING
        return RigState.REAMING_UP if up else RigState.REAMING_DOWN
    if turning:
        return RigState.ROTATING_OFF_BOTTOM
    if up or down:
        return RigState.TRIPPING_OUT if up else RigState.TRIPPING_IN
    return RigState.STATIC


@dataclass(slots=True)
class Connection:
    """One time in the slips; times in s from the start of the run."""

    slips_in: float
    """When the slips held half the weight. [s]"""
    bit_depth: float
    hole_depth: float
    slips_out: float | None = None
    """None while it lasts. [s]"""


@dataclass(slots=True, eq=False)
class Witness:
    """Writes the truth down."""

    rows: list[tuple[float, ...]] = field(default_factory=list)
    """Rows since the last `take`, in the order of `COLUMNS`."""
    connections: list[Connection] = field(default_factory=list)
    _made: list[float] = field(default_factory=list)
    """Hole made at the last 61 seconds. [m]"""
    _held: bool = False

    def step(self, t: float, hoist: Hoist) -> None:
        """Watch the slips; `t` is the end of the step. [s]"""
        held = hoist.held > 0.5
        if held == self._held:
            return
        self._held = held
        crossing = t - abs(hoist.held - 0.5) * SLIPS_S
        if held:
            self.connections.append(Connection(crossing, hoist.bit, hoist.hole))
        elif self.connections:
            self.connections[-1].slips_out = crossing

    def second(self, hoist: Hoist) -> None:
        """Note the hole made, once a second."""
        self._made = [*self._made[-60:], hoist.made]

    def sample(self, hoist: Hoist, fluid: Fluid) -> None:
        """Write a row."""
        span = len(self._made) - 1
        rop = (self._made[-1] - self._made[0]) / span if span > 0 else hoist.rate
        self.rows.append(
            (
                float(state_of(hoist, fluid)),
                float(hoist.held > 0.5),
                hoist.bit,
                hoist.hole,
                hoist.weight,
                rop,
                fluid.influx,
                fluid.loss,
                fluid.returns.depth,
                fluid.given,
                fluid.influx_rate,
                fluid.loss_rate,
                fluid.upsets.bank,
                fluid.transferred,
                fluid.flow_in * (1 - fluid.upsets.slip),
                fluid.flow_out,
                fluid.pit,
            )
        )

    def take(self) -> dict[str, FloatArray]:
        """Return the rows since the last call as columns."""
        table = np.array(self.rows, np.float64).reshape(-1, len(COLUMNS))
        self.rows = []
        return {name: table[:, i].copy() for i, name in enumerate(COLUMNS)}
