"""Nozzles: a step of the pressure, up if one plugs, down if one is lost, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, isfinite
from typing import Any, ClassVar

import numpy as np

from engine.detect.call import Codes, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_standpipe import (
    NozzleSettings,
    PackOffSettings,
    PumpFaultSettings,
    TwistOffSettings,
)
from engine.detect.standpipe import REASONS, At, Standpipe
from engine.detect.standpipe_call import (
    evidence,
    parted,
    percent,
    returns_down,
    sights,
    torque_up,
)
from engine.detect.standpipe_reference import USUAL
from engine.detect.standpipe_steps import NEVER, Step

RETURNS_S = 75.0
"""So long after a fall the returns have come down by more than half if it is the pump: 8 s of way,
25 s of flow line, and a mean of a minute. [s]"""


FLAT_S = 10.0
"""So much longer must a slight rise lie flat. [s]"""


@dataclass(frozen=True, slots=True)
class Standing:
    """A step that is called."""

    step: Step = NEVER
    severity: int = 0


@dataclass(slots=True, eq=False)
class Nozzles:
    """Call a step of 5 per cent, down or up, that then lies flat.

    What looks like a lost nozzle: a washout grows; a parted string takes hook load and torque with
    it; a lame pump takes the returns with it, but half a minute later, so a fall as large as that
    of a dead cylinder is advice until the returns have had a minute to show. A smaller one is a
    warning at once, and ends if they show a pump or a loss after all. What looks like a plugged
    one: a pack-off grows, and brings torque or takes returns; then the call goes over to it. One
    that begins may look like a step, so a rise of less than 8 per cent is advice until it has lain
    flat for 10 s more. A step while the pumps stand or change cannot be seen as one: a fall is then
    called as a washout, a rise as a pack-off.

    Blind without pressure or flow-in, for the first five minutes, and while another mud goes
    round. A call stands until the pressure is back, or the bit has been out of the hole.
    """

    kinds: ClassVar[tuple[str, ...]] = ("nozzle_lost", "nozzle_plugged")
    rule: ClassVar[str] = (
        "Standpipe pressure steps down (lost) or up (plugged) by 5 % in under 30 s at the "
        "same flow and lies flat; hook load, torque and returns unchanged."
    )
    settings: NozzleSettings
    pump: PumpFaultSettings
    pack: PackOffSettings
    twist: TwistOffSettings
    standpipe: Standpipe
    lost: Standing = field(default_factory=Standing)
    plugged: Standing = field(default_factory=Standing)
    judged: Step = NEVER

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        ats = self.standpipe.process(seen)
        lost, plugged = [], []
        for at in ats:
            if at.step is not self.judged:
                self._judge(at)
            if self.lost.severity:
                self._keep_lost(at)
            if self.plugged.severity:
                self._keep_plugged(at)
            lost.append(self.lost)
            plugged.append(self.plugged)
        sight = self.standpipe.sight
        return {
            "nozzle_lost": _verdict(seen, ats, sight, lost),
            "nozzle_plugged": _verdict(seen, ats, sight, plugged),
        }

    def _judge(self, at: At) -> None:
        step, before, self.judged = at.step, self.judged, at.step
        if step.seen_at == before.seen_at:
            return
        if step.size > self.settings.slight and not self._packs(at):
            sure = step.size > self.settings.plugged
            self.plugged = Standing(step, Severity.WARNING if sure else Severity.ADVICE)
        elif step.size < -self.settings.lost and not parted(step, self.twist):
            small = 1 - exp(step.size) <= self.settings.at_once
            self.lost = Standing(step, Severity.WARNING if small else Severity.ADVICE)

    def _keep_lost(self, at: At) -> None:
        s = self.lost
        age = at.t - s.step.seen_at
        other = age < 3 * RETURNS_S and returns_down(at, self.pump.returns)
        if at.shift > 0.5 * s.step.size or other:
            self.lost = Standing()
            return
        missing = exp(s.step.size / USUAL) - 1
        sound = age >= RETURNS_S and at.returns > 0.5 * missing
        if sound or age >= 3 * RETURNS_S or not isfinite(at.returns):
            self.lost = Standing(s.step, Severity.WARNING)

    def _keep_plugged(self, at: At) -> None:
        s = self.plugged
        news = at.t - s.step.seen_at < self.pack.within_s
        waits = s.severity == Severity.ADVICE
        grows = waits and at.now > self.settings.grows
        if at.shift < 0.5 * s.step.size or (news and self._packs(at)) or grows:
            self.plugged = Standing()
        elif waits and at.t - s.step.seen_at >= FLAT_S and at.now < 0.5 * self.settings.grows:
            self.plugged = Standing(s.step, Severity.WARNING)

    def _packs(self, at: At) -> bool:
        return torque_up(at, self.pack) or returns_down(at, self.pack.returns)


def _verdict(seen: Seen, ats: Sequence[At], sight: Codes, told: Sequence[Standing]) -> Verdict:
    severity = np.array([one.severity for one in told], np.int8)

    def details(i: int) -> dict[str, Any]:
        step = told[i].step
        return evidence(
            ats[i], "standpipe pressure", onset=number(step.at), step_percent=percent(step.size)
        )

    return Verdict(seen.bins.row, severity, sights(sight, severity), REASONS, details)
