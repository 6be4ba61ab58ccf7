r"""Work of the drilling line, counted from hook load and travel of the block.

.. math:: W = \sum F |\Delta z|

References
----------
.. [1] API RP 9B (from memory): the work of a trip is the load times the distance, summed over all
   moves; its formulas of round trip and drilling are this sum worked out.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, Quality, Table, derived, mark
from engine.config import WellConfig
from engine.ops.block_motion import Track, TrackState
from engine.ops.primitives import NAN, hold, previous
from engine.ops.sheave_side import SheaveSide, until_tare
from engine.ops.table import pick

PLAY = 0.015
"""A turn of the block counts once it has gone back twice this: noise of the position, 5 mm and a
step of 1 cm, moves no load. A real turn loses 3 cm of some 30 m. [m]"""
GAP_S = 30.0
"""What the block did in a longer gap of its position was not seen; the least is counted. [s]"""
PART = 0.01
"""Share of the work that may be estimated before the whole of it is. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class LineWorkState:
    """All that must outlive a block."""

    lines: int
    """Strung to the block now. [-]"""
    restrung: bool = False
    track: TrackState = field(default_factory=TrackState)
    z: float = NAN
    """Position with the play taken out. [m]"""
    at: float = NAN
    """When the position was last known. [s since 1970-01-01 UTC]"""
    done: float = 0.0
    """[J]"""
    estimated: float = 0.0
    """Part of `done` with the expected in place of the hook load, or over a gap. [J]"""
    travel: float = 0.0
    """[m]"""
    uncounted: float = 0.0
    """Part of `travel` with neither load known. [m]"""


@dataclass(slots=True, eq=False)
class LineWork:
    """Work since the start of the record: hook load times travel of the block, either way.

    The load is that at the hook, see `engine.ops.sheave_side`. An unknown hook load is replaced
    by the expected one, the block alone in slips; such work is marked.
    """

    config: WellConfig
    state: LineWorkState = field(init=False)

    def __post_init__(self) -> None:
        self.state = LineWorkState(self.config.rig.lines)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``block_position`` [m], ``hook_load``, ``expected_hook_load``, ``tare`` [N],
            ``in_slips`` [-], shape (n,); what is missing is taken as unknown.

        Returns
        -------
        dict
            ``line_work`` [J], shape (n,). NaN until the block position is first known; while it
            is not, the sum stands and is ``HELD``. ``PARTIAL`` where work is estimated, and
            for good once more than 1 % of it is, or 1 % of the travel had no load at all;
            ``OLD_REFERENCE`` from a change of the line count to the next tare.
        """
        s = self.state
        block = pick(table, "block_position")
        t = block.t
        track = Track(s.track)
        raw, _ = track.process(block)
        known = ~np.isnan(raw)
        z = _play(raw, s.z)
        way = z - previous(z, s.z)
        gap = known & (t - previous(hold(t, known, s.at), s.at) > GAP_S)
        load, guess = self._loads(table, way)
        step = np.where(np.isnan(way), 0.0, np.abs(way))
        moved = step > 0.0
        blind = np.isnan(load)
        steps = np.stack((
            step * np.where(blind, 0.0, load),
            step * np.where(blind | ~(guess | gap), 0.0, load),
            step,
            np.where(blind, step, 0.0),
        ))  # fmt: skip
        begin = np.array([[s.done], [s.estimated], [s.travel], [s.uncounted]])
        sums = np.add.accumulate(np.concatenate((begin, steps), axis=1), axis=1)[:, 1:]
        done, estimated, travel, uncounted = sums
        doubt = until_tare(pick(table, "tare"), s.restrung)
        if t.size:
            at = float(hold(t, known, s.at)[-1])
            self.state = LineWorkState(
                s.lines, s.restrung and bool(doubt[-1]), track.state, float(z[-1]), at,
                *(float(x) for x in sums[:, -1]),
            )  # fmt: skip
        ever_known = ~np.isnan(z)
        guessed = moved & (blind | guess | gap)
        for_good = (estimated > PART * done) | (uncounted > PART * travel)
        out = derived(
            t,
            np.where(ever_known, done, NAN),
            (ever_known & ~known, Quality.HELD),
            (ever_known & (guessed | for_good), Quality.PARTIAL),
            (ever_known & doubt, Quality.OLD_REFERENCE),
        )
        why = block.quality & np.uint16(BAD)
        quality = np.where(ever_known, out.quality, why).astype(np.uint16)
        lost = ~ever_known & (quality == 0)
        return {"line_work": Block(t, out.value, mark(quality, lost, Quality.NO_DATA))}

    def _loads(self, table: Table, way: FloatArray) -> tuple[FloatArray, Mask]:
        """Load at the hook [N], NaN if nobody knows, and where it is the expected one, (n,)."""
        rig = self.config.rig
        side = SheaveSide.of(self.state.lines, rig.sheave_efficiency)
        hook = pick(table, "hook_load").usable()
        hook = hook * np.where(way > 0.0, side.up, np.where(way < 0.0, side.down, 1.0))
        slips = pick(table, "in_slips").value
        free = np.where(slips == 0.0, pick(table, "expected_hook_load").usable(), NAN)
        guess = np.isnan(hook)
        return np.where(guess, np.where(slips == 1.0, rig.block_weight, free), hook), guess

    def set_lines(self, lines: int) -> None:
        """Take another count of lines [-]; loads are in doubt until the next tare."""
        s = self.state
        self.state = LineWorkState(
            lines, True, s.track, s.z, s.at, s.done, s.estimated, s.travel, s.uncounted
        )


def _play(z: FloatArray, carry: float) -> FloatArray:
    """Follow `z` [m] like a peg with play in a hole, NaN passed over, shape (n,). [m]

    Each sample clamps what was there into ``z - PLAY`` to ``z + PLAY``. Two clamps in a row are
    one clamp, so all of them are joined in pairs, pairs of pairs and so on, without rounding.
    """
    known = ~np.isnan(z)
    low, high = np.where(known, z - PLAY, -np.inf), np.where(known, z + PLAY, np.inf)
    reach = 1
    while reach < z.size:
        a, b = low[:-reach], high[:-reach]
        c, d = low[reach:], high[reach:]
        low[reach:], high[reach:] = np.clip(a, c, d), np.clip(b, c, d)
        reach *= 2
    if np.isnan(carry) and known.any():
        first = int(np.flatnonzero(known)[0])
        out: FloatArray = np.clip(z[first], low, high)
        out[:first] = NAN
        return out
    out = np.clip(carry, low, high)
    return out
