"""What the detectors of the standpipe share: sight, evidence, and which cause fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, isfinite, isnan, nan
from typing import Any

from engine.block import Mask
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, SEES, Codes
from engine.detect.influx import number
from engine.detect.settings_standpipe import (
    PackOffSettings,
    PumpFaultSettings,
    TwistOffSettings,
)
from engine.detect.standpipe import NEW_RATE, REASONS, At
from engine.detect.standpipe_reference import USUAL
from engine.detect.standpipe_steps import Step

AGREES = (0.5, 1.7)
"""The returns may fall by 0.5 to 1.7 times what the pressure says of the flow: a lame pump. [-]"""

PLAIN = 0.1
"""Where pressure and hook load fall by so much, the torque need not fall by more: off bottom there
is none of the bit to lose. [-]"""
TURNS = 0.5
"""A string that turns at less than this share of before has been slowed by hand. [-]"""
ENDS_S = 30.0
"""The pressure must be back for so long. [s]"""
NOT_LAME = (False, nan)


def sights(sight: Codes, called: Codes, at_new_rate: bool = False) -> Codes:
    """Return the sight of a detector, shape (m,). [-]

    Parameters
    ----------
    sight : ndarray of int8
        `Standpipe.sight`, shape (m,). [-]
    called : ndarray of int8
        Its severities, shape (m,); one that calls is on watch. [-]
    at_new_rate : bool
        Whether it cannot see while the pressure at a new rate is being learnt.
    """
    out = sight.copy()
    if not at_new_rate:
        out[out == NEW_RATE] = SEES
    out[(out == NOT_ON_WATCH) & (called > 0)] = SEES
    return out


def lacks(sight: Codes, lacking: Mask, reason: str) -> tuple[Codes, tuple[str, ...]]:
    """Add one more reason to be blind, where nothing else is."""
    sight[(sight == SEES) & lacking] = len(REASONS) + 1
    return sight, (*REASONS, reason)


def percent(share: float) -> float | None:
    """Return a difference of logarithms, or a share, as a percentage for a journal."""
    return number(round(100 * (exp(share) - 1), 2)) if isfinite(share) else None


def evidence(at: At, *words: str, **numbers: float | None) -> dict[str, Any]:
    """Return what stands behind a call."""
    return {
        "volume_m3": None,
        "witnesses": list(words),
        "pressure_change_percent": percent(at.total),
        "returns_change_percent": number(round(100 * at.returns, 2)),
        "torque_change_percent": number(round(100 * at.torque_share, 2)),
        **numbers,
    }


def returns_down(at: At, least: float) -> bool:
    """Whether clearly less comes back than is pumped by the strokes."""
    return isfinite(at.returns) and at.returns < -max(least, 3 * at.returns_noise)


def lame_pump(at: At, settings: PumpFaultSettings) -> bool:
    """Whether pressure and returns have fallen together, as less flow makes them."""
    if not at.total < -settings.fall or not returns_down(at, settings.returns):
        return False
    missing = exp(at.total / USUAL) - 1
    return AGREES[0] < at.returns / missing < AGREES[1]


@dataclass(slots=True, eq=False)
class Lame:
    """Whether it has been a lame pump for so long that it is believed, once for all who ask."""

    settings: PumpFaultSettings
    since: float = nan
    called: bool = False
    back: float = nan
    _ats: Sequence[At] | None = None
    _out: list[tuple[bool, float]] = field(default_factory=list)

    def process(self, ats: Sequence[At]) -> list[tuple[bool, float]]:
        """Return for each bin whether it is one, and since when."""
        if ats is self._ats:
            return self._out
        out, now, low = [], (self.called, self.since), -self.settings.fall
        for at in ats:
            total = at.total
            if self.called or total < low:
                now = self._next(at), self.since
            elif total == total:  # most bins
                if self.since == self.since:
                    self.since = nan
                now = NOT_LAME
            out.append(now)
        self._ats, self._out = ats, out
        return out

    def _next(self, at: At) -> bool:
        """Go on by one bin; held until the pressure has been back for half a minute."""
        if isnan(at.total):
            return self.called
        if self.called:
            back = at.total > -0.5 * self.settings.fall
            self.back = (self.back if isfinite(self.back) else at.t) if back else nan
            if back and at.t - self.back >= ENDS_S:
                self.called, self.since, self.back = False, nan, nan
        elif not lame_pump(at, self.settings):
            self.since = nan
        else:
            self.since = self.since if isfinite(self.since) else at.t - BIN_S
            self.called = at.t - self.since >= self.settings.for_s
        return self.called


def torque_up(at: At, settings: PackOffSettings) -> bool:
    """Whether the torque is far above usual."""
    return at.torque > settings.torque_times and at.torque_share > settings.torque_least


def parted(step: Step, settings: TwistOffSettings) -> bool:
    """Whether hook load and torque have gone with the pressure; of the last bit torque alone."""
    turns = step.rotary > TURNS  # where it does not, the crew has stopped: no torque is lost
    if 1 - exp(step.size) > settings.at_bit and step.torque < settings.torque and turns:
        return True
    if not (step.size < -settings.pressure and step.hook_load < 1 - settings.hook_load):
        return False
    much = step.size < -PLAIN and step.hook_load < 1 - PLAIN
    return not step.torque >= (1 - PLAIN if much else settings.torque)
