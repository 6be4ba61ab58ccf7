"""Is the string in the slips? From the hook load, the block's weight and the string's.

References
----------
.. [1] API RP 9B: with friction in the sheaves the dead line reads some 9 per cent high or low
   while the block moves (10 lines, 0.98 a sheave), so a light string cannot be told from a
   moving empty block.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, Mask, same_length
from engine.ops.primitives import NAN, Delay, DelayState, hold
from engine.units import LBF

ENTER, LEAVE = 0.25, 0.45
"""Share of the string's weight left on the hook: in slips below, out of slips above. [-]"""
FALL_RATE = 0.3
"""Share of the string's weight per second that a set string loses at least. [1/s]"""
FALL_TRAVEL = 0.10
"""A block that sinks no further than this while the load goes, set slips, not weight. [m]"""
STILL = 0.03
"""[m/s]"""
LIGHT = 0.37
"""String to block weight below which the load counts only while the block is still. [-]"""
LIGHTEST = 8 * 1000 * LBF
"""String weight below which noise of 1 klbf hides it: eight times that. [N]"""
SHOW_IN, SHOW_OUT = 3.0, 2.0
"""How long a change must last before it is shown. [s]"""


@dataclass(frozen=True, slots=True)
class Levels:
    """Hook loads that tell in from out of slips, for one string on one block."""

    enter: float
    """[N]"""
    leave: float
    """[N]"""
    weight: float
    """Of the string in mud. [N]"""
    only_still: bool
    """The string is light: trust the load only while the block stands still."""
    known: bool
    """The string is heavy enough to be told from none at all."""

    @classmethod
    def of(cls, block_weight: float, string_weight: float) -> Levels:
        """Work out the levels from the two weights [N]."""
        return cls(
            block_weight + ENTER * string_weight,
            block_weight + LEAVE * string_weight,
            string_weight,
            string_weight < LIGHT * block_weight,
            string_weight >= LIGHTEST,
        )


@dataclass(frozen=True, slots=True)
class Hung:
    """The newest sample with the string plainly on the hook."""

    t: float = NAN
    z: float = NAN
    load: float = NAN


@dataclass(frozen=True, slots=True, eq=False)
class Hoisting:
    """Hook load and block of one stretch of time, all of shape (n,), NaN where unfit."""

    t: FloatArray
    load: FloatArray
    z: FloatArray
    speed: FloatArray

    def __getitem__(self, part: slice) -> Hoisting:
        return Hoisting(self.t[part], self.load[part], self.z[part], self.speed[part])

    def trusted(self, levels: Levels) -> Mask:
        """Samples at which the load may be believed, shape (n,). [-]"""
        if not levels.known:
            return np.zeros(self.t.size, np.bool_)
        if levels.only_still:
            return np.abs(self.speed) < STILL
        return np.ones(self.t.size, np.bool_)


def first_set(part: Hoisting, levels: Levels, hung: Hung) -> tuple[int, Hung]:
    """Find where the string is first in the slips, coming from out of them.

    A string set down on a ledge loses its load too, but slowly and while the block sinks;
    slips take it at once, or with the block standing (or rising) since the load was whole.

    Returns
    -------
    index : int
        In `part`, -1 if there is none. [-]
    hung : Hung
        Newest sample up to there (or to the end) with the string plainly on the hook.
    """
    whole = part.load > levels.leave
    t = hold(part.t, whole, hung.t)
    z = hold(part.z, whole, hung.z)
    load = hold(part.load, whole, hung.load)
    at_once = load - part.load > FALL_RATE * levels.weight * (part.t - t)
    in_place = z - part.z < FALL_TRAVEL
    never_hung = np.isnan(t)
    low = (part.load < levels.enter) & part.trusted(levels)
    found = np.flatnonzero(low & (at_once | in_place | never_hung))
    k = int(found[0]) if found.size else part.t.size - 1
    newest = Hung(float(t[k]), float(z[k]), float(load[k])) if part.t.size else hung
    return (k if found.size else -1), newest


def first_pulled(part: Hoisting, levels: Levels) -> int:
    """Find where the string first hangs on the hook, coming from in slips; -1 if nowhere."""
    found = np.flatnonzero((part.load > levels.leave) & part.trusted(levels))
    return int(found[0]) if found.size else -1


@dataclass(slots=True)
class ShownSlips:
    """The slips as shown: a change must last, and is dated back to its first sample."""

    state: DelayState = field(default_factory=DelayState)
    known_since: float = NAN
    """When slips were first known; the date of the state found then. [s]"""

    def process(self, t: FloatArray, slips: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Delay the slips as found.

        Parameters
        ----------
        t, slips : ndarray
            Times [s]; 1 in, 0 out, NaN unknown [-]; shape (n,).

        Returns
        -------
        shown, since : ndarray
            1 or 0 as shown, NaN while unknown [-]; start of that state [s]; shape (n,).
        """
        same_length("slips", t, slips)
        known = ~np.isnan(slips)
        shown = np.full(t.size, NAN)
        since = np.full(t.size, NAN)
        if not known.any():
            return shown, since
        at, raw = t[known], slips[known] > 0.5
        if np.isnan(self.known_since):
            # The first state found is shown at once: there was none before it to keep.
            self.known_since = float(at[0])
            self.state = DelayState(bool(raw[0]), float(at[0]))
        delay = Delay(SHOW_IN, SHOW_OUT, self.state)
        on, start = delay.process(at, raw)
        self.state = delay.state
        shown[known], since[known] = on, start
        return shown, since
