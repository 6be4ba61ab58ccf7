"""Hole depth, on bottom, weight on bit and rate of penetration, a row at a time."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from math import floor, isnan
from typing import NamedTuple

from engine.config import WellConfig
from tests.benchmarks.per_frame_depth import StringFacts
from tests.benchmarks.per_frame_small import KLBF, NAN, Delay, MedianOfFive
from tests.benchmarks.per_frame_tare import Reference, Tare

SQUEEZE = 15e3 * 9.80665
"""Weight on bit that shortens the string while it drills. [N]"""


class Drilled(NamedTuple):
    """What one row gives; NaN where unknown."""

    hole: float
    on: float
    tare: float
    weight: float
    rop: float


class Drilling:
    """On bottom takes geometry and a witness; only on bottom makes hole."""

    def __init__(self, config: WellConfig, string: StringFacts) -> None:
        self._string = string
        rig = config.rig
        # A dead line in n parts over sheaves of efficiency e: true over gauge load, lowering.
        shares = [rig.sheave_efficiency**i for i in range(rig.lines)]
        self._factor = sum(shares) / rig.lines
        self._tare = Tare(config, string)
        self._smooth, self._drilled = MedianOfFive(), MedianOfFive()
        given = config.start.hole_depth
        self._given = self._deepest = self._hole = NAN if given is None else given
        self._weighted = Delay(config.profile.on_bottom_hold_s, 0.0)
        self._lifted = Delay(3.0, 0.0)
        self._advance: deque[tuple[float, float]] = deque()
        self._on = False
        self._rop = Rop()

    def step(
        self, t: float, load: float, z: float, speed: float, good: Mapping[str, float],
        flow: float, slips: float, shown: float, bit: float, reach: float,
    ) -> Drilled:  # fmt: skip
        """Work out one row; `slips` at once, `shown` after its delay."""
        smooth = self._smooth.step(t, bit)
        if isnan(self._given):
            self._given = self._hole = good["reported_hole_depth"]
        for depth in (smooth, self._given):
            if not depth <= self._deepest and depth == depth:
                self._deepest = depth
        _, stretch = self._string.at(smooth)
        above = self._deepest - smooth - SQUEEZE * stretch
        tare = self._tare.step(
            t, load, good["torque"], speed, good["rotary"], flow, slips, above, reach
        )
        on = self._bottom(t, tare, load, good["torque"], speed, flow, slips, above)
        if on and smooth > self._hole:
            self._hole = smooth
        drop = self._factor * (tare.load - load)
        if shown != 0.0:  # in slips, or not known: NaN differs from everything
            weight = NAN
        elif on or (above < 0.15 and slips == 0.0):
            weight = drop
        else:
            weight = 0.0 if abs(drop) < 3 * KLBF else NAN
        rate = self._rop.step(t, self._drilled.step(t, bit + load * stretch), self._hole, on)
        shown_on = NAN if isnan(self._hole) else float(on)
        return Drilled(self._hole, shown_on, tare.load, weight, rate)

    def _bottom(
        self, t: float, tare: Reference, load: float, torque: float, speed: float, flow: float,
        slips: float, above: float,
    ) -> bool:  # fmt: skip
        slow = -0.05 < speed < 0.03 and slips != 1.0
        weight = tare.load - load
        limit = max(2 * KLBF, 4 * tare.load_error)
        turn = max(500.0, 0.1 * tare.torque, 4 * tare.torque_error)
        witness = weight > limit or torque - tare.torque > turn
        lasting, _ = self._weighted.step(t, witness and slow)
        gone, _ = self._lifted.step(t, weight < KLBF and speed > 0.03)
        past = self._advance
        past.append((t, self._deepest))
        while t - past[0][0] > 120.0:
            past.popleft()
        then, before = past[0]
        advance = slow and flow > 1e-3 and t - then >= 20.0 and self._deepest - before > 0.03
        if above > 0.15 or slips == 1.0 or gone:
            self._on = False
        elif (lasting or advance) and above < 0.15 and self._given == self._given:
            self._on = True
        return self._on


class Rop:
    """Least squares over the shorter of 0.25 m and 300 s, at least 30 s, in one run on bottom.

    One sample a second is used. Nothing in the first 20 s; a slope under -0.5 m/h is no rate.
    """

    def __init__(self) -> None:
        self._on = False
        self._clear()
        self._last = NAN

    def _clear(self) -> None:
        self._samples: list[tuple[float, float, float]] = []
        self._begin = 0
        self._origin = (NAN, NAN)
        self._sums = [0.0, 0.0, 0.0, 0.0]
        self._second = -1
        self._rate = NAN

    def step(self, t: float, depth: float, hole: float, on: bool) -> float:
        """Return the rate. [m/s]"""
        if on and not self._on:
            self._clear()
        self._on = on
        if not on:
            return NAN
        if depth == depth and hole == hole:
            if t - self._last > 30.0:
                self._clear()
            self._last = t
            if floor(t) != self._second:
                self._second = floor(t)
                self._rate = self._fit(t, depth, hole)
        if t - self._last > 30.0 or self._rate < -0.5 / 3600:
            return NAN
        return max(self._rate, 0.0) if self._rate == self._rate else NAN

    def _fit(self, t: float, depth: float, hole: float) -> float:
        samples, sums = self._samples, self._sums
        if not samples:
            self._origin = (t, depth)
        t0, d0 = self._origin
        x, y = t - t0, depth - d0
        samples.append((x, y, hole))
        for i, term in enumerate((x, y, x * x, x * y)):
            sums[i] += term
        last = len(samples) - 1
        while self._begin < last:
            # The next sample may begin the window if it still spans enough.
            xb, yb, _ = samples[self._begin]
            x_next, _, hole_next = samples[self._begin + 1]
            far = hole_next <= hole - 0.25 or x - xb > 300.0
            if not far or x - x_next < 30.0:
                break
            for i, term in enumerate((xb, yb, xb * xb, xb * yb)):
                sums[i] -= term
            self._begin += 1
        m = last + 1 - self._begin
        sx, sy, sxx, sxy = sums
        bottom = m * sxx - sx * sx
        if m < 3 or x < 20.0 or bottom <= 1e-9 * m * sxx:
            return NAN
        return (m * sxy - sx * sy) / bottom
