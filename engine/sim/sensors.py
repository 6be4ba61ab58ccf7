"""Truth to readings: noise, steps, gaps and stuck sensors, applied last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import exp

import numpy as np

from engine.block import FloatArray, Mask
from engine.sim.noise import WANDER_S, Error, NoiseClass
from engine.sim.scenarios import Trouble

SPAN = 600
"""Noise is drawn for this many seconds at once. [-]"""


@dataclass(slots=True, eq=False)
class _Span:
    """Everything random about `SPAN` seconds; one row a sensor."""

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
class Sensors:
    """The rig's sensors with their memory."""

    kinds: NoiseClass
    seed: int
    troubles: Sequence[Trouble]
    _names: list[str] = field(init=False)
    _scale: FloatArray = field(init=False)
    _fast: FloatArray = field(init=False)
    _slow: FloatArray = field(init=False)
    _spans: int = 0
    _span: _Span | None = None
    _until: dict[tuple[str, str], int] = field(default_factory=dict)
    """(what, channel) to the first second after it."""
    _last: dict[str, float] = field(default_factory=dict)
    _zero: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._names = list(self.kinds.sensors)
        rng = self._rng(0)
        n = len(self._names)
        self._scale = np.clip(rng.standard_normal(n), -2.0, 2.0)
        self._fast = rng.standard_normal(n)
        self._slow = rng.standard_normal(n)

    def _rng(self, span: int) -> np.random.Generator:
        return np.random.default_rng(np.random.SeedSequence([self.seed, 2, span]))

    def _draw(self, index: int) -> _Span:
        """Return span `index`; they are asked for in order, each many times."""
        if self._span is not None and index == self._spans - 1:
            return self._span
        n = len(self._names)
        rng = self._rng(index + 1)
        errors = self.kinds.sensors.values()
        keep = np.array([exp(-1 / e.tau) if e.tau else 0.0 for e in errors])
        noise = _correlate(rng.standard_normal((n, SPAN)), keep, self._fast)
        slow_keep = np.full(n, exp(-1 / WANDER_S))
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

    def clock(self, first: int, n: int) -> tuple[FloatArray, Mask, Mask, FloatArray]:
        """Return jitter [s], sent, doubled and delay [s] of seconds `first` to `first` + `n`.

        Must be called for the same seconds as `read`, before it, within one span.
        """
        at = first % SPAN
        u = self._draw(first // SPAN).packet[:, at : at + n]
        sent = u[1] >= self.kinds.missing
        delay = np.zeros(n)
        for i in range(n):
            k = first + i
            until = self._until.get(("stall", ""), -1)
            if k >= until and u[3, i] < self.kinds.stalls:
                until = self._until["stall", ""] = k + 5
            if k < until:
                delay[i] = until - k
            if any(t.kind == "dropout" and t.start <= k < t.end for t in self.troubles):
                sent[i] = False
        return self.kinds.jitter * (2 * u[0] - 1), sent, u[2] < self.kinds.doubled, delay

    def read(
        self, first: int, truth: Mapping[str, FloatArray], speed: FloatArray
    ) -> dict[str, FloatArray]:
        """Return what the sensors say, NaN in a gap; all arrays of one length in one span."""
        at = first % SPAN
        span = self._draw(first // SPAN)
        out: dict[str, FloatArray] = {}
        for name, value in truth.items():
            row = self._names.index(name)
            error = self.kinds.sensors[name]
            cut = slice(at, at + value.size)
            read = value * (1 + error.scale * self._scale[row])
            read += error.wander * value * span.slow[row, cut] + error.drift * span.slow[row, cut]
            spread = error.sd + error.share * np.abs(value)
            read += spread * span.noise[row, cut]
            if error.moving:
                moving = np.abs(speed) > 0.03
                read += moving * error.moving * value * span.motion[row, cut]
            read = self._faults(name, error, first, read, span.chance[row, cut], span.size[row])
            if error.quantum:
                read = np.round(read / error.quantum) * error.quantum
            out[name] = self._hold(name, error, first, read, span.chance[row, cut])
        return out

    def _faults(
        self, name: str, error: Error, first: int, read: FloatArray, u: FloatArray, size: FloatArray
    ) -> FloatArray:
        """Add jumps of the zero and wild readings; `u` is used from its upper end."""
        if error.jumps:
            at = first % SPAN
            steps = np.clip(0.2 * size[at : at + u.size], -0.2, 0.2)
            steps = np.where(u > 1 - error.jumps, steps, 0.0)
            zero = np.cumsum(np.concatenate([[self._zero.get(name, 0.0)], steps]))[1:]
            self._zero[name] = float(zero[-1])
            read += zero
        for i in np.flatnonzero(u < error.outliers):
            read[i] *= 1.5 + abs(float(size[(first + i) % SPAN]))
        return read

    def _hold(
        self, name: str, error: Error, first: int, read: FloatArray, u: FloatArray
    ) -> FloatArray:
        """Blank gaps and freeze stuck spells."""
        script = [t for t in self.troubles if t.kind == "stuck" and t.channel == name]
        if not (script or error.dropouts or error.sticks):
            return read
        gap, stick = error.outliers + error.dropouts, error.outliers + error.dropouts + error.sticks
        for i in range(read.size):
            k, chance = first + i, float(u[i])
            if error.outliers <= chance < gap:
                # The same draw says how long: it is uniform in its own small interval.
                part = (chance - error.outliers) / error.dropouts
                self._until["gap", name] = k + 5 + int(55 * part)
            elif gap <= chance < stick:
                part = (chance - gap) / error.sticks
                self._until["stick", name] = k + 60 + int(1140 * part)
            stuck = k < self._until.get(("stick", name), -1)
            if (stuck or any(t.start <= k < t.end for t in script)) and name in self._last:
                read[i] = self._last[name]
            self._last[name] = float(read[i])
            if k < self._until.get(("gap", name), -1):
                read[i] = np.nan
        return read


def _correlate(white: FloatArray, keep: FloatArray, before: FloatArray) -> FloatArray:
    """Return AR(1) rows of unit variance from white ones, going on after `before`."""
    out = np.empty_like(white)
    fresh = np.sqrt(1 - keep**2)
    last = before
    for i in range(white.shape[1]):
        last = keep * last + fresh * white[:, i]
        out[:, i] = last
    return out
