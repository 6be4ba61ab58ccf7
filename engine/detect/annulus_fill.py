"""Blind drilling: with no returns, the fill of the annulus is what keeps the well down."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from engine.block import FloatArray
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_volume import FillSettings
from engine.well.pumps import stroke_volume

if TYPE_CHECKING:
    from engine.config_models import Pump

MEAN = 9
"""Bins over which the fall of the trip tank is taken: a refill of it is none. [-]"""
NO_GAUGE = "the fill is not measured: send the rate of the fill pump, or the trip tank"


@dataclass(slots=True)
class Filling:
    """What is carried from bin to bin."""

    tank: deque[float] = field(default_factory=lambda: deque(maxlen=MEAN))
    usual: float = nan
    """Fill while it runs, filtered. [m3/s]"""
    since: float = nan
    """Since when it has stood. [s]"""
    called: bool = False


@dataclass(slots=True, eq=False)
class AnnulusFill:
    """Call a fill of the annulus that stops, where the well file declares blind drilling.

    The fill is what the pumps that are not lined up to the standpipe give, and what the trip tank
    loses. It has stopped when it is below half of the least that the well file asks for, or of its
    own usual, for 45 s. A trip tank that is topped up does not tell for that time. Everywhere else
    there is nothing to watch; with neither gauge the detector is blind and says what it needs.
    """

    kinds: ClassVar[tuple[str, ...]] = ("annulus_fill_stopped",)
    rule: ClassVar[str] = (
        "In blind drilling, the fill of the annulus below half of its usual for 45 s."
    )
    settings: FillSettings
    pumps: Sequence[Pump]
    blind_drilling: bool
    state: Filling = field(default_factory=Filling)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        m = len(bins)
        severity = np.zeros(m, np.int8)
        if not self.blind_drilling:
            sight = np.full(m, NOT_ON_WATCH, np.int8)
            return {self.kinds[0]: Verdict(bins.row, severity, sight)}
        pumped = self._pumped(seen)
        tank, fill, usual = bins["trip_tank_volume"].tolist(), np.full(m, nan), np.full(m, nan)
        for i, t in enumerate(bins.t.tolist()):
            fill[i] = self._bin(t, pumped[i], tank[i])
            severity[i] = Severity.WARNING if self.state.called else Severity.NONE
            usual[i] = self.state.usual
        sight = np.where(np.isnan(fill), 1, 0).astype(np.int8)

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": None,
                "witnesses": ["annulus fill"],
                "fill_m3_s": number(fill[i]),
                "usual_fill_m3_s": number(usual[i]),
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, (NO_GAUGE,), details)}

    def _pumped(self, seen: Seen) -> FloatArray:
        """Return what pumps off the standpipe give, shape (m,); NaN if none tells. [m3/s]"""
        rates = [
            seen.bins[f"pump_{k}_rate"] * stroke_volume(pump)
            for k, pump in enumerate(self.pumps, 1)
            if not pump.lined_up
        ]
        if not rates:
            return np.full(len(seen.bins), nan)
        known = np.logical_or.reduce(~np.isnan(rates), axis=0)
        return np.where(known, np.nansum(rates, axis=0), nan)

    def _bin(self, t: float, pumped: float, tank: float) -> float:
        """Go on by one bin and return the fill; NaN if it is not known. [m3/s]"""
        s, set_ = self.state, self.settings
        fell = nan
        if isfinite(tank):
            s.tank.append(tank)
            if len(s.tank) == MEAN:
                fell = (s.tank[0] - s.tank[-1]) / ((MEAN - 1) * BIN_S)
        else:
            s.tank.clear()
        fill = float(np.nansum([pumped, max(fell, 0.0)]))
        if not (isfinite(pumped) or isfinite(fell)):
            return nan
        least = set_.least if set_.least is not None else s.usual
        runs = fill >= set_.stopped * least if isfinite(least) else fill > set_.none
        topped = fell < -set_.none and not isfinite(pumped)
        if runs:
            s.since, s.called = nan, False
            s.usual = fill if not isfinite(s.usual) else s.usual + 0.01 * (fill - s.usual)
        elif topped:
            s.since = nan
        elif isfinite(least):
            s.since = s.since if isfinite(s.since) else t - BIN_S
            s.called = s.called or t - s.since >= set_.stopped_s
        return fill
