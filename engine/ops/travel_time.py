r"""When the block is at its limits if it goes on like this, and how far it goes on braking.

.. math:: t = s / v, \quad s_b = v t_r + v^2 / 2a

It stops nothing: the crown device is a separate, tested system.

References
----------
.. [1] Own kinematics, see `engine.well.travel`.
.. [2] 30 CFR 250.404: crown block safety device, checked weekly and after each slip of the line.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, Quality, QualityArray, Table, mark
from engine.config import WellConfig
from engine.ops.block_motion import FASTEST, BlockSpeed, Track, TrackState
from engine.ops.primitives import NAN, Past, Trailing, Window, hold
from engine.ops.sheave_side import MOVES
from engine.ops.table import pick
from engine.well.answer import Unknown
from engine.well.travel import OLDEST, braking_or_assumed

SPAN, LONG = 0.8, 3.0
"""The speed is that over the short time, or between two readings, but no more than over the long
one: a block that brakes is seen to at once, and a reading that came too soon after the one before
makes no speed. A block that is being speeded up is seen to a second late. [s]"""
HORIZON = 60.0
"""Nobody looks further ahead: a limit that is further off, or not ahead at all, is so far. [s]"""
SLOW = 0.18
"""A block that comes no faster stops within a hand's width or two: it has no time. 0.5 ft/s is
the speed at which nothing may be said, and a reading of it may be 1 in 6 high. [m/s]"""
TOO_FAST = 1.4 * FASTEST
"""Readings that came in a burst seem faster than any block. [m/s]"""


@dataclass(frozen=True, slots=True, eq=False)
class TravelTimeState:
    """All that must outlive a block."""

    track: TrackState = field(default_factory=TrackState)
    past: Past = field(default_factory=Past)
    long: Past = field(default_factory=Past)
    at: float = -np.inf
    """Newest reading of the position [s since 1970-01-01 UTC], [m], and the speed then. [m/s]"""
    z: float = NAN
    speed: float = NAN


@dataclass(slots=True, eq=False)
class TravelTime:
    """Time to the crown limit and to the floor limit, and the stopping distance.

    From the block position and its speed over the last seconds; both limits and how the brake
    works are those of the well file's ``[rig]``.
    """

    config: WellConfig
    state: TravelTimeState = field(default_factory=TravelTimeState)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``block_position`` [m], shape (n,).

        Returns
        -------
        dict
            ``crown_time``, ``floor_time`` [s], at this speed without braking, 0 past the limit,
            `HORIZON` where it is no nearer, the block stands or goes the other way;
            ``stopping_distance`` [m], reaction and brake; shape (n,). Times are NaN and
            ``NOT_APPLICABLE`` for a block that comes slowly (`SLOW`). All are NaN and ``STALE``
            where the block moves and its position is older than 0.25 s; NaN with the reasons of
            the position where that is unknown.
        """
        s, rig = self.state, self.config.rig
        block = pick(table, "block_position")
        t = block.t
        track, speeds = Track(s.track), BlockSpeed(SPAN, state=s.past)
        trailing = Trailing(LONG, s.long)
        fresh_z, _ = track.process(_fresh(block))
        here = ~np.isnan(fresh_z)
        fresh_v = np.full(t.size, NAN)
        # Rows between two readings must not push the older one out of the window.
        newest = speeds.process(t[here], fresh_z[here]).value
        window = trailing.process(t[here], fresh_z[here])
        fresh_v[here] = np.copysign(np.fmin(np.abs(newest), _mean_speed(window)), newest)
        fresh_v = np.where(np.abs(fresh_v) > TOO_FAST, NAN, fresh_v)
        at = hold(t, here, s.at)
        z, v = hold(block.value, here, s.z), hold(fresh_v, here, s.speed)
        self.state = replace(s, track=track.state, past=speeds.state, long=trailing.state)
        if t.size:
            self.state = replace(self.state, at=float(at[-1]), z=float(z[-1]), speed=float(v[-1]))

        lost = (block.quality & np.uint16(BAD)) != 0
        moves = ~(np.abs(v) < MOVES)
        old = moves & (t - at > OLDEST) & ~lost
        quality = mark(block.quality, old, Quality.STALE)
        quality = mark(quality, ~lost & ~old & np.isnan(v), Quality.NO_REFERENCE)
        known = ~lost & ~old & ~np.isnan(v)
        up = (rig.crown_limit - z, v)
        down = (z - rig.floor_limit, -v)
        return {
            "crown_time": Block(t, *_time(*up, known, quality)),
            "floor_time": Block(t, *_time(*down, known, quality)),
            "stopping_distance": Block(t, np.where(known, self._stopping(v), NAN), quality),
        }

    def _stopping(self, speed: FloatArray) -> FloatArray:
        rig = self.config.rig
        given = Unknown("not measured") if rig.braking is None else rig.braking
        braking, _ = braking_or_assumed(given)
        v = np.abs(speed)
        return v * rig.brake_reaction_s + v * v / (2 * braking)


def _mean_speed(window: Window) -> FloatArray:
    """Distance over time across each window, NaN where nothing else is in it, (n,). [m/s]"""
    z = window.columns[0]
    last = window.end - 1
    dt = window.t[last] - window.t[window.begin]
    dz = np.abs(z[last] - z[window.begin])
    return np.where(dt > 0.0, dz / np.where(dt > 0.0, dt, 1.0), NAN)


def _fresh(block: Block) -> Block:
    """Return the readings alone, repetitions as NaN."""
    held = (block.quality & np.uint16(Quality.HELD)) != 0
    return Block(block.t, np.where(held, NAN, block.value), block.quality)


def _time(
    distance: FloatArray, speed: FloatArray, known: Mask, quality: QualityArray
) -> tuple[FloatArray, QualityArray]:
    """Time to go `distance` [m] at `speed` [m/s], and its quality; shape (n,). [s]"""
    coming, slowly = known & (speed > SLOW), known & (speed > MOVES) & (speed <= SLOW)
    time = np.maximum(distance, 0.0) / np.where(coming, speed, 1.0)
    value = np.where(coming, np.minimum(time, HORIZON), HORIZON)
    value = np.where(known & ~slowly, value, NAN)
    return value, mark(quality, slowly, Quality.NOT_APPLICABLE)
