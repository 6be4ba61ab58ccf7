"""Block position without impossible jumps, and the speed of the block."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, derived
from engine.ops.primitives import CumSum, Past, Trailing

JUMP = 3.0
"""Least step that can be impossible. [m] After a stall frames come in a burst, all at nearly
one time, and each may be a second of hoisting at 2 m/s further on."""
FASTEST = 2.5
"""No travelling block is faster. [m/s] common practice, no source"""


@dataclass(frozen=True, slots=True, eq=False)
class TrackState:
    """The newest three good positions, and the jumps taken out so far."""

    t: FloatArray = field(default_factory=lambda: np.empty(0))
    z: FloatArray = field(default_factory=lambda: np.empty(0))
    jumps: float = 0.0
    """[m]"""


@dataclass(slots=True, eq=False)
class Track:
    """Block position with single wild samples left out and encoder resets closed up.

    A block cannot move 3 m at once. A sample that does, and whose successor comes back, is
    left out. When the successor stays, the encoder was reset, not the string moved: the step
    is taken out of this and all later positions.
    """

    state: TrackState = field(default_factory=TrackState)

    def process(self, position: Block) -> tuple[FloatArray, Mask]:
        """Return the position [m], NaN where unfit, and where a reset was closed up, (n,)."""
        z = position.usable()
        good = np.flatnonzero(~np.isnan(z))
        out = np.full(z.size, np.nan)
        reset = np.zeros(z.size, np.bool_)
        if not good.size:
            return out, reset
        k = self.state.t.size
        ts = np.concatenate((self.state.t, position.t[good]))
        zs = np.concatenate((self.state.z, z[good]))
        jump = np.zeros(zs.size, np.bool_)
        jump[1:] = np.abs(np.diff(zs)) > JUMP + FASTEST * np.diff(ts)
        back = np.zeros(zs.size, np.bool_)
        back[2:] = np.abs(zs[2:] - zs[:-2]) <= JUMP + FASTEST * (ts[2:] - ts[:-2])
        wild = jump & ~back
        stays = np.zeros(zs.size, np.bool_)
        stays[2:] = wild[1:-1] & ~jump[2:]
        step = np.zeros(zs.size)
        step[2:] = np.where(stays[2:], zs[1:-1] - zs[:-2], 0.0)
        total = CumSum(self.state.jumps)
        new = slice(k, None)
        jumps = total.process(step[new], np.zeros(good.size, np.bool_), step[new])
        out[good] = np.where(wild[new], np.nan, zs[new] - jumps)
        reset[good] = stays[new]
        self.state = TrackState(ts[-3:].copy(), zs[-3:].copy(), total.state)
        return out, reset


@dataclass(slots=True, eq=False)
class BlockSpeed:
    """Least-squares speed of the block over the newest 3 s, up positive.

    At slow rates the window reaches to the sample before, if that is not older than 30 s.
    """

    span: float = 3.0
    """[s]"""
    oldest: float = 30.0
    """[s]"""
    state: Past = field(default_factory=Past)

    def process(self, t: FloatArray, z: FloatArray) -> Block:
        """Work out the speed.

        Parameters
        ----------
        t, z : ndarray
            Times [s] and block position [m], NaN where unfit, shape (n,).

        Returns
        -------
        Block
            Shape (n,). [m/s] NaN and ``NO_DATA`` where the position is unfit or alone.
        """
        trailing = Trailing(self.oldest, self.state)
        window = trailing.process(t, z)
        self.state = trailing.state
        begin = np.searchsorted(window.t, t - self.span, side="left")
        begin = np.maximum(np.minimum(begin, window.end - 2), window.begin)
        zs = window.columns[0]
        n, st, sz, stt, stz = np.zeros((5, t.size))
        # Lag by lag, newest first: every sum then has one order whatever the block length.
        for lag in range(int((window.end - begin).max(initial=0))):
            j = window.end - 1 - lag
            at = np.maximum(j, 0)
            inside = (j >= begin) & ~np.isnan(zs[at]) & ~np.isnan(z)
            dt = np.where(inside, window.t[at] - t, 0.0)
            dz = np.where(inside, zs[at] - z, 0.0)
            n = n + inside
            st, sz = st + dt, sz + dz
            stt, stz = stt + dt * dt, stz + dt * dz
        bottom = n * stt - st * st
        speed = np.full(t.size, np.nan)
        ok = (n >= 2) & (bottom > 0.0)
        speed[ok] = (n * stz - st * sz)[ok] / bottom[ok]
        return derived(t, speed, (np.isnan(speed), Quality.NO_DATA))
