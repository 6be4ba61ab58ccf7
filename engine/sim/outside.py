"""A string that is all but out of the hole."""

from __future__ import annotations

from engine.sim.fluid import Fluid
from engine.sim.hoist import Controls, Hoist

ABOVE_COLLARS = 10.0
"""Pipe left above the collars, which hang below the rotary. [m]"""


def stand_out(controls: Controls, hoist: Hoist, fluid: Fluid) -> None:
    """Hang the collars in the slips, pumps off, the hole full and lined up to the trip tank."""
    controls.feeding, controls.slips, controls.tripping = False, True, True
    controls.rotary = controls.flow = 0.0
    controls.activity = 9
    hoist.bit = hoist.geometry.bottom_length + ABOVE_COLLARS
    hoist.held = 1.0
    hoist.weight = hoist.rotary = 0.0
    fluid.flow_in = fluid.through = fluid.flow_out = fluid.squeezed = fluid.line = 0.0
    fluid.dead.extend([0.0] * len(fluid.dead))
    for _ in range(len(fluid.dead) // 2):
        fluid.dead.popleft()
    fluid.returns.parcels.clear()
    fluid.returns.carried = 0.0
