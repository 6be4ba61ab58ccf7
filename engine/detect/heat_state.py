"""How warm the returns are against their own past, and what of it a stop of the pumps explains."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque
from dataclasses import dataclass, field
from math import exp, inf, isfinite, nan

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.settings_string_heat import TemperatureSettings
from engine.detect.smoothing import smoothed
from engine.ops.primitives import hold, previous

EARLY = 60
"""So many bins make the first usual difference: five minutes. [-]"""
FLOW_S = 30.0
"""Returns are taken over so long. [s]"""
FLOW_WEIGHT = 1 - exp(-BIN_S / FLOW_S)
RISES_S = 900.0
"""A rise is a witness for so long. [s]"""


@dataclass(frozen=True, slots=True, eq=False)
class Heat:
    """What the bins of a block tell, shape (m,) each."""

    rise: FloatArray
    """Above the coldest of the last minutes; NaN: not to be judged. [K]"""
    excess: FloatArray
    """Out less in, above what is usual; NaN: not to be judged. [K]"""
    masked: Mask
    """What stood still is not up yet."""
    pumped: FloatArray
    """Since the last long stop, in annulus volumes; NaN: not known. [-]"""
    kick: Mask
    """The temperature rose within the last quarter of an hour, returns were lost within the time
    in which all belongs together, and surge now."""


@dataclass(slots=True)
class HeatState:
    """Walks from bin to bin."""

    settings: TemperatureSettings
    past: deque[tuple[float, float]] = field(default_factory=deque)
    """Time [s] and temperature out [K] while the pumps have run without a stop."""
    coldest: list[float] = field(default_factory=list)
    """The same temperatures, in their order. [K]"""
    off_since: float = nan
    on_since: float = -inf
    strokes: float = -inf
    """Counter when the pumps started after the last long stop. [-]"""
    masked: bool = False
    usual: float = nan
    """Out less in. [K]"""
    seen: int = 0
    share: float = nan
    """Returns above flow-in as a share of it, smoothed. [-]"""
    lost_at: float = -inf
    rose_at: float = -inf
    surged: bool = False
    """There was a surge in the newest bin."""

    def process(
        self, t: FloatArray, pumping: Mask, out: FloatArray, inn: FloatArray, strokes: FloatArray,
        lag: FloatArray, share: FloatArray,
    ) -> Heat:  # fmt: skip
        """Go on by the bins of a block.

        Parameters
        ----------
        t, pumping, out, inn, strokes, lag, share : ndarray
            End of the bin [s], whether the pumps run, temperatures out and in [K], counted strokes
            and those of the lag [-], returns above flow-in as a share of it [-]; shape (m,) each.
        """
        runs, s = pumping.tolist(), self.settings
        masked, settled, pumped = self._stops(t.tolist(), runs, strokes.tolist(), lag.tolist())
        counts = pumping & np.array(settled, np.bool_) & ~np.array(masked, np.bool_)
        rise = np.array(self._rises(t, pumping, counts & np.isfinite(out), out))
        excess = np.array(self._excesses(counts & np.isfinite(out - inn), out - inn))
        rose_at = hold(t, rise >= s.rise, self.rose_at)
        smooth = np.array(smoothed(share.tolist(), runs, FLOW_WEIGHT, self.share))
        lost_at = hold(t, smooth < -s.losses, self.lost_at)
        surge = (smooth > s.surge) & (t - lost_at <= s.together_s)
        kick = surge & previous(surge, self.surged) & (t - rose_at <= RISES_S)
        if t.size:
            self.share, self.surged = float(smooth[-1]), bool(surge[-1])
            self.rose_at, self.lost_at = float(rose_at[-1]), float(lost_at[-1])
        return Heat(rise, excess, np.array(masked, np.bool_), np.array(pumped), kick)

    def _stops(
        self, t: list[float], pumping: list[bool], strokes: list[float], lag: list[float]
    ) -> tuple[list[bool], list[bool], list[float]]:
        """Return whether a long stop masks each bin, whether it is settled, and what is pumped."""
        set_ = self.settings
        masks, settled, pumped = [], [False] * len(t), [nan] * len(t)
        for i, (now, runs) in enumerate(zip(t, pumping, strict=True)):
            if not runs:
                self.off_since = self.off_since if isfinite(self.off_since) else now
                masks.append(self.masked)
                continue
            if isfinite(self.off_since):
                if now - self.off_since >= set_.stop_s:
                    self.masked, self.strokes = True, strokes[i]
                self.off_since, self.on_since = nan, now
            done = (strokes[i] - self.strokes) / lag[i] if lag[i] > 0 else nan
            if self.masked:
                if not isfinite(self.strokes):
                    self.strokes = strokes[i]  # the counter was not known when they started
                if done >= set_.annuli:
                    self.masked = False
            pumped[i], settled[i] = done, now - self.on_since >= set_.settle_s
            masks.append(self.masked)
        return masks, settled, pumped

    def _rises(self, t: FloatArray, pumping: Mask, counts: Mask, out: FloatArray) -> list[float]:
        """Return how far out is above the coldest of the last minutes, NaN if not to be judged."""
        rises, past, coldest = [nan] * t.size, self.past, self.coldest
        reach = self.settings.rise_s
        at = np.flatnonzero(counts | ~pumping)
        rows = zip(at.tolist(), counts[at].tolist(), t[at].tolist(), out[at].tolist(), strict=True)
        for i, counts_, now, x in rows:
            if not counts_:  # a stop
                past.clear()
                coldest.clear()
                continue
            past.append((now, x))
            insort(coldest, x)
            while past[0][0] < now - reach:
                del coldest[bisect_left(coldest, past.popleft()[1])]
            # The third coldest: one wild reading is no past.
            rises[i] = x - coldest[2 if len(past) > 6 else 0]
        return rises

    def _excesses(self, counts: Mask, difference: FloatArray) -> list[float]:
        """Return how far the difference is above its usual, NaN if not to be judged."""
        excesses, usual, seen = [nan] * difference.size, self.usual, self.seen
        weight = 1 - exp(-BIN_S / self.settings.usual_s)
        at = np.flatnonzero(counts)
        for i, x in zip(at.tolist(), difference[at].tolist(), strict=True):
            if seen >= EARLY:
                excesses[i] = excess = x - usual
                usual += weight * excess
            else:
                seen += 1
                usual = x if seen == 1 else usual + (x - usual) / seen
        self.usual, self.seen = usual, seen
        return excesses
