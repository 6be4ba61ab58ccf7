"""The off-bottom hook load that weight on bit is counted from, a row at a time."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from math import isnan, sqrt
from statistics import median
from typing import NamedTuple

from engine.config import WellConfig
from tests.benchmarks.per_frame_depth import StringFacts
from tests.benchmarks.per_frame_small import KLBF, NAN, RPM, Delay


class Reference(NamedTuple):
    """One tare; errors are standard errors."""

    load: float = NAN
    load_error: float = NAN
    torque: float = NAN
    torque_error: float = NAN
    reach: float = NAN
    """Bit depth with the block at the floor: how much pipe hung on it. [m]"""


class Tare:
    """Median load of a fit stretch, turning and not turning apart.

    Fit for 8 s: out of slips, bit 0.3 to 5 m above bottom, 0.8 of the usual flow, the block
    sinking at 4 (without rotation 10) to 150 mm/s and not hoisted for 10 s, 0.6 of the usual
    rotary speed or less than 5 rpm. Loads count from 3 s on, and none older than 40 s. Noise
    over 5 per cent of the load, or an error over 1 klbf and 1 per cent, makes it unfit. A
    stretch whose first load is more than 5 klbf and 3 per cent off the tare before, added
    pipe allowed for, is refused.
    """

    def __init__(self, config: WellConfig, string: StringFacts) -> None:
        self._string = string
        self._hold = config.profile.tare_hold_s
        self._flow = 0.8 * (config.profile.flow_normal or 0.0)
        self._rotary = 0.6 * (config.profile.rotary_normal or 0.0)
        self._refs = [Reference(), Reference()]
        self._past: deque[tuple[float, float, float]] = deque()
        self._kind = 0
        self._start = NAN
        self._open = 0
        self._taken = False
        self._went_up = float("-inf")
        self._turns = False
        self._turning = Delay(3.0, 3.0)
        self._added = (NAN, NAN, NAN)

    def step(
        self, t: float, load: float, torque: float, speed: float, rotary: float, flow: float,
        slips: float, above: float, reach: float,
    ) -> Reference:  # fmt: skip
        """Return the tare in use, its load with the weight of pipe added since."""
        turn = abs(rotary)
        if turn > 10 * RPM:
            self._turns = True
        elif turn < 5 * RPM:
            self._turns = False
        turning, _ = self._turning.step(t, self._turns)
        past = self._past
        past.append((t, load, torque))
        while t - past[0][0] > 45.0:
            past.popleft()
        if speed > 0.03:
            self._went_up = t
        kind = 0
        if (
            slips == 0.0 and 0.3 < above < 5.0 and flow >= self._flow and load == load
            and t - self._went_up >= 10.0 and speed >= -0.15
        ):  # fmt: skip
            if speed <= -0.01 and turn < 5 * RPM:
                kind = 2
            elif speed <= -0.004 and turn >= self._rotary:
                kind = 1
        if kind != self._kind:
            self._kind, self._start = kind, t
        found = self._measure(t, reach) if kind and t - self._start >= self._hold else None
        self._judge(kind, found)
        first, other = self._refs if turning else reversed(self._refs)
        ref = other if isnan(first.load) else first
        return ref._replace(load=ref.load + self._more_pipe(reach, ref.reach))

    def _more_pipe(self, reach: float, then: float) -> float:
        """Weight of pipe added since; it changes only at a connection."""
        known_reach, known_then, weight = self._added
        if reach != known_reach or then != known_then:
            weight = self._string.at(reach)[0] - self._string.at(then)[0]
            self._added = (reach, then, weight)
        return weight

    def _measure(self, t: float, reach: float) -> Reference | None:
        since = max(self._start + 3.0, t - 40.0)
        samples = [s for s in self._past if s[0] >= since]
        if len(samples) < 4:
            samples = list(self._past)[-4:]
            if len(samples) < 4 or samples[0][0] < self._start:
                return None
        loads = sorted(s[1] for s in samples if s[1] == s[1])
        torques = sorted(s[2] for s in samples if s[2] == s[2])
        error = 1.2533 / sqrt(len(samples))
        load, noise = median(loads), spread(loads)
        if noise >= 0.05 * load or error * noise >= max(KLBF, 0.01 * load):
            return None
        torque = median(torques) if torques else NAN
        return Reference(load, error * noise, torque, error * spread(torques), reach)

    def _judge(self, kind: int, found: Reference | None) -> None:
        now = kind if found else 0
        if found and now != self._open:
            before = self._refs[now - 1]
            off = found.load - before.load - self._more_pipe(found.reach, before.reach)
            self._taken = not abs(off) > max(5 * KLBF, 0.03 * before.load)
        self._open = now
        if found and self._taken:
            self._refs[now - 1] = found


def spread(ordered: Sequence[float]) -> float:
    """Half the range of the middle 68 per cent."""
    if not ordered:
        return NAN
    cut = (len(ordered) - 1) * 4 // 25
    return 0.5 * (ordered[-1 - cut] - ordered[cut])
