"""What the return gauge should show, how much more it shows, and how far it can be believed.

The gauge's gain is learnt slowly and never frozen: a gain that stands still while something is
suspected turns the drift of a gauge into an alarm without end. Its noise is learnt from means of
one minute, so that noise which hangs together for ten seconds counts for what it adds up to.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, isfinite, nan, sqrt

from engine.detect.bins import BIN_S
from engine.detect.settings import BalanceSettings
from engine.units import BBL

LEARNS = 60
"""So many bins of steady flow make the first gain: five minutes. [-]"""
BLOCK_S = 60.0
"""Length of the means that noise is taken from. [s]"""
NOISE_S = 3600.0
"""Time constant of the noise. [s]"""
FIRST_NOISE = 0.27 * BBL / 60
"""Of minute means, before anything is learnt: a fair flume. [m3/s]"""
CLIP = 3.0
"""A mean further out than this many times the noise counts as this much. [-]"""

EARLY, PRIOR = 10, 3
"""The first minutes are believed as they are; what was assumed before counts as three. [-]"""


@dataclass(slots=True)
class GaugeState:
    """Gain, noise, and the mean that is being gathered."""

    gain: float = nan
    seen: int = 0
    """Bins the gain was learnt from. [-]"""
    noise: float = FIRST_NOISE
    """Standard deviation of means of a minute. [m3/s]"""
    blocks: int = 0
    """Minutes the noise was learnt from. [-]"""
    total: float = 0.0
    count: int = 0


@dataclass(slots=True, eq=False)
class ReturnGauge:
    """Follows the gauge from bin to bin."""

    settings: BalanceSettings
    state: GaugeState = field(default_factory=GaugeState)

    def step(self, dt: float, out: float, model: float, steady: bool) -> tuple[float, float]:
        """Go on by one bin.

        Parameters
        ----------
        dt : float
            Length of the bin. [s]
        out, model : float
            Flow by the gauge and by the model of the flow line. [m3/s]
        steady : bool
            The flow has settled: gain and noise may be learnt.

        Returns
        -------
        expected, excess : float
            What the gauge should show, and how much more than expected comes out; NaN while
            there is no reading or no gain yet. [m3/s]
        """
        s = self.state
        if not isfinite(out):
            return nan, nan
        if steady and model > 0:
            self._learn(dt, out / model)
        if s.seen < LEARNS:
            return nan, nan
        excess = out / s.gain - model
        if steady:
            self._noise(excess)
        return s.gain * model, excess

    def _learn(self, dt: float, ratio: float) -> None:
        s, set_ = self.state, self.settings
        if s.seen < LEARNS:
            if not 0.5 < ratio < 2.0:
                return  # no gauge of flow out is so far off; nothing is learnt from it
            s.seen += 1
            s.gain = ratio if s.seen == 1 else s.gain + (ratio - s.gain) / s.seen
            return
        step, slew = (1 - exp(-dt / set_.gain_s)) * (ratio - s.gain), set_.gain_slew * dt
        s.gain += -slew if step < -slew else slew if step > slew else step

    def _noise(self, excess: float) -> None:
        s = self.state
        s.total += excess
        s.count += 1
        if s.count * BIN_S < BLOCK_S:
            return
        mean = abs(s.total / s.count)
        if s.blocks > EARLY:
            mean = min(mean, CLIP * s.noise)
        s.blocks += 1
        weight = max(1 - exp(-BLOCK_S / NOISE_S), 1 / (s.blocks + PRIOR))
        s.noise = max(sqrt(s.noise**2 + weight * (mean**2 - s.noise**2)), 0.1 * FIRST_NOISE)
        s.total, s.count = 0.0, 0
