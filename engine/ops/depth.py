"""Bit depth by the block: it moves with the block out of slips and stands still in them.

Driller's depth: the length of the string as run, without stretch.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import FloatArray, Mask, same_length
from engine.ops.by_tally import ByTally
from engine.ops.primitives import NAN, hold
from engine.ops.slips import Hoisting, Hung, Levels, first_pulled, first_set
from engine.ops.standing import TAIL, set_at, stood

BRIEF = 1.5
"""Slips are never in, or out, for less: a wild hook load, taken back. [s]"""
ALONE = 15.0
"""A change that lasts one sample only counts if that sample stands for longer. [s]"""
GAP, UNSEEN_TRAVEL = 30.0, 2.0
"""Without data so long [s], a block that moved so far [m] may have changed a stand unseen."""
TALLY = 0.20
"""A stand measured that near to its length by tally has that length. [m]"""
AHEAD = 512
"""Samples searched at once for the next change of the slips, then twice as many. [-]"""


@dataclass(frozen=True, slots=True)
class Anchor:
    """From where depth is counted since the slips last changed."""

    slips: bool | None
    """None: not known yet."""
    bit: float
    """Depth at the anchor, in slips the depth itself. [m]"""
    z: float
    """Block at the anchor. NaN: the next good position. [m]"""
    since: float = NAN
    """[s since 1970-01-01 UTC]"""
    stands: int = 0
    """Made up less broken out. [-]"""
    stand: float = NAN
    """Length of the newest one, measured. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class DepthState:
    """All that depth carries from block to block."""

    anchor: Anchor | None = None
    undo: Anchor | None = None
    """The anchor before, should the newest change prove to be a wild sample."""
    rows: int = 0
    """Samples since the newest change of the slips. [-]"""
    hung: Hung = field(default_factory=Hung)
    tail: Hoisting = field(
        default_factory=lambda: Hoisting(np.empty(0), np.empty(0), np.empty(0), np.empty(0))
    )
    heard: float = NAN
    """Newest sample with a load. [s]"""
    seen: float = NAN
    """Block position at the newest sample with both. [m]"""
    silent: int = 0
    """Gaps of the load since then. [-]"""
    doubt: bool = False
    """A stand may have been changed unseen since the depth was last given."""


@dataclass(frozen=True, slots=True, eq=False)
class Depths:
    """What `Depth` gives, all of shape (n,)."""

    slips: FloatArray
    """1 in, 0 out, NaN unknown; as the load shows it at once. [-]"""
    trusted: Mask
    """The load could tell at this sample. [-]"""
    bit: FloatArray
    """NaN while there is no reference or no block position. [m]"""
    reach: FloatArray
    """Bit depth with the block at the floor: changes only when pipe is added. [m]"""
    stands: FloatArray
    stand: FloatArray
    """[m]"""
    doubt: Mask


@dataclass(slots=True, eq=False)
class Depth:
    """Slips and bit depth together: each needs the other only when the slips change.

    Between two changes the load levels are constant, because the string's weight is taken at
    the depth of the change before. So the next change is found by one vectorised search, and
    the only loop is over changes.
    """

    block_weight: float
    """[N]"""
    weigh: Callable[[float], float]
    """Weight of the string in mud at a bit depth. [m] to [N]"""
    stand_length: float
    """Nominal. [m]"""
    first_bit: float = NAN
    """Depth from the well file; NaN: the first reported one. [m]"""
    tally: ByTally = field(default_factory=ByTally)
    state: DepthState = field(default_factory=DepthState)

    def process(self, motion: Hoisting, reported: FloatArray, reset: Mask) -> Depths:
        """Work out slips and bit depth.

        Parameters
        ----------
        motion : Hoisting
            Hook load, block position and speed; NaN where unfit, shape (n,).
        reported : ndarray
            Bit depth as sent; used once, when there is no other. NaN where unfit. [m]
        reset : ndarray of bool
            The encoder was reset at this sample: from here on the depth is in doubt.

        Raises
        ------
        InputError
            If the inputs differ in length.
        """
        same_length("depth", motion.t, reported, reset)
        n = motion.t.size
        out = Depths(
            np.full(n, NAN),
            np.zeros(n, np.bool_),
            np.full(n, NAN),
            np.full(n, NAN),
            np.full(n, NAN),
            np.full(n, NAN),
            self._doubts(motion, reset),
        )
        i = self._begin(motion, reported)
        joined, k = self._joined(motion)
        while i < n and self.state.anchor is not None:
            i = self._segment(motion, joined, k, i, out)
        if n:
            tail = joined[max(0, joined.t.size - TAIL) :]
            tail = Hoisting(*(a.copy() for a in (tail.t, tail.load, tail.z, tail.speed)))
            self.state = replace(self.state, tail=tail)
        return out

    def set(self, bit: float) -> None:
        """Count from `bit` [m] from the next sample on; a doubt is settled by it."""
        s = self.state
        z = s.tail.z[~np.isnan(s.tail.z)]
        old = s.anchor or Anchor(None, NAN, NAN)
        at = old.z if old.slips else (float(z[-1]) if z.size else NAN)
        self.state = replace(s, anchor=replace(old, bit=bit, z=at), undo=None, doubt=False)

    def _begin(self, motion: Hoisting, reported: FloatArray) -> int:
        """Find the first sample with a depth to count from; return where to go on."""
        if self.state.anchor is not None:
            return 0
        known = ~np.isnan(reported) if np.isnan(self.first_bit) else ~np.isnan(motion.z)
        found = np.flatnonzero(known & ~np.isnan(motion.z))
        if not found.size:
            return int(motion.t.size)
        i = int(found[0])
        bit = float(reported[i]) if np.isnan(self.first_bit) else self.first_bit
        anchor = Anchor(None, bit, float(motion.z[i]), float(motion.t[i]))
        self.state = replace(self.state, anchor=anchor)
        return i

    def _joined(self, motion: Hoisting) -> tuple[Hoisting, int]:
        old = self.state.tail
        pairs = zip(
            (old.t, old.load, old.z, old.speed),
            (motion.t, motion.load, motion.z, motion.speed),
            strict=True,
        )
        return Hoisting(*(np.concatenate(pair) for pair in pairs)), old.t.size

    def _segment(self, motion: Hoisting, joined: Hoisting, k: int, i: int, out: Depths) -> int:
        """Fill the samples from `i` to the next change of the slips; return where it is."""
        s, end = self.state, motion.t.size
        anchor = s.anchor
        assert anchor is not None
        if np.isnan(anchor.z):
            if np.isnan(motion.z[i]):
                good = np.flatnonzero(~np.isnan(motion.z[i:]))
                end = i + int(good[0]) if good.size else end
            else:
                anchor = replace(anchor, z=float(motion.z[i]))
                s = replace(s, anchor=anchor)
        levels = Levels.of(self.block_weight, self.weigh(anchor.bit))
        j, hung = _next_change(motion[:end], i, levels, anchor.slips, s.hung)
        stop = end if j < 0 else j
        part = slice(i, stop)
        known = anchor.slips is not None and levels.known
        out.slips[part] = float(bool(anchor.slips)) if known else NAN
        out.trusted[part] = motion[part].trusted(levels)
        out.bit[part] = anchor.bit if anchor.slips else anchor.bit + (anchor.z - motion.z[part])
        out.reach[part] = anchor.bit + anchor.z
        out.stands[part] = anchor.stands
        out.stand[part] = anchor.stand
        self.state = replace(s, hung=hung, rows=s.rows + stop - i)
        if j >= 0:
            past = joined.z[max(0, k + j - TAIL) : k + j]
            last = past[~np.isnan(past)][-1:]
            self._change(motion, joined, k, j, levels)
            if abs(float((motion.z[j] - last).sum())) > UNSEEN_TRAVEL:
                # At two metres between two samples nobody knows where the slips took hold.
                out.doubt[j:] = True
                self.state = replace(self.state, doubt=True)
        return stop

    def _change(self, motion: Hoisting, joined: Hoisting, k: int, j: int, levels: Levels) -> None:
        """Take the change of the slips at sample `j` of the block."""
        s, t = self.state, float(motion.t[j])
        old = s.anchor
        assert old is not None
        lasted = t - old.since
        if s.undo is not None and (lasted < BRIEF or (s.rows == 1 and lasted < ALONE)):
            self.state = replace(s, anchor=s.undo, undo=None, rows=0)
            return
        past = joined[max(0, k + j - TAIL) : k + j]  # no more than the next block would have
        if old.slips is None:
            hangs = bool(motion.load[j] > levels.leave)
            new = replace(old, slips=not hangs, since=t)
            if not hangs:
                new = replace(new, z=stood(joined[: k + j + 1], np.ones(k + j + 1, np.bool_)))
        elif old.slips:
            z = stood(past, past.load < levels.enter)
            new = self._pulled(old, old.z if np.isnan(z) else z, t)
        else:
            z = set_at(past, past.load > levels.leave, t, float(motion.z[j]), s.hung.z)
            bit = old.bit if np.isnan(old.z - z) else old.bit + (old.z - z)
            new = replace(old, slips=True, bit=bit, z=z, since=t)
        undo = None if old.slips is None else old
        self.state = replace(s, anchor=new, undo=undo, rows=0)

    def _pulled(self, old: Anchor, z: float, t: float) -> Anchor:
        """Out of slips at block position `z` [m]: was a stand made up, or broken out?"""
        travel = z - old.z
        length = self.tally(old.bit, travel)
        if abs(length - abs(travel)) <= TALLY:
            z = old.z + float(np.copysign(length, travel))
        if abs(travel) <= 0.5 * self.stand_length:
            return replace(old, slips=False, z=z, since=t)
        stands = old.stands + (1 if travel > 0 else -1)
        return Anchor(False, old.bit, z, t, stands, abs(z - old.z))

    def _doubts(self, motion: Hoisting, reset: Mask) -> Mask:
        """Whether a stand may have been changed, or the encoder reset, unseen, shape (n,)."""
        s = self.state
        known = ~np.isnan(motion.load)
        t = motion.t[known]
        silent = np.zeros(motion.t.size, np.intp)
        silent[known] = np.diff(t, prepend=s.heard) > GAP
        gaps = s.silent + np.cumsum(silent)
        fit = known & ~np.isnan(motion.z)
        z = motion.z[fit]
        doubt = reset.copy()
        doubt[fit] |= (np.diff(gaps[fit], prepend=0) > 0) & (
            np.abs(np.diff(z, prepend=s.seen)) > UNSEEN_TRAVEL
        )
        out: Mask = hold(doubt, doubt, s.doubt)
        if out.size:
            left = int(gaps[-1]) - (int(gaps[fit][-1]) if z.size else 0)
            self.state = replace(
                s,
                doubt=bool(out[-1]),
                heard=float(t[-1]) if t.size else s.heard,
                seen=float(z[-1]) if z.size else s.seen,
                silent=left,
            )
        return out


def _next_change(
    motion: Hoisting, i: int, levels: Levels, slips: bool | None, hung: Hung
) -> tuple[int, Hung]:
    """Find the next change of the slips at or after `i`; -1 if there is none."""
    n, size = motion.t.size, AHEAD
    while i < n:
        part = motion[i : min(i + size, n)]
        if slips:
            j, newest = first_pulled(part, levels), hung
        else:
            j, newest = first_set(part, levels, hung)
            j = _first_clear(part, levels) if slips is None else j
        if j >= 0:
            return i + j, newest
        hung, i, size = newest, i + size, size * 2
    return -1, hung


def _first_clear(part: Hoisting, levels: Levels) -> int:
    """Find where the load first tells in from out of slips, with nothing known before."""
    clear = (part.load < levels.enter) | (part.load > levels.leave)
    found = np.flatnonzero(clear & part.trusted(levels))
    return int(found[0]) if found.size else -1
