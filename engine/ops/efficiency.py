"""How hard the rock is drilled, live: specific energy, d-exponent, torque for weight."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, QualityArray, Table, mark
from engine.config import WellConfig
from engine.ops.primitives import Delay, DelayState, Past, Trailing
from engine.ops.seconds import Seconds, SecondsState
from engine.ops.table import joined, pick, times
from engine.units import FT, LBF
from engine.well.answer import Unknown
from engine.well.efficiency import RATE_FLOOR, ROTATION_FLOOR, WEIGHT_FLOOR
from engine.well.well_file import bit_diameter

MEAN_S = 60.0
"""Weight, rotation and torque are means over this time, the rate is that of `rop`. [s]"""
DRILLING_S = 30.0
"""So long must the bit drill before there is a number. [s] common practice"""
DIGITS = 9
"""Decimals of the exponents: logarithms differ in their last bit from one processor to another,
and a recording must be worked out alike on all. [-]"""
NEEDS = ("weight_on_bit", "rotary", "torque", "off_bottom_torque", "rop", "on_bottom")
CHANNELS = ("specific_energy", "d_exponent", "corrected_d_exponent", "torque_per_weight")


@dataclass(frozen=True, slots=True, eq=False)
class EfficiencyState:
    """All that must outlive a block."""

    seconds: SecondsState
    past: Past = field(default_factory=Past)
    drilling: DelayState = field(default_factory=DelayState)


@dataclass(slots=True, eq=False)
class Efficiency:
    r"""Specific energy, drilling exponents, torque for weight, from means over one minute.

    .. math::
        e = \frac{W}{A} + \frac{\omega T}{A v}, \quad
        d = \frac{\log(R / (60 N))}{\log(12 W / (10^6 D))}, \quad d_c = d \rho_n / \rho

    as in `engine.well.efficiency`. The torque is that of the surface less that off bottom, which
    was taken with the tare; a motor turns the bit faster than the string, and that is not
    counted. The exponents are corrected for the mud weight of the well file, not for the ECD.

    References
    ----------
    .. [1] R. Teale, Int. J. Rock Mech. Min. Sci. 2 (1965) 57-73.
    .. [2] J. R. Jorden and O. J. Shirley, J. Petroleum Technology 18 (1966) 1387-1394.
    .. [3] B. Rehm and R. McClendon, SPE 3601 (1971).
    """

    config: WellConfig
    unknown: dict[str, str] = field(init=False)
    """Why a channel can never be known with this well file, in words; by channel."""
    _seconds: Seconds = field(default_factory=Seconds, init=False)
    _past: Past = field(default_factory=Past, init=False)
    _drilling: DelayState = field(default_factory=DelayState, init=False)
    _diameter: float = field(init=False)

    def __post_init__(self) -> None:
        bit = bit_diameter(self.config)
        self.unknown = {}
        if self.config.profile.normal_formation_density is None:
            self.unknown["corrected_d_exponent"] = (
                "no normal formation pressure in the well file: under [profile], "
                "normal_formation_density_sg"
            )
        if isinstance(bit, Unknown):
            self.unknown |= dict.fromkeys(CHANNELS[:3], bit.reason)
        self._diameter = np.nan if isinstance(bit, Unknown) else bit

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``weight_on_bit`` [N], ``rotary`` [rad/s], ``torque``, ``off_bottom_torque`` [N m],
            ``rop`` [m/s], ``on_bottom`` [-], shape (n,); what is missing is taken as unknown.

        Returns
        -------
        dict
            ``specific_energy`` [Pa], ``d_exponent``, ``corrected_d_exponent`` [-],
            ``torque_per_weight`` [m], shape (n,). NaN with the reasons of what goes in;
            ``NOT_APPLICABLE`` off bottom, below 0.1 m/h, without weight on the bit, for the
            exponents while the string slides and outside their range; ``NO_REFERENCE`` in
            the first 30 s of drilling and where the well file lacks what it takes (`unknown`
            says what); ``CONFLICT`` if the string turns on bottom with less torque than off
            it. Of a sliding string the specific energy is the axial part, ``PARTIAL``.
            Worked out once a second.
        """
        needed = {name: pick(table, name) for name in NEEDS}
        return self._seconds.process(needed, self._work)

    def _work(self, table: Table) -> dict[str, Block]:
        t = times(table)
        weight, turn, torque, off, rop, bottom = (table[name] for name in NEEDS)
        at = bottom.usable()
        on, rate = at == 1.0, rop.usable()
        delay = Delay(DRILLING_S, 0.0, self._drilling)
        drills, _ = delay.process(t, on & (rate > RATE_FLOOR))
        self._drilling = delay.state
        when = _When(t, drills, on, at == 0.0, rate <= RATE_FLOOR)
        rate = np.where(rate > RATE_FLOOR, rate, np.nan)
        w, n, tq = self._means(t, weight.usable(), np.abs(turn.usable()),
                               torque.usable() - off.usable(), on)  # fmt: skip
        light = joined(bottom.quality, rop.quality, weight.quality, turn.quality)
        heavy = joined(light, torque.quality, off.quality)
        area = pi / 4 * self._diameter**2
        turns, pressed = n >= ROTATION_FLOOR, w >= WEIGHT_FLOOR
        energy = w / area + np.where(turns, n * tq / (area * rate), 0.0)
        energy = np.where(pressed & ~(turns & (tq <= 0)), energy, np.nan)
        exponent = _exponent(rate, n, w, self._diameter)
        normal = self.config.profile.normal_formation_density
        corrected = exponent * ((np.nan if normal is None else normal) / self.config.mud.density)
        # A sliding string has no use for the torque, whether it is known or not.
        slides = n < ROTATION_FLOOR
        noted = np.where(slides, light, heavy)
        noted = mark(noted, drills & turns & (tq <= 0), Quality.CONFLICT)
        noted = mark(noted, drills & slides & ~np.isnan(energy), Quality.PARTIAL)
        per_weight = np.where(pressed & (tq >= 0), tq / np.where(pressed, w, np.nan), np.nan)
        known, known_twist = ~np.isnan(w + rate), ~np.isnan(w + rate + tq)
        whole = np.where(slides, known, known_twist)
        return {
            "specific_energy": self._block("specific_energy", when, energy, noted, whole),
            "d_exponent": self._block("d_exponent", when, exponent, light, known),
            "corrected_d_exponent": self._block(
                "corrected_d_exponent", when, corrected, light, known
            ),
            "torque_per_weight": self._block(
                "torque_per_weight", when, per_weight, heavy, known_twist
            ),
        }

    def _means(
        self, t: FloatArray, weight: FloatArray, turn: FloatArray, torque: FloatArray, on: Mask
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return means over the last minute on bottom, NaN where the newest one is unknown."""
        light, heavy = on & ~np.isnan(weight + turn), on & ~np.isnan(torque)
        trailing = Trailing(MEAN_S, self._past)
        window = trailing.process(
            t,
            np.where(light, weight, 0.0),
            np.where(light, turn, 0.0),
            light.astype(np.float64),
            np.where(heavy, torque, 0.0),
            heavy.astype(np.float64),
        )
        self._past = trailing.state
        m, k = np.where(light, window.total(2), np.nan), np.where(heavy, window.total(4), np.nan)
        return window.total(0) / m, window.total(1) / m, window.total(3) / k

    def _block(
        self, name: str, when: _When, value: FloatArray, quality: QualityArray, known: Mask
    ) -> Block:
        """Give `value` where the bit drills, else why there is none; `known`: all inputs are."""
        if name in self.unknown:
            lacking = np.full(value.size, int(Quality.NO_REFERENCE), np.uint16)
            return Block(when.t, np.full(value.size, np.nan), lacking)
        value = np.where(when.drills, value, np.nan)
        lost = np.isnan(value) & when.on & (known | when.slow)
        never = (when.drills | when.slow) & ((quality & np.uint16(Quality.CONFLICT)) == 0)
        quality = mark(quality, lost & never, Quality.NOT_APPLICABLE)
        quality = mark(quality, lost & ~when.drills & ~when.slow, Quality.NO_REFERENCE)
        quality = np.where(when.off, np.uint16(Quality.NOT_APPLICABLE), quality)
        return Block(when.t, value, quality)

    @property
    def state(self) -> EfficiencyState:
        """All that must outlive a block, a restart or a seek."""
        return EfficiencyState(self._seconds.state, self._past, self._drilling)

    @state.setter
    def state(self, s: EfficiencyState) -> None:
        self._seconds.state, self._past, self._drilling = s.seconds, s.past, s.drilling


@dataclass(frozen=True, slots=True, eq=False)
class _When:
    """What the bit does at each row, shape (n,)."""

    t: FloatArray
    drills: Mask
    """For half a minute."""
    on: Mask
    off: Mask
    """Neither: unknown."""
    slow: Mask
    """On bottom it makes no hole."""


def _exponent(
    rate: FloatArray, rotation: FloatArray, weight: FloatArray, diameter: float
) -> FloatArray:
    """Return the d-exponent as `engine.well.efficiency.d_exponent`, NaN for unknown. [-]"""
    turning = np.where(rotation >= ROTATION_FLOOR, rotation, np.nan)
    advance = rate * 2 * pi / turning / FT
    load = np.where(weight >= WEIGHT_FLOOR, weight, np.nan) / diameter / (LBF / FT) / 1e6
    inside = (advance > 0) & (advance < 1) & (load < 1)
    top, bottom = np.log(np.where(inside, advance, 0.5)), np.log(np.where(inside, load, 0.5))
    out: FloatArray = np.where(inside, np.round(top / bottom, DIGITS), np.nan)
    return out
