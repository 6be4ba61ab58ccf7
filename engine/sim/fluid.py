"""Pumps, standpipe, annulus, flow line, pits: one volume of mud that is never lost or made up.

The influx is hot brine: a liquid that does not expand on its way up (a gas kick's late surge is
not modelled). The string has a float: nothing comes up the bore.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: pressure drop
   across bit nozzles, turbulent friction as a power of the flow.
.. [2] Volume balance of hole, steel, bore and cuttings: own derivation.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import exp, sqrt

from engine.sim.geometry import Geometry
from engine.sim.ground import Ground
from engine.sim.hoist import Controls, Hoist
from engine.sim.returns import BRINE, Returns
from engine.sim.upsets import BLEED_S, STRING_STIFFNESS, Upsets
from engine.units import G0, IN
from engine.well.capacities import circle

DISCHARGE = 0.95
"""Discharge coefficient of a nozzle; 0.95 is custom. [-]"""
STRING_S = 4.0
"""Mud is squeezed in string and surface lines for this long: V/K n P/Q. [s]"""
DEAD_S = 8.0
"""From the bell nipple to the return sensor, usually. [s]"""
LINE_S = 25.0
"""Flow line and trough, usually: outflow = contents / this. [s]"""
POWER = 1.85
"""Flow exponent of turbulent friction. [-]"""
WATER_STIFFNESS = 2.2e9
"""Of a water-base mud. [Pa]"""
EXPANSION = 5e-4
"""Thermal expansion of mud. [1/K]"""
ROCK_INDEX = 2.5e-9
"""Mud that sound rock takes once it breaks down. [m3/s/Pa]"""


def bit_pressure_drop(density: float, flow: float, area: float, discharge: float) -> float:
    """Return the pressure drop across bit nozzles of total `area` [m2]. [Pa]"""
    return density * flow**2 / (2 * discharge**2 * area**2)


@dataclass(slots=True, eq=False)
class Fluid:
    """Hidden state of the mud. Flows [m3/s], volumes [m3], pressures [Pa], temperatures [K]."""

    geometry: Geometry
    ground: Ground
    density: float
    usual: float
    """Usual pump rate. [m3/s]"""
    start_depth: float
    pit: float = 60.0
    tank: float = 5.0
    """Trip tank."""
    dead_s: float = DEAD_S
    line_s: float = LINE_S
    flow_in: float = 0.0
    through: float = 0.0
    """Through the string."""
    flow_out: float = 0.0
    pressure: float = 0.0
    """Standpipe."""
    squeezed: float = 0.0
    missing: float = 0.0
    """Air in the bore of pipe just added."""
    drained: float = 0.0
    """Air at the top of the annulus."""
    line: float = 0.0
    dead: deque[float] = field(default_factory=deque)
    # Trouble, set from outside once a second.
    excess: float = -3.5e6
    """Pore pressure above the usual mud column."""
    charge: float = 1.5e5
    """Pore pressure lost for each cubic metre that came in: a pocket empties. [Pa/m3]"""
    inflow_index: float = 4e-9
    """[m3/s/Pa]"""
    strength: float = 2.0e6
    """As `fracture`, of sound rock: what a packed-off hole breaks down."""
    loss_index: float = 0.0
    """[m3/s/Pa]"""
    fracture: float = 0.0
    """Pressure at which the fracture takes mud, less the static mud column."""
    leak: float = 0.0
    """Area of a hole in the string. [m2]"""
    leaking: float = 0.0
    """Share of the flow that takes the leak. [-]"""
    pack: float = 0.0
    """Annulus restriction: its pressure at the usual flow."""
    shut: bool = False
    """The standpipe valve is shut: pressure cannot bleed off while the pumps stand."""
    hot: float = 0.0
    """Heat that the rock around the bit adds. [K]"""
    moved: float = 0.0
    """Flow into the pits from elsewhere (negative: out). [m3/s]"""
    upsets: Upsets = field(default_factory=Upsets)
    # What has happened.
    influx_rate: float = 0.0
    loss_rate: float = 0.0
    influx: float = 0.0
    loss: float = 0.0
    lifted: float = 0.0
    """All mud that came up the annulus."""
    removed: float = 0.0
    """Solids thrown out at the shakers."""
    transferred: float = 0.0
    displaced: float = 0.0
    filled: float = 0.0
    """Bore of all pipe added."""
    given: float = 0.0
    """What the trip tank gave to hole and pipe, less what came back."""
    trapped: float = 0.0
    still: float = 0.0
    """Time since the pumps stopped. [s]"""
    returns: Returns = field(init=False)
    _nozzles: float = field(init=False)
    _pumped: float = 0.0
    """Through the string in this second."""

    def __post_init__(self) -> None:
        self.returns = Returns(self.ground, self.density)
        self._nozzles = sum(circle(n / 32 * IN) for n in self.ground.nozzles)

    def start(self, bit: float, rate: float, dt: float) -> None:
        """Begin as after hours of steady drilling at `rate` [m/s] with steps of `dt`."""
        q = self.flow_in = self.through = self.flow_out = self.usual
        self.squeezed, self.line = q * STRING_S, q * self.line_s
        self.dead.extend([q * dt] * round(self.dead_s / dt))
        annulus = self.geometry.annulus(bit)
        self.returns.fill(annulus, q, rate * self.geometry.hole, bit, rate)

    def step(self, c: Controls, hoist: Hoist, dt: float) -> None:
        """Go on by `dt` seconds."""
        slew, upsets = self.usual * dt / c.ramp, self.upsets
        asked = c.flow * (1 + upsets.pace) if upsets.pace else c.flow
        q = self.flow_in = self.flow_in + min(max(asked - self.flow_in, -slew), slew)
        pumped = q * dt * (1 - upsets.slip)
        self.pit += self.moved * dt - pumped
        self.transferred += self.moved * dt
        if self.missing:
            fill = min(self.missing, pumped)
            self.missing -= fill
            pumped -= fill
        self.squeezed += pumped
        self.through = through = self.squeezed / STRING_S
        self.squeezed -= through * dt
        rise = through * dt
        self._pumped += rise
        if hoist.held == 0.0:
            g = self.geometry
            pipe = (g.steel if c.open_end else g.steel + g.bore) * -hoist.speed * dt
            self.displaced += pipe
            rise += pipe
        influx, loss = self.influx_rate * dt, self.loss_rate * dt
        self.influx += influx
        self.loss += loss
        rise += influx - loss
        if upsets.breath:
            rise -= upsets.breath * dt
            upsets.bank += upsets.breath * dt
        if rise > 0:
            self.lifted += rise
        if self.drained > 0 or rise < 0:
            self.drained -= rise
            rise = 0.0
            if self.drained < 0:
                rise, self.drained = -self.drained, 0.0
        if c.tripping:
            # The trip tank's own pump keeps the hole full as long as the loss allows.
            top_up = min(self.drained, 0.02 * dt, max(self.tank, 0.0))
            self.drained -= top_up
            self.tank += rise - top_up
            self.given += top_up - rise
            rise = 0.0
        self.dead.append(rise)
        self.line += self.dead.popleft()
        self.flow_out = out = self.line / self.line_s
        self.line -= out * dt
        self.pit += out * dt
        self.pressure = self.standpipe(through, hoist.bit) + self.trapped
        if upsets.slip:
            self.pressure *= upsets.knock(q, dt)

    def standpipe(self, q: float, bit_depth: float) -> float:
        """Return the pressure that drives `q` through the string and back. [Pa]"""
        if q < 1e-5:
            return 0.0
        ground = self.ground
        share = q / self.usual
        turbulent = share**POWER * self.density / 1050.0
        pipe = ground.losses * turbulent * (0.4 + 0.6 * bit_depth / self.start_depth)
        upsets = self.upsets
        open_area = self._nozzles * (1 + upsets.nozzles)
        bit = bit_pressure_drop(self.density, q, open_area, DISCHARGE)
        if upsets.parted:
            pipe *= 1 - 0.6 * upsets.parted
            bit = 0.0
        if self.leak > 0:
            # A hole half way down: what leaves there is not pressed through the rest.
            rest = 0.45 * pipe + bit
            kept = (1 - self.leaking) ** POWER
            jet = DISCHARGE * self.leak * sqrt(2 * rest * kept / self.density)
            self.leaking += 0.1 * (min(jet / q, 0.9) - self.leaking)
            pipe, bit = 0.55 * pipe + 0.45 * pipe * kept, bit * kept
        else:
            self.leaking = 0.0
        around = ground.annulus * share + self.pack * share**2
        lighter = self.density * G0 * self.drained / self.geometry.gap + self.light()
        return float(max(0.0, pipe + bit + around - lighter))

    def light(self) -> float:
        """Return what the influx takes off the mud column around the collars. [Pa]"""
        if self.returns.inside <= 0:
            return 0.0
        area = self.geometry.hole - self.geometry.steel - self.geometry.bore
        return min(
            self.returns.inside / area * (self.density - BRINE) * G0, 0.2 * self.density * G0 * 2400
        )

    def imbalance(self) -> float:
        """Return the pressure at the bottom above that of a full, still column of mud. [Pa]"""
        share = self.through / self.usual
        friction = self.ground.annulus * share + self.pack * share**2
        return friction - self.light() - self.density * G0 * self.drained / self.geometry.gap

    def second(self, hoist: Hoist, solids: float) -> None:
        """Once a second: pressures against the rock, what arrives at surface, heat."""
        well = self.imbalance()
        self.influx_rate = self.inflow_index * max(
            0.0, self.excess - self.charge * self.influx - well
        )
        self.loss_rate = self.loss_index * max(0.0, well - self.fracture)
        self.loss_rate += ROCK_INDEX * max(0.0, well - self.strength)
        self._upset(hoist)
        annulus = self.geometry.annulus(hoist.bit)
        # Cuttings go into the rock with the mud that does.
        kept = 1 - min(1.0, self.loss_rate / self.through) if self.through > 1e-4 else 1.0
        self.returns.send(
            self.lifted + annulus, self._pumped, kept * solids, self.influx_rate, self.hot,
            hoist.hole, self.upsets.gas,
        )  # fmt: skip
        self._pumped = 0.0
        out = self.returns.arrive(self.lifted, self.flow_out / self.usual)
        self.removed += out
        self.pit -= out
        self._stand_still(annulus)

    def _upset(self, hoist: Hoist) -> None:
        """Add what upsets make flow in the next second, and move mud between tanks."""
        upsets, share = self.upsets, self.through / self.usual
        pulling = self.geometry.steel * hoist.speed if hoist.held == 0.0 else 0.0
        self.influx_rate += upsets.influx(share, pulling)
        self.loss_rate += upsets.loss(share)
        upsets.breathe(share)
        self.pit += upsets.in_the_pits()
        self.tank += upsets.to_tank

    def _stand_still(self, annulus: float) -> None:
        """Heat what stands still; a shut standpipe feels the string warm up."""
        if self.through > 0.02 * self.usual:
            if self.still > 30:
                self.returns.warm(self.lifted + 2 / 3 * annulus, self.still)
            self.still = self.trapped = 0.0
            self.pit += self.upsets.let_go(1.0)
            return
        self.still += 1.0
        pressed = self.upsets.press(self.shut)
        self.trapped += pressed * STRING_STIFFNESS
        self.influx += pressed
        if self.upsets.bleed:
            self.trapped -= self.trapped / BLEED_S
            self.pit += self.upsets.let_go(1 / BLEED_S)
        if self.shut:
            # Fast at first: the string takes on the heat of the hole; K beta dT if it is closed.
            warming = 2.5 / 3600 * exp(-self.still / 1800)
            self.trapped += WATER_STIFFNESS * EXPANSION * warming

    def in_use(self) -> float:
        """Return the mud in pits, surface lines and flow line. [m3]"""
        return self.pit + self.squeezed + self.line + sum(self.dead) - self.missing

    def held_volume(self) -> float:
        """Return what the volume balance keeps constant, whatever happens. [m3]"""
        there = self.pit + self.tank + self.squeezed + self.line + sum(self.dead)
        there += self.upsets.bank + self.upsets.stored
        gone = self.loss + self.removed - self.transferred - self.influx - self.displaced
        gone += self.upsets.stripped - self.upsets.swollen
        return there + gone - self.missing - self.drained + self.filled
