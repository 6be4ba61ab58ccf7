r"""What the standpipe should read at this flow, learnt while pumping steadily.

.. math:: x = \ln p - \ln p_{expected} - c\,\ln q \qquad r = x - x_0

with the expected pressure of the hydraulics; without one it is :math:`q^{1.8}`. The level x_0
follows slowly, c is learnt when the rate changes: the exponent of the flow is 1.6 to 2.0.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite, log, nan, sqrt
from statistics import median

from engine.detect.cusum import correlated_limit
from engine.detect.settings_standpipe import StandpipeSettings

BLOCK_S = 30.0
"""Thirty times the time constant of the noise of a pressure gauge: blocks are all but
independent. [s]"""
BLOCKS_PER_TOUR = 43200.0 / BLOCK_S
USUAL = 1.8
"""Exponent of the flow where nothing else is known. [-]"""
FREE = 0.2
"""The exponent stays within this of it, or of the model's. [-]"""
TEACHES = 0.08
"""A change of rate by less tells nothing of the exponent. [-]"""
KNOWN = 0.3
"""Share of its error that is left once two rates have taught the exponent. [-]"""
CLIP = 4.0
"""A block further out than this many times the noise counts as this much. [-]"""
NOISE_BLOCKS = 60.0
"""Memory of noise and correlation: half an hour. [-]"""
FAR = 0.03
"""What is so far off is not learnt: something has happened. [-]"""
STAYS = 120
"""Unless it stays for so many blocks: an hour, and it is the usual. [-]"""
OFF_BOTTOM = (-0.3, 0.01)
"""A motor off bottom takes up to a quarter less pressure, never more. [-]"""


@dataclass(slots=True)
class ReferenceState:
    """All that is carried from block to block."""

    level: float = nan
    first: tuple[float, ...] = ()
    """Blocks that the first level is made of. [-]"""
    drilling: bool = True
    """Whether the level was learnt on bottom."""
    blocks: int = 0
    exponent: float = 0.0
    """What was learnt of it, added to the model's. [-]"""
    taught: bool = False
    rate: float = nan
    """Logarithm of the flow that the level belongs to."""
    pumps: int = -1
    """Which pumps ran, a bit each. [-]"""
    tolerance: float = 0.0
    """By how much the level may be off at this rate. [-]"""
    again: tuple[float, ...] = ()
    """Blocks at a new rate. [-]"""
    new_rate: float = nan
    new_pumps: int = -1
    off: float = 0.0
    """Off bottom, less than on bottom. [-]"""
    off_blocks: int = 0
    noise: float = nan
    noise_blocks: int = 0
    covariance: float = 0.0
    last: float = nan
    far: int = 0
    """Blocks in a row that were far off. [-]"""
    model: bool = False


@dataclass(slots=True, eq=False)
class Reference:
    """Level, exponent and noise of one mud, one string and one set of pumps."""

    settings: StandpipeSettings
    state: ReferenceState = field(default_factory=ReferenceState)

    def __post_init__(self) -> None:
        self.state.noise = self.settings.noise_first

    @property
    def learnt(self) -> bool:
        """Whether there is a level."""
        return isfinite(self.state.level)

    @property
    def at_new_rate(self) -> bool:
        """Whether the level at this rate is still being learnt."""
        return self.state.tolerance > 0.0

    @property
    def correlation(self) -> float:
        """Of neighbouring blocks, from 0 to 0.6. [-]"""
        return min(max(self.state.covariance / self.state.noise**2, 0.0), 0.6)

    @property
    def unsure(self) -> float:
        """Standard error of the level, in standard deviations of a block. [-]"""
        return 1 / sqrt(max(self.state.blocks, 1))

    def limit(self, false_alarms: float, k: float) -> float:
        """Return the limit of a sum that gives so many false alarms in 12 h. [-]"""
        return correlated_limit(BLOCKS_PER_TOUR / false_alarms, k, self.correlation)

    def residual(self, bare: float, rate: float, model: bool, on_bottom: bool) -> float:
        """Return r at this moment, from the bare x while nothing is learnt. [-]

        Parameters
        ----------
        bare : float
            Logarithm of the pressure less that of the expected one, or less `USUAL` times `rate`.
        rate : float
            Logarithm of the flow.
        model : bool
            Whether there is an expected pressure.
        on_bottom : bool
        """
        s = self.state
        if model != s.model:
            self.forget()
            s = self.state
            s.model = model
        r = bare - s.exponent * rate - (s.level if isfinite(s.level) else 0.0)
        return r if on_bottom or not s.drilling else r - s.off

    def forget(self) -> None:
        """Begin anew: another mud or another string. The noise of the gauge is kept."""
        old = self.state
        self.state = ReferenceState(
            noise=old.noise, model=old.model, rate=old.rate, pumps=old.pumps
        )

    def begins(self, flow: float, pumps: int) -> None:
        """The flow has become steady: find out whether it is the rate of before."""
        s, set_ = self.state, self.settings
        if not self.learnt:
            s.first, s.rate, s.pumps = (), log(flow), pumps
            return
        change = abs(log(flow) - s.rate)
        other = pumps != s.pumps
        if change <= set_.rate_change and not other:
            s.tolerance, s.again = 0.0, ()
            return
        if self.at_new_rate and abs(log(flow) - s.new_rate) <= set_.rate_change:
            return
        s.tolerance = max(self._error() * change, 1e-6) + (set_.pumps_error if other else 0.0)
        s.again, s.new_rate, s.new_pumps = (), log(flow), pumps

    def block(self, mean: float, flow: float, on_bottom: bool, quiet: bool, calm: bool) -> float:
        """Take the mean residual of a block in; return it in standard deviations, NaN if not due.

        Nothing is learnt of a block that is not `quiet`, and no noise of one that is not `calm`:
        a fall that begins is no noise.
        """
        s, set_ = self.state, self.settings
        if not self.learnt:
            s.first = (*s.first, mean) if on_bottom == s.drilling else (mean,)
            s.drilling = on_bottom
            if len(s.first) >= set_.learn_blocks:
                self._first()
            return nan
        if on_bottom and not s.drilling:
            self.forget()  # a motor takes more on bottom: only drilling makes a lasting level
            return nan
        if abs(log(flow) - s.rate) > set_.rate_change:
            self.begins(flow, s.new_pumps if self.at_new_rate else s.pumps)
        if self.at_new_rate:
            if quiet:
                s.again = (*s.again, mean)
            if len(s.again) >= set_.learn_blocks:
                self._new_rate()
            return nan
        if not on_bottom and s.drilling and s.off_blocks < set_.learn_blocks:
            if quiet and OFF_BOTTOM[0] < mean + s.off < OFF_BOTTOM[1]:
                s.off_blocks += 1
                s.off += mean / s.off_blocks
            return nan
        z = min(max(mean / s.noise, -CLIP), CLIP)
        s.far = s.far + 1 if quiet and abs(mean) > FAR else 0
        if s.far >= STAYS:
            s.level, s.far = s.level + mean, 0
        elif quiet and not s.far:
            self._learn(z, on_bottom)
            if calm:
                self._noise(z)
        return z

    def _error(self) -> float:
        return self.settings.exponent_error * (KNOWN if self.state.taught else 1.0)

    def _first(self) -> None:
        s = self.state
        s.level = trimmed(s.first)
        spread = 1.4826 * median([abs(x - s.level) for x in s.first])
        s.noise = max(sqrt(0.5 * (s.noise**2 + spread**2)), self.settings.noise_floor)
        s.blocks, s.first = len(s.first), ()

    def _new_rate(self) -> None:
        s = self.state
        mean = trimmed(s.again)
        shift = min(max(mean, -s.tolerance), s.tolerance)
        change = s.new_rate - s.rate
        if abs(change) > TEACHES and s.new_pumps == s.pumps:
            old = s.exponent
            s.exponent = min(max(old + shift / change, -FREE), FREE)
            # The level is that of the old rate: it stays as it was there.
            s.level -= (s.exponent - old) * s.rate
            s.taught = True
            shift -= (s.exponent - old) * change
        s.level += shift
        s.rate, s.pumps, s.blocks = s.new_rate, s.new_pumps, len(s.again)
        s.tolerance, s.again = 0.0, ()

    def _learn(self, z: float, on_bottom: bool) -> None:
        s, set_ = self.state, self.settings
        s.blocks += 1
        weight = max(BLOCK_S / set_.reference_s, 1 / s.blocks)
        if on_bottom or not s.drilling:
            s.level += weight * s.noise * z
        else:
            s.off += weight * s.noise * z

    def _noise(self, z: float) -> None:
        s = self.state
        s.noise_blocks += 1
        memory = max(1 / NOISE_BLOCKS, 1 / (s.noise_blocks + self.settings.learn_blocks))
        out = min(max(z, -3.0), 3.0) * s.noise
        if isfinite(s.last):
            s.covariance += memory * (out * s.last - s.covariance)
        s.last = out
        s.noise = max(sqrt(s.noise**2 + memory * (out**2 - s.noise**2)), self.settings.noise_floor)


def trimmed(x: tuple[float, ...]) -> float:
    """Mean without the fifth that is lowest and the fifth that is highest."""
    rest = sorted(x)[len(x) // 5 : len(x) - len(x) // 5]
    return sum(rest) / len(rest)
