"""Hook load that is gone while the block rises: the string has parted, or is being lifted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.settings_string_heat import HookLoadLostSettings
from engine.detect.told import Told
from engine.ops.primitives import Past, Trailing, Window
from engine.ops.sheave_side import SheaveSide
from engine.ops.table import pick, times

if TYPE_CHECKING:
    from engine.config import WellConfig

BEFORE_S = 120.0
"""The load before is the median over so long. [s]"""
LEAST = 5
"""Readings it takes. [-]"""
WHOLE = 0.9
"""Share of the largest load in the window above which it was still whole. [-]"""
TWICE_S = 0.45
"""Two readings so far apart must agree. [s]"""
HEAVIER = 0.9
"""Where the well file says what the string weighs, the load must be below this share. [-]"""
BACK_S = 10.0
"""So long must the load be back before the call ends. [s]"""
LONGEST_S = 1800.0
"""What is left after this is the load of the string from then on. [s]"""
GAS_TIMES, LEAST_GAS = 3.0, 0.003
"""Gas has come if it is so many times that of the time before, or of this share. [-]"""
JITTER_S = 0.2
"""A sample may be so late. [s]"""
NEEDS = ("hook_load", "block_position", "in_slips")
REASONS = tuple(f"no {name}" for name in NEEDS)


@dataclass(frozen=True, slots=True)
class Lost:
    """A fall of the load that was called."""

    at: float
    """When. [s since 1970-01-01 UTC]"""
    load: float
    """Before it. [N]"""
    back: float = nan
    """Since when the load is back. [s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class HookLoadLost:
    """Call a fall of the hook load within three seconds while the block goes up.

    The load falls by a fifth and 20 klbf below the median of the two minutes before, and below
    nine tenths of what the well file's string should weigh; in the same three seconds, and since
    the load was last whole, the block has risen by 0.3 m. Two readings in a row make the call, and
    it is critical at once.

    Not taken for it: slips, which take the load of a block that goes down; a block that is braked
    (5 per cent for each 0.5 m/s2); a tight spot that lets go, which falls back to the usual load
    and not below it. A string that parts while the block stands is seen by its pressure, or by
    the next move. It cannot see without hook load, block position or slips.
    """

    kinds: ClassVar[tuple[str, ...]] = ("hook_load_lost",)
    rule: ClassVar[str] = (
        "Hook load falls by a fifth and 20 klbf within 3 s, out of slips, while the block rises by "
        "0.3 m."
    )
    config: WellConfig
    settings: HookLoadLostSettings
    told: Told = field(default_factory=Told)
    near: Past = field(default_factory=Past)
    past: Past = field(default_factory=Past)
    lost: Lost | None = None
    mark: tuple[float, float] = (nan, nan)
    """First and newest of the readings that may become a call. [s since 1970-01-01 UTC]"""
    _side: SheaveSide = field(init=False)

    def __post_init__(self) -> None:
        rig = self.config.rig
        self._side = SheaveSide.of(rig.lines, rig.sheave_efficiency)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on the rows of the block at which something changes."""
        rows, before = seen.rows, self.told.now
        t = times(rows)
        load = pick(rows, "hook_load").usable()
        load = load * self._side.factor(pick(rows, "block_speed").usable())
        position, slips = (pick(rows, name).usable() for name in NEEDS[1:])
        expected, gas = (pick(rows, name).usable() for name in ("expected_hook_load", "gas"))
        near = Trailing(self.settings.within_s + JITTER_S, self.near)
        short = near.process(t, load)
        past = Trailing(BEFORE_S, self.past)
        window = past.process(t, load, position, slips, expected, gas)
        self.near, self.past = near.state, past.state
        low = np.flatnonzero(load < (1 - self.settings.fall) * short.largest())
        i = 0
        while i < t.size:
            if self.lost is not None:
                self._standing(i, float(t[i]), float(load[i]), self.lost)
            elif (k := int(np.searchsorted(low, i))) < low.size:
                i = int(low[k])
                self._suspect(i, window, int(window.end[i]) - 1)
            else:
                break
            i += 1
        sight = np.where(slips == 1.0, NOT_ON_WATCH, 0).astype(np.int8)
        for k, column in ((3, slips), (2, position), (1, load)):
            sight[np.isnan(column)] = k
        return {self.kinds[0]: self.told.verdict(sight, REASONS, before)}

    def _suspect(self, row: int, window: Window, k: int) -> None:
        """Look at a reading that is low, the `k`-th of the window."""
        s, (load, position, slips, expected, gas) = self.settings, window.columns
        t, now = window.t, float(window.t[k])
        a = int(np.searchsorted(t, now - s.within_s - JITTER_S))
        whole = (load[a:k] >= WHOLE * np.nanmax(load[a : k + 1])) & (slips[a:k] == 0.0)
        if not whole.any():
            return
        j = a + int(np.flatnonzero(whole)[-1])
        before = slice(int(np.searchsorted(t, t[j] - BEFORE_S)), j + 1)
        usual = load[before][(slips[before] == 0.0) & ~np.isnan(load[before])]
        rise = float(position[k] - position[j])
        if usual.size < LEAST or not rise >= s.rise:
            return
        free = float(np.median(usual))
        light = isfinite(expected[j]) and load[k] > HEAVIER * expected[j]
        if load[k] > (1 - s.fall) * free or free - load[k] < s.least or light:
            return
        first, newest = self.mark
        fresh = not now - newest <= s.within_s
        self.mark = (now if fresh else first, now)
        if fresh or now - first < TWICE_S:
            return
        self.mark, self.lost = (nan, nan), Lost(now, free)
        words = ["hook load", "block rising"]
        if np.nanmax(gas[j : k + 1], initial=0.0) > GAS_TIMES * max(gas[before][0], LEAST_GAS):
            words.append("gas rising")
        evidence: dict[str, Any] = {
            "volume_m3": None,
            "witnesses": words,
            "hook_load_before_n": number(free),
            "hook_load_n": number(float(load[k])),
            "block_rise_m": number(rise),
            "within_s": number(now - float(t[j])),
        }
        self.told.say(row, Severity.CRITICAL, evidence)

    def _standing(self, row: int, t: float, load: float, lost: Lost) -> None:
        """End the call when the load is back, or has become the usual one."""
        back = nan
        if load >= WHOLE * lost.load:
            back = lost.back if isfinite(lost.back) else t
        self.lost = Lost(lost.at, lost.load, back)
        if t - back >= BACK_S or t - lost.at >= LONGEST_S:
            self.told.say(row, Severity.NONE, self.told.evidence)
            self.lost = None
