"""Pack-off: the annulus closes, so pressure and torque rise and less comes back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isnan
from typing import Any, ClassVar, NamedTuple

import numpy as np

from engine.detect.bins import BIN_S
from engine.detect.call import Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_standpipe import PackOffSettings
from engine.detect.standpipe import At, Standpipe
from engine.detect.standpipe_call import evidence, lacks, returns_down, sights, torque_up
from engine.detect.standpipe_steps import FORGET_S

ALONE_S = 60.0
ENDS_S = 30.0
"""The pressure must be back for so long. [s]"""
STEADY = 3
"""Bins for which the pressure must be high. [-]"""


class PackState(NamedTuple):
    """What has spoken, and when."""

    high: int = 0
    """Bins in a row. [-]"""
    alone: float = 0.0
    """For so long the pressure has been high by itself. [s]"""
    torque_at: float = -inf
    returns_at: float = -inf
    back: float = 0.0
    severity: int = Severity.NONE
    base: float = 0.0
    """Steps that are old. [-]"""
    press: float = 0.0
    """Rise of the pressure beyond the tolerance. [-]"""

    @property
    def rests(self) -> bool:
        """Nothing has been high for so long that a quiet bin changes nothing but `press`."""
        return self.back >= ENDS_S and not (self.severity or self.high or self.alone or self.base)


@dataclass(slots=True, eq=False)
class PackOff:
    """Call a pack-off by the pressure and one more: torque or returns, within two minutes.

    Warning from a rise of 3 per cent with a second witness, critical from 15 per cent. Pressure
    alone for a minute is advice from 5 per cent, a warning from 15. It looks 10 s after a start
    of the pumps already, with more tolerance: a hole packs off in a connection too. What looks
    like it: a plugged nozzle is a step and leaves torque and returns; hard rock brings torque
    without pressure; losses take returns without pressure; more strokes are expected.

    Blind without pressure or flow-in, without both torque and returns, in the first five minutes
    of pumping and while another mud goes round. A call ends 30 s after the pressure is back.
    """

    kinds: ClassVar[tuple[str, ...]] = ("pack_off",)
    rule: ClassVar[str] = (
        "Standpipe pressure 3 % high at this flow, and within two minutes torque 4 standard "
        "deviations up or returns 5 % down; critical above 15 %."
    )
    settings: PackOffSettings
    standpipe: Standpipe
    state: PackState = field(default_factory=PackState)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        ats = self.standpipe.process(seen)
        told = self._walk(ats)
        severity = np.array([s.severity for s in told], np.int8)
        none = np.isnan(seen.bins["torque"]) & np.isnan(seen.bins["flow_out"])
        sight, reasons = lacks(
            sights(self.standpipe.sight, severity), none & (severity == 0),
            "no torque and no flow_out",
        )  # fmt: skip

        def details(i: int) -> dict[str, Any]:
            at, s = ats[i], told[i]
            words = ["standpipe pressure"]
            words += ["torque"] if at.t - s.torque_at <= self.settings.within_s else []
            words += ["return flow"] if at.t - s.returns_at <= self.settings.within_s else []
            return evidence(at, *words, rise_percent=number(100 * s.press))

        return {"pack_off": Verdict(seen.bins.row, severity, sight, reasons, details)}

    def _walk(self, ats: Sequence[At]) -> list[PackState]:
        """Return the state after each bin."""
        set_, out, s = self.settings, [], self.state
        returns, low = -set_.returns, min(0.5 * set_.pressure, set_.alone)
        rests = s.rests
        for at in ats:
            quiet = rests and at.shift == 0.0 and at.now - at.tolerance < low
            if not quiet or at.returns < returns or torque_up(at, set_):
                s = self._next(s, at)
                rests = s.rests
            out.append(s)
        self.state = s
        return out

    def _next(self, s: PackState, at: At) -> PackState:
        set_ = self.settings
        torque_at = at.t if torque_up(at, set_) else s.torque_at
        returns_at = at.t if returns_down(at, set_.returns) else s.returns_at
        base = s.base
        if at.shift == 0.0 or (not s.severity and at.t - at.step.seen_at > FORGET_S):
            base = max(at.shift, 0.0)  # what comes back after a fall is no rise
        if isnan(at.now):
            return PackState(
                s.high, s.alone, torque_at, returns_at, s.back, s.severity, base, s.press
            )
        press = at.now + at.shift - base - at.tolerance
        high = s.high + 1 if press > set_.pressure else 0
        alone = s.alone + BIN_S if at.now - at.tolerance > set_.alone else 0.0
        back = min(s.back + BIN_S, ENDS_S) if press < 0.5 * set_.pressure else 0.0
        second = at.t - max(torque_at, returns_at) <= set_.within_s
        severity = s.severity
        if high >= STEADY and second:
            severity = max(severity, self._grade(press))
        elif alone >= ALONE_S:
            by_size = Severity.WARNING if press > set_.critical else Severity.ADVICE
            severity = max(severity, by_size)
        if back >= ENDS_S:
            severity = Severity.NONE
        return PackState(high, alone, torque_at, returns_at, back, severity, base, press)

    def _grade(self, press: float) -> int:
        return Severity.CRITICAL if press > self.settings.critical else Severity.WARNING
