"""What comes up the annulus, one lag later: cuttings, influx, heat and gas."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from engine.sim.ground import Ground

BRINE = 880.0
"""Density of a geothermal influx at the bottom. [kg/m3]"""
AIR = 290.0
"""[K]"""
STILL_HEATING = 12.0 / 3600
"""The deepest third of a still annulus warms at this rate: 12 K an hour. [K/s]"""


@dataclass(slots=True)
class Parcel:
    """Mud that left the bottom during one second, on its way up."""

    due: float
    """Annulus volume pumped when it arrives. [m3]"""
    mud: float
    """[m3]"""
    solids: float
    influx: float = 0.0
    heat: float = 0.0
    """Temperature above the usual on arrival. [K]"""
    depth: float = 0.0
    """Of the hole when it left. [m]"""
    gas: float = 0.0
    """Gas in it beyond the usual, as a share. [-]"""


@dataclass(slots=True, eq=False)
class Returns:
    """Parcels in the annulus, and what the sensors at its end feel. SI throughout."""

    ground: Ground
    mud: float
    """Density of the mud. [kg/m3]"""
    temperature_in: float = field(init=False)
    temperature_out: float = field(init=False)
    density_out: float = field(init=False)
    gas: float = 0.003
    inside: float = 0.0
    """Influx that is still in the annulus. [m3]"""
    carried: float = 0.0
    """Solids in the annulus. [m3]"""
    depth: float = 0.0
    """Of the hole when what arrived last had left its bottom. [m]"""
    parcels: deque[Parcel] = field(default_factory=deque)

    def __post_init__(self) -> None:
        self.temperature_in = self.ground.warm_in
        self.temperature_out = self.ground.warm_out
        self.density_out = self.mud

    def fill(self, annulus: float, flow: float, solids: float, depth: float, rate: float) -> None:
        """Begin as after hours at `flow` and `rate`, with `solids` in each second's mud.

        `annulus` in m3, `flow` and `solids` in m3/s, `depth` of the hole in m, `rate` of
        penetration in m/s.
        """
        count = int(annulus / flow)
        self.depth = depth - rate * count
        self.parcels.extend(
            Parcel((i + 1) * flow, flow, solids, depth=depth - rate * (count - 1 - i))
            for i in range(count)
        )
        self.carried = solids * count

    def send(
        self, due: float, mud: float, solids: float, influx: float, hot: float, depth: float,
        gas: float = 0.0,
    ) -> None:  # fmt: skip
        """Let what left the bottom in the last second begin its way up.

        Volumes in m3; `depth` of the hole, in m, is the tracer.
        """
        self.inside += influx
        self.carried += solids
        total = mud + influx
        if total > 1e-6 or solids > 0:
            heat = hot + (self.ground.reservoir - self.ground.warm_out) * influx / max(total, 1e-9)
            self.parcels.append(Parcel(due, total, solids, influx, heat, depth, gas))

    def arrive(self, lifted: float, flow_share: float) -> float:
        """Take what has arrived once `lifted` [m3] went up; return its solids. [m3]

        ``flow_share`` is the flow in the flow line as a share of the usual. [-]
        """
        solids = influx = heat = mud = gas = 0.0
        while self.parcels and self.parcels[0].due <= lifted:
            parcel = self.parcels.popleft()
            solids += parcel.solids
            influx += parcel.influx
            heat += parcel.heat * parcel.mud
            mud += parcel.mud
            gas += parcel.gas * parcel.mud
            self.depth = parcel.depth
        self.carried = max(0.0, self.carried - solids)
        self.inside = max(0.0, self.inside - influx)
        ground = self.ground
        if flow_share > 0.05 and mud > 0:
            base = ground.warm_out + 0.5 * (self.temperature_in - ground.warm_in)
            self.temperature_out += (base + heat / mud - self.temperature_out) / 45.0
            part = solids / mud
            load = part * (ground.solids_density - self.mud) - influx / mud * (self.mud - BRINE)
            self.density_out += (self.mud + load - self.density_out) / 20.0
            self.gas += (0.003 + 1.5 * part + 0.5 * influx / mud + gas / mud - self.gas) / 30.0
        elif flow_share < 0.01:
            # A still flow line takes on the temperature of the air, slowly.
            self.temperature_out += (AIR - self.temperature_out) / 6000.0
        warm = ground.warm_in + 0.15 * (self.temperature_out - ground.warm_out)
        self.temperature_in += (warm - self.temperature_in) / 1800.0
        return solids

    def warm(self, from_due: float, seconds: float) -> None:
        """Heat the parcels due at `from_due` [m3] or later, as they stood for `seconds`."""
        for parcel in reversed(self.parcels):
            if parcel.due < from_due:
                break
            parcel.heat += STILL_HEATING * seconds
