r"""Lag: strokes down and up, and the depth that is at the shakers now.

References
----------
.. [1] Lag time and how to calculate it, www.drillingformulas.com/tag/lag-time-calculation/ :
   strokes are volume over output, minutes are volume over flow.
.. [2] Own derivation from the balance of volumes: `engine.ops.lag_log`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi, sqrt

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, Quality, QualityArray, Table, mark
from engine.config import Component, WellConfig
from engine.ops.flow import FLOWING
from engine.ops.lag_log import FASTEST, UNSEEN, Log
from engine.ops.primitives import (
    NAN,
    Delay,
    DelayState,
    Hysteresis,
    hold,
    last_good,
    previous,
    stretches,
)
from engine.ops.pumped import Pumped, PumpedState, Pumping, running_sum
from engine.ops.table import joined, pick
from engine.well.capacities import STEEL, circle
from engine.well.geometry import WellGeometry
from engine.well.transport import kept_share

AWAY_STANDS = 2.0
"""A bit further than this above bottom is on a trip: what it leaves and what pipe displaces moves
the mud as no pump does. A connection, a reamed stand and a short wiper stay below it. [-]"""
BACK_STANDS = 1.0
"""Within this of the bottom it has been run in. [-]"""
LESS, NOTHING = 0.15, 0.80
"""Returns short of flow-in by these shares: losses, and no returns to speak of. [-]"""
LASTING_S = 120.0
"""So long, as a flow line takes a minute to fill after a connection. [s] common practice"""


@dataclass(frozen=True, slots=True, eq=False)
class LagState:
    """All that lag carries from block to block."""

    pumped: PumpedState = field(default_factory=PumpedState)
    away: bool = False
    less: DelayState = field(default_factory=DelayState)
    nothing: DelayState = field(default_factory=DelayState)
    share: float = 1.0
    """Share of the mud's progress that cuttings keep. [-]"""
    up: float = 0.0
    """Volume by which cuttings have gone up since the start. [m3]"""
    short_at: float = -np.inf
    """`up` when returns were last short. [m3]"""
    hole: float = NAN
    """Newest known hole depth [m] and its time [s since 1970-01-01 UTC]."""
    hole_at: float = NAN
    clear: bool = True
    log: Log = field(default_factory=Log)
    per_stroke: float = NAN
    """[m3]"""


@dataclass(slots=True, eq=False)
class Lag:
    """Strokes since the start, strokes to and from the bit, lag time, lagged depth.

    The lagged depth follows the volume pumped, so a stop of the pumps, another rate and a
    connection move it by nothing, and there is no minute in it. It is unknown:

    - until one annulus volume has been pumped since the watch began, the bit was run in, a
      stretch of pumping was missed or returns were lost: what is in the annulus then came
      from nobody knows where;
    - while the bit is more than two stands off bottom, and while nothing returns.

    The same holds for hole that was drilled while no depth was known. A depth set by hand
    corrects all that is on its way by the same amount. Returns short of flow-in mark it
    ``CONFLICT`` until an annulus volume later: what is lost does not lift anything.

    With ``profile.cuttings_slip`` the cuttings fall behind the mud, in each part of the
    annulus by its own speed; strokes and lag time remain those of the mud. Cuttings are taken
    to hang still while the pumps are off, and one share is taken for the whole annulus.
    What a pipe weighs more than its body is taken for tool joints in the annulus. Lag strokes
    are therefore 2 to 3 % fewer than on a sheet that knows the body alone.
    Not counted: the flow line, the fill of new pipe and what the pipe displaces when a stand
    is drilled down; the last two are less than 0.3 m3 each, and of opposite sign.
    """

    config: WellConfig
    state: LagState = field(default_factory=LagState)
    _well: WellGeometry = field(init=False)

    def __post_init__(self) -> None:
        self._well = WellGeometry.of(self.config, [_with_joints(c) for c in self.config.string])

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``flow_in``, ``flow_difference`` [m3/s], pump rates [1/s], ``pump_strokes`` [-],
            ``bit_depth``, ``hole_depth`` [m], shape (n,).

        Returns
        -------
        dict
            Each of shape (n,), NaN with the reason: ``strokes`` since the start of the watch
            [-], from the counter or the pump rates; ``bit_strokes`` down the string and
            ``lag_strokes`` up the annulus at this bit depth [-], from the well file's string,
            hole and pumps; ``lag_time`` up the annulus at this flow-in [s], not applicable
            without flow; ``lagged_depth`` [m], from the strokes and the hole depth since.
        """
        s = self.state
        pumping = (pumped := Pumped(self.config, s.pumped)).process(table)
        blocks = pick(table, "bit_depth"), pick(table, "hole_depth"), pick(table, "flow_in")
        bit, hole, flow = (block.usable() for block in blocks)
        both = self._well.annulus_at(np.concatenate((bit, hole)))
        inside = self._well.string_at(bit)
        around, bottom = both[: bit.size], both[bit.size :]
        depth, each = blocks[0].quality, pumping.per_stroke
        nowhere = ~np.isnan(bit) & np.isnan(around)
        still = flow <= FLOWING
        reasons = mark(joined(depth, blocks[2].quality), nowhere, Quality.NO_REFERENCE)
        return {
            "strokes": pumping.strokes,
            "bit_strokes": _in_strokes(blocks[0], inside, each),
            "lag_strokes": _in_strokes(blocks[0], around, each),
            "lag_time": Block(
                blocks[0].t,
                around / np.where(still, NAN, flow),
                mark(reasons, still, Quality.NOT_APPLICABLE),
            ),
            "lagged_depth": self._lagged(
                _Rows(
                    blocks[0].t, bit, hole, flow, pick(table, "flow_difference").usable(),
                    around, bottom, blocks[1].quality,
                ),
                pumping, pumped.state,
            ),
        }  # fmt: skip

    def _lagged(self, r: _Rows, pumping: Pumping, pumped: PumpedState) -> Block:
        s, t, n = self.state, r.t, r.t.size
        depth, flow = r.hole, r.flow
        stand = self.config.rig.stand_length
        off = Hysteresis(AWAY_STANDS * stand, BACK_STANDS * stand, s.away)
        away = off.process(depth - r.bit)
        less, nothing = Delay(LASTING_S, 0.0, s.less), Delay(LASTING_S, 0.0, s.nothing)
        pumps = flow > FLOWING
        short, _ = less.process(t, pumps & (r.difference < -LESS * flow))
        none, _ = nothing.process(t, pumps & (r.difference < -NOTHING * flow))

        share, up = self._up(pumping, r.bit, flow)
        stuck = (share == 0.0) & pumps
        known = ~np.isnan(depth)
        newest, at = last_good(depth, s.hole), hold(t, known, s.hole_at)
        step, waited = depth - previous(newest, s.hole), t - previous(at, s.hole_at)
        set_by_hand = (step < -1e-6) | ((step > UNSEEN) & (step > FASTEST * waited))
        clear = away | none | pumping.missed | (known & np.isnan(r.bottom))
        logged = np.where(pumping.begun, depth, NAN)
        value, log = np.full(n, NAN), s.log
        for a, b in stretches(n, (clear != previous(clear, s.clear)) | set_by_hand):
            if clear[a]:
                log = Log()
                continue
            if set_by_hand[a]:
                log = log.moved(float(step[a]), self._well.annulus_at)
            value[a:b], log = log.go_on(up[a:b], logged[a:b], self._well.annulus_at)
        short_at = hold(up, short, s.short_at)
        if n:
            self.state = LagState(
                pumped, off.state, less.state, nothing.state, float(share[-1]), float(up[-1]),
                float(short_at[-1]), float(newest[-1]), float(at[-1]), bool(clear[-1]), log,
                float(pumping.per_stroke[-1]),
            )  # fmt: skip
        value = np.where(pumping.known & ~stuck, value, NAN)
        unknown = np.isnan(value)
        quality = pumping.strokes.quality
        quality = mark(quality, unknown & (away | none | stuck), Quality.NOT_APPLICABLE)
        other = unknown & pumping.known & ~(away | none | stuck)
        quality = mark(quality, other, Quality.NO_REFERENCE)
        doubt = r.doubt & np.uint16(Quality.OLD_REFERENCE | Quality.CONFLICT)
        quality = np.where(unknown, quality, quality & ~np.uint16(Quality.OLD_REFERENCE) | doubt)
        passed = up - short_at < np.where(np.isnan(r.around), np.inf, r.around)
        return Block(t, value, mark(quality.astype(np.uint16), passed & ~unknown, Quality.CONFLICT))

    def _up(
        self, pumping: Pumping, bit: FloatArray, flow: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Share that cuttings keep [-] and the volume they have gone up by [m3], shape (n,)."""
        s, slip = self.state, self.config.profile.cuttings_slip
        if slip == 0.0:
            return np.ones(bit.size), pumping.volume
        now = kept_share(self._well, bit, np.where(flow > FLOWING, flow, NAN), slip)
        share = last_good(now, s.share)
        moved = share * (pumping.volume - previous(pumping.volume, s.pumped.volume))
        return share, running_sum(moved, s.up)

    def to_go(self, depth: float) -> float:
        """Volume to pump until hole of `depth` [m] is at the shakers; NaN: not known. [m3]

        At the share of the mud's progress that cuttings kept last; infinite if none.
        """
        left = self.state.log.due_at(depth) - self.state.up
        share = self.state.share
        return max(left, 0.0) / share if share > 0 or np.isnan(left) else np.inf


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """What the lagged depth is worked out from, NaN where unfit, each of shape (n,)."""

    t: FloatArray
    bit: FloatArray
    hole: FloatArray
    flow: FloatArray
    difference: FloatArray
    around: FloatArray
    """Annulus at the bit depth. [m3]"""
    bottom: FloatArray
    """Annulus with the bit at the bottom of the hole. [m3]"""
    doubt: QualityArray
    """Quality of the hole depth."""


def _with_joints(part: Component) -> Component:
    """Spread over its length what a part weighs more than its body, as if it were wider."""
    area = max(circle(part.outer), part.weight / STEEL + circle(part.inner))
    return part.model_copy(update={"outer": sqrt(4 / pi * area)})


def _in_strokes(bit: Block, volume: FloatArray, each: FloatArray) -> Block:
    value = volume / each
    unknown: Mask = np.isnan(value) & ((bit.quality & np.uint16(BAD)) == 0)
    return Block(bit.t, value, mark(bit.quality, unknown, Quality.NO_REFERENCE))
