"""Truth to readings: noise, steps, gaps and stuck sensors, applied last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, exp, pi

import numpy as np

from engine.block import FloatArray, Mask
from engine.sim.noise import WANDER_S, Error, NoiseClass
from engine.sim.script import Trouble
from engine.sim.sensor_faults import FAULTS, spoil

SPAN = 600
"""Noise is drawn for this many samples at once. [-]"""


@dataclass(slots=True, eq=False)
class _Span:
    """Everything random about `SPAN` samples; one row a sensor."""

    noise: FloatArray
    """Standard normal, correlated in time, shape (sensors, SPAN)."""
    slow: FloatArray
    """The same over `WANDER_S`."""
    motion: FloatArray
    chance: FloatArray
    """Uniform, decides on outliers, shape (sensors, SPAN)."""
    size: FloatArray
    packet: FloatArray
    """Uniform: jitter, missing, doubled, stalled, shape (4, SPAN)."""


@dataclass(slots=True, eq=False)
class _Bank:
    """Sensors that draw from one stream of random numbers."""

    errors: Mapping[str, Error]
    seed: int
    stream: int
    interval: float
    scale: FloatArray = field(init=False)
    _fast: FloatArray = field(init=False)
    _slow: FloatArray = field(init=False)
    _spans: int = 0
    _span: _Span | None = None

    def __post_init__(self) -> None:
        rng = self._rng(0)
        n = len(self.errors)
        self.scale = np.clip(rng.standard_normal(n), -2.0, 2.0)
        self._fast = rng.standard_normal(n)
        self._slow = rng.standard_normal(n)

    def _rng(self, span: int) -> np.random.Generator:
        return np.random.default_rng(np.random.SeedSequence([self.seed, self.stream, span]))

    def draw(self, index: int) -> _Span:
        """Return span `index`; they are asked for in order, each many times."""
        if self._span is not None and index == self._spans - 1:
            return self._span
        n = len(self.errors)
        rng = self._rng(index + 1)
        errors = self.errors.values()
        keep = np.array([exp(-self.interval / e.tau) if e.tau else 0.0 for e in errors])
        noise = _correlate(rng.standard_normal((n, SPAN)), keep, self._fast)
        slow_keep = np.full(n, exp(-self.interval / WANDER_S))
        slow = _correlate(rng.standard_normal((n, SPAN)), slow_keep, self._slow)
        self._fast, self._slow = noise[:, -1].copy(), slow[:, -1].copy()
        self._span = _Span(
            noise,
            slow,
            rng.standard_normal((n, SPAN)),
            rng.random((n, SPAN)),
            rng.standard_normal((n, SPAN)),
            rng.random((4, SPAN)),
        )
        self._spans = index + 1
        return self._span


@dataclass(slots=True, eq=False)
class Sensors:
    """The rig's sensors with their memory."""

    kinds: NoiseClass
    seed: int
    troubles: Sequence[Trouble]
    interval: float = 1.0
    """From sample to sample. [s]"""
    usual: Mapping[str, float] = field(default_factory=dict)
    """Value at which a curved gauge is right, by channel; none: it is not curved. [SI]"""
    _main: _Bank = field(init=False)
    _more: _Bank = field(init=False)
    _until: dict[tuple[str, str], int] = field(default_factory=dict)
    """(what, channel) to the first second after it."""
    _last: dict[str, float] = field(default_factory=dict)
    _zero: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._main = _Bank(self.kinds.sensors, self.seed, 2, self.interval)
        self._more = _Bank(self.kinds.more, self.seed, 4, self.interval)

    def clock(self, first: int, n: int) -> tuple[FloatArray, Mask, Mask, FloatArray]:
        """Return jitter [s], sent, doubled and delay [s] of samples `first` to `first` + `n`.

        Must be called for the same samples as `read`, before it, within one span.
        """
        at, dt = first % SPAN, self.interval
        u = self._main.draw(first // SPAN).packet[:, at : at + n]
        sent = u[1] >= self.kinds.missing
        delay = np.zeros(n)
        for i in range(n):
            k = first + i
            until = self._until.get(("stall", ""), -1)
            if k >= until and u[3, i] < self.kinds.stalls * dt:
                until = self._until["stall", ""] = k + ceil(5 / dt)
            if k < until:
                delay[i] = (until - k) * dt
            if any(t.kind == "dropout" and t.start <= k * dt < t.end for t in self.troubles):
                sent[i] = False
        return self.kinds.jitter * dt * (2 * u[0] - 1), sent, u[2] < self.kinds.doubled, delay

    def read(
        self, first: int, truth: Mapping[str, FloatArray], speed: FloatArray
    ) -> dict[str, FloatArray]:
        """Return what the sensors say, NaN in a gap; all arrays of one length in one span."""
        at = first % SPAN
        out: dict[str, FloatArray] = {}
        for name, value in truth.items():
            bank = self._main if name in self.kinds.sensors else self._more
            span, row = bank.draw(first // SPAN), list(bank.errors).index(name)
            error = bank.errors[name]
            cut = slice(at, at + value.size)
            times = np.arange(first, first + value.size, dtype=np.float64) * self.interval
            script = [t for t in self.troubles if t.channel == name and t.kind in FAULTS]
            value = spoil(script, "truth", times, value, span.chance[row, cut])
            if name in self.usual:
                value = _curved(error, value, self.usual[name])
            read = value * (1 + error.scale * bank.scale[row])
            read += error.wander * value * span.slow[row, cut] + error.drift * span.slow[row, cut]
            spread = error.sd + error.share * np.abs(value)
            read += spread * span.noise[row, cut]
            if error.wave:
                # Any number of the run's own will do for the phase.
                read += error.wave * np.sin(2 * pi * times / error.period + bank.scale[row])
            if error.moving:
                moving = np.abs(speed) > 0.03
                read += moving * error.moving * value * span.motion[row, cut]
            read = self._faults(name, error, first, read, span.chance[row, cut], span.size[row])
            read = spoil(script, "reading", times, read, span.chance[row, cut])
            if error.quantum:
                read = np.round(read / error.quantum) * error.quantum
            read = self._hold(name, error, first, read, span.chance[row, cut])
            out[name] = spoil(script, "sent", times, read, span.chance[row, cut])
        return out

    def _faults(
        self, name: str, error: Error, first: int, read: FloatArray, u: FloatArray, size: FloatArray
    ) -> FloatArray:
        """Add jumps of the zero and wild readings; `u` is used from its upper end."""
        if error.jumps:
            at = first % SPAN
            steps = np.clip(0.2 * size[at : at + u.size], -0.2, 0.2)
            steps = np.where(u > 1 - error.jumps * self.interval, steps, 0.0)
            zero = np.cumsum(np.concatenate([[self._zero.get(name, 0.0)], steps]))[1:]
            self._zero[name] = float(zero[-1])
            read += zero
        for i in np.flatnonzero(u < error.outliers * self.interval):
            read[i] *= 1.5 + abs(float(size[(first + i) % SPAN]))
        return read

    def _hold(
        self, name: str, error: Error, first: int, read: FloatArray, u: FloatArray
    ) -> FloatArray:
        """Blank gaps and freeze stuck spells."""
        script = [t for t in self.troubles if t.kind == "stuck" and t.channel == name]
        if not (script or error.dropouts or error.sticks):
            return read
        dt = self.interval
        gap = (error.outliers + error.dropouts) * dt
        stick = (error.outliers + error.dropouts + error.sticks) * dt
        for i in range(read.size):
            k, chance = first + i, float(u[i])
            if error.outliers * dt <= chance < gap:
                # The same draw says how long: it is uniform in its own small interval.
                part = (chance - error.outliers * dt) / (error.dropouts * dt)
                self._until["gap", name] = k + ceil((5 + int(55 * part)) / dt)
            elif gap <= chance < stick:
                part = (chance - gap) / (error.sticks * dt)
                self._until["stick", name] = k + ceil((60 + int(1140 * part)) / dt)
            stuck = k < self._until.get(("stick", name), -1)
            if (stuck or any(t.start <= k * dt < t.end for t in script)) and name in self._last:
                read[i] = self._last[name]
            self._last[name] = float(read[i])
            if k < self._until.get(("gap", name), -1):
                read[i] = np.nan
        return read


def _curved(error: Error, value: FloatArray, usual: float) -> FloatArray:
    """Return what a gauge with a dead zone, a curve and an end shows of `value`."""
    share = np.maximum(value / usual - error.dead, 0.0) / (1 - error.dead)
    return usual * np.minimum(share**error.curve, error.limit)


def _correlate(white: FloatArray, keep: FloatArray, before: FloatArray) -> FloatArray:
    """Return AR(1) rows of unit variance from white ones, going on after `before`."""
    out = np.empty_like(white)
    fresh = np.sqrt(1 - keep**2)
    last = before
    for i in range(white.shape[1]):
        last = keep * last + fresh * white[:, i]
        out[:, i] = last
    return out
