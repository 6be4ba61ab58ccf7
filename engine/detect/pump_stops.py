"""Each stop of the pumps: what came back since, and what the flow line must have held."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, isfinite, nan

from engine.detect.bins import BIN_S

TEACHES_S = 120.0
"""After so long without pumps the flow line has run empty and tells what it held. [s]"""
FAST_S = 20.0
"""Time constant of the levels before and at the end of a stop. [s]"""
_WEIGHT = 1 - exp(-BIN_S / FAST_S)


@dataclass(slots=True)
class PumpStops:
    """Follows the sum of the tanks from one start of the pumps to the next."""

    level: float = nan
    """Volume while pumping, filtered. [m3]"""
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
                self.off_level = _towards(self.off_level, volume)
            return taught
        if t - self.off_at > TEACHES_S and isfinite(self.off_from):
            taught = (self.off_level - self.off_from) / self.off_flow
        self.off_at = self.off_level = nan
        if isfinite(volume):
            self.level = _towards(self.level, volume)
        if steady:
            self.off_from, self.off_flow = self.level, flow
        return taught


def _towards(old: float, new: float) -> float:
    return new if not isfinite(old) else old + _WEIGHT * (new - old)
