"""Each stop of the pumps: what came back since, and what the flow line must have held."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, isfinite, nan

from engine.detect.bins import BIN_S

TEACHES_S = 120.0
"""After so long without pumps the flow line has run empty and tells what it held. [s]"""
BEFORE_S = 60.0
"""Time constant of the level before a stop, once the pumps have run for so long. [s]"""
END_S = 20.0
"""Time constant of the level at the end of a stop. [s]"""
_BEFORE, _END = 1 - exp(-BIN_S / BEFORE_S), 1 - exp(-BIN_S / END_S)


@dataclass(slots=True)
class PumpStops:
    """Follows the sum of the tanks from one start of the pumps to the next."""

    level: float = nan
    """Mean volume while pumping steadily. [m3]"""
    bins: int = 0
    """That it is the mean of so far. [-]"""
    off_at: float = nan
    """When the pumps stopped. [s]"""
    off_from: float = nan
    """Volume when they stopped. [m3]"""
    off_flow: float = nan
    """Flow before that. [m3/s]"""
    off_level: float = nan
    """Volume at the end of the stop. [m3]"""

    def step(self, t: float, volume: float, flow: float, pumping: bool, steady: bool) -> float:
        """Go on by one bin.

        Parameters
        ----------
        t : float
            [s]
        volume : float
            Of all tanks, without what pipe and declared mud moved; NaN if not known. [m3]
        flow : float
            Into the hole. [m3/s]
        pumping, steady : bool
            Whether it flows, and has settled.

        Returns
        -------
        float
            What the flow line held, as seconds of flow, where the pumps start again after
            long enough; else NaN. [s]
        """
        taught = nan
        if not pumping:
            if not isfinite(self.off_at):
                self.off_at = t
            if isfinite(volume) and t - self.off_at > TEACHES_S:
                self.off_level = _towards(self.off_level, volume, _END)
            return taught
        if t - self.off_at > TEACHES_S and isfinite(self.off_from):
            taught = (self.off_level - self.off_from) / self.off_flow
        self.off_at = self.off_level = nan
        if not steady:
            self.level, self.bins = nan, 0
            return taught
        if isfinite(volume):
            self.bins += 1  # a plain mean at first: the first bin is a wave like any other
            self.level = _towards(self.level, volume, max(1 / self.bins, _BEFORE))
        self.off_from, self.off_flow = self.level, flow
        return taught


def _towards(old: float, new: float, weight: float) -> float:
    return new if not isfinite(old) else old + weight * (new - old)
