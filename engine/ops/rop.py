"""Rate of penetration: least squares over the last quarter metre, on bottom only.

Regression beats the difference of two depths: a band brake pays off in steps of centimetres,
and a step of 5 mm between two samples a second apart is already 18 m/h.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, derived, same_length
from engine.ops.primitives import NAN, hold, previous
from engine.units import HOUR

DISTANCE, LONGEST, SHORTEST = 0.25, 300.0, 30.0
"""The window: this far [m], never longer nor shorter than these [s]. A gap longer than the
shortest starts a new one."""
QUIET = 20.0
"""Time on bottom before a rate is shown. [s]"""
LEAST_SAMPLES = 3
BACKWARDS = -0.5 / HOUR
"""A slope below this on bottom is a fault of the depth, above it noise about nothing. [m/s]"""


@dataclass(frozen=True, slots=True, eq=False)
class RopState:
    """The samples of the present run on bottom that a window may still need."""

    t: FloatArray = field(default_factory=lambda: np.empty(0))
    depth: FloatArray = field(default_factory=lambda: np.empty(0))
    hole: FloatArray = field(default_factory=lambda: np.empty(0))
    on: bool = False
    began: float = NAN
    """When the run began; [s]"""
    first: tuple[float, float] = (NAN, NAN)
    """Time [s] and depth [m] that its sums are counted from."""
    second: float = NAN
    """Second of the newest sample: one sample a second is enough. [s]"""
    last: float = NAN
    """Newest sample that could be used. [s]"""
    rate: float = NAN


@dataclass(slots=True, eq=False)
class Rop:
    """Rate of penetration over the shorter of 0.25 m and 300 s, but at least 30 s."""

    state: RopState = field(default_factory=RopState)

    def process(self, t: FloatArray, depth: FloatArray, hole: FloatArray, on: Mask) -> Block:
        """Work out one block.

        Parameters
        ----------
        t, depth, hole : ndarray
            Times [s], bit depth (smoothed) and hole depth [m], shape (n,).
        on : ndarray of bool
            On bottom, shape (n,). Every run on bottom starts a new window.

        Returns
        -------
        Block
            Shape (n,). [m/s] NaN with ``NOT_APPLICABLE`` off bottom, ``NO_REFERENCE`` in the
            first 20 s or with less than three times to fit, ``CONFLICT`` when the depth runs
            backwards on bottom. Never negative.
        """
        same_length("rate of penetration", t, depth, hole, on)
        s = self.state
        if not t.size:
            return derived(t, t.copy())
        began = hold(t, on & ~previous(on, s.on), s.began)
        use = on & ~np.isnan(depth) & ~np.isnan(hole)
        starts = np.zeros(t.size, np.bool_)
        starts[use] = began[use] != previous(began[use], s.began if s.t.size else NAN)
        starts[use] |= np.diff(t[use], prepend=s.last) > SHORTEST
        seconds = np.floor(t)
        ticks = np.zeros(t.size, np.bool_)
        ticks[use] = seconds[use] != previous(seconds[use], s.second)
        kept = starts | (use & ticks)
        first_t, first_depth = hold(t, starts, s.first[0]), hold(depth, starts, s.first[1])
        ts = np.concatenate((s.t, t[kept]))
        ds = np.concatenate((s.depth, depth[kept]))
        hs = np.concatenate((s.hole, hole[kept]))
        t0 = np.concatenate((np.full(s.t.size, s.first[0]), first_t[kept]))
        d0 = np.concatenate((np.full(s.t.size, s.first[1]), first_depth[kept]))
        run = hold(np.arange(ts.size), np.concatenate((np.zeros(s.t.size, bool), starts[kept])), 0)
        rate = np.full(t.size, NAN)
        rate[kept] = _slopes(ts, ds, hs, t0, d0, run)[s.t.size :]
        rate = hold(rate, kept, s.rate)
        newest = hold(t, kept, s.t[-1] if s.t.size else NAN)
        rate = np.where(t - newest > SHORTEST, NAN, rate)
        keep = max(int(np.searchsorted(ts, t[-1] - LONGEST)) - 1, int(run[-1]) if run.size else 0)
        keep = keep if on[-1] else ts.size
        self.state = RopState(
            ts[keep:].copy(),
            ds[keep:].copy(),
            hs[keep:].copy(),
            bool(on[-1]),
            float(began[-1]),
            (float(first_t[-1]), float(first_depth[-1])),
            float(seconds[use][-1]) if use.any() else s.second,
            float(t[use][-1]) if use.any() else s.last,
            float(rate[-1]),
        )
        rate = np.where(on, rate, NAN)
        back = rate < BACKWARDS
        value = np.where(back, NAN, np.maximum(rate, 0.0))
        return derived(
            t,
            value,
            (~on, Quality.NOT_APPLICABLE),
            (on & np.isnan(rate), Quality.NO_REFERENCE),
            (back, Quality.CONFLICT),
        )

    def reset(self) -> None:
        """Forget the window: the depth was set by hand."""
        self.state = RopState()


def _slopes(
    t: FloatArray,
    depth: FloatArray,
    hole: FloatArray,
    t0: FloatArray,
    d0: FloatArray,
    run: FloatArray,
) -> FloatArray:
    """Slope of `depth` at each sample over its window, within its own run. [m/s]"""
    n = t.size
    if not n:
        return np.empty(0)
    end = np.arange(n) + 1
    begin = np.searchsorted(hole, hole - DISTANCE, side="right") - 1
    begin = np.maximum(begin, np.searchsorted(t, t - LONGEST))
    begin = np.minimum(begin, np.searchsorted(t, t - SHORTEST, side="right") - 1)
    begin = np.minimum(np.maximum(begin, run), end - 1)
    x, y = t - t0, depth - d0
    pairs = np.stack((begin, end), axis=1).ravel()
    # Sums over a window depend on its samples alone, counted from the run's own first one.
    sx, sy, sxx, sxy = (
        np.add.reduceat(np.append(column, 0.0), pairs)[::2] for column in (x, y, x * x, x * y)
    )
    m = end - begin
    bottom = m * sxx - sx * sx
    ok = (m >= LEAST_SAMPLES) & (bottom > 1e-9 * m * sxx) & (t - t[run] >= QUIET)
    out = np.full(n, NAN)
    out[ok] = (m * sxy - sx * sy)[ok] / bottom[ok]
    return out
