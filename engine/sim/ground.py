"""Two kinds of rock and how they are drilled, as data.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 5: rate of penetration
   as a product of powers of bit weight and rotary speed and exponentials of the other effects.
.. [2] Ranges of rate, weight, speed, flow and pressure for geothermal wells in hard rock and for
   sedimentary wells: common practice, no single source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from engine.units import unit

_M_H = unit("m_h").factor
_RPM = unit("rpm").factor


@dataclass(frozen=True, slots=True)
class Ground:
    """Rock, and the drilling parameters that suit it."""

    name: str
    depth: float
    """Hole depth at the start when the well file gives none. [m]"""
    rop: float
    """Rate of penetration at `weight` and `rotary` in rock of factor 1. [m/s]"""
    weight: float
    """Usual weight on bit. [N]"""
    rotary: float
    """Usual rotary speed. [rad/s]"""
    flow: float
    """Usual pump rate; a well file's profile goes before it. [m3/s]"""
    weight_power: float
    rotary_power: float
    threshold: float
    """Weight that is needed before the rock fails at all. [N]"""
    variation: float
    """Spread of the logarithm of the rate along the hole. [-]"""
    bit_friction: float
    string_torque: float
    """Torque to turn the string off bottom. [N m]"""
    nozzles: tuple[int, ...]
    """Bit nozzles in 32nds of an inch, as they are sold. [-]"""
    losses: float
    """Pressure lost in pipe and surface lines at the usual flow and the start depth. [Pa]"""
    annulus: float
    """Pressure lost in the annulus at the usual flow. [Pa]"""
    warm_out: float
    """Mud temperature out when all is steady. [K]"""
    warm_in: float
    solids_density: float = 2700.0
    reservoir: float = 510.0
    """Temperature of an influx; the default is a geothermal one. [K]"""

    def rate(self, weight: float, rotary: float, rock: float, balance: float) -> float:
        """Return the rate of penetration. [m/s]

        Parameters
        ----------
        weight, rotary : float
            On the bit [N] and of the bit [rad/s].
        rock : float
            Drillability of the rock at this depth, about 1. [-]
        balance : float
            Well pressure above the pore pressure, less the usual. [Pa]
        """
        if weight <= self.threshold or rotary <= 0:
            return 0.0
        load = (weight - self.threshold) / (self.weight - self.threshold)
        speed = rotary / self.rotary
        # 5 % a MPa: chip hold-down, from memory; the drilling break before a kick comes from it.
        hold_down = exp(-5e-8 * balance)
        power = load**self.weight_power * speed**self.rotary_power
        return float(self.rop * power * rock * hold_down)

    def weight_for(self, rate: float, rotary: float, rock: float) -> float:
        """Return the weight that gives `rate` [m/s] in rock of drillability `rock`. [N]"""
        speed = (max(rotary, 0.1) / self.rotary) ** self.rotary_power
        load = (max(rate, 0.0) / (self.rop * rock * speed)) ** (1 / self.weight_power)
        return float(self.threshold + load * (self.weight - self.threshold))


HARD = Ground(
    name="hard", depth=2405.7, rop=6.8 * _M_H, weight=150e3, rotary=70 * _RPM, flow=0.045,
    weight_power=1.1, rotary_power=0.5, threshold=15e3, variation=0.08, bit_friction=0.5,
    string_torque=3.0e3, nozzles=(15, 15, 15, 15, 15), losses=6.9e6, annulus=0.8e6,
    warm_out=337.0, warm_in=318.0,
)  # fmt: skip
"""Fresh volcanic rock of a geothermal well."""

ALTERED = Ground(
    name="altered", depth=2405.7, rop=16.5 * _M_H, weight=110e3, rotary=70 * _RPM, flow=0.045,
    weight_power=1.0, rotary_power=0.6, threshold=8e3, variation=0.06, bit_friction=0.55,
    string_torque=3.0e3, nozzles=(15, 15, 15, 15, 15), losses=6.9e6, annulus=0.8e6,
    warm_out=339.0, warm_in=318.0,
)  # fmt: skip
"""A clay-altered tuff above the reservoir of the same well: a stand takes under two hours."""

SOFT = Ground(
    name="soft", depth=2405.7, rop=29.0 * _M_H, weight=90e3, rotary=140 * _RPM, flow=0.055,
    weight_power=1.0, rotary_power=0.9, threshold=3e3, variation=0.10, bit_friction=0.7,
    string_torque=7.0e3, nozzles=(16, 16, 16, 16, 16), losses=7.4e6, annulus=1.2e6,
    warm_out=318.0, warm_in=308.0,
)  # fmt: skip
"""Shale and sand."""

GROUNDS = {ground.name: ground for ground in (HARD, ALTERED, SOFT)}
"""Every kind of rock by name."""
