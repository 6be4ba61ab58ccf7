"""Steps of the standpipe pressure: how large, and what hook load, torque and returns did."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from statistics import median
from typing import NamedTuple

from engine.detect.bins import BIN_S

NOW, BETWEEN, BEFORE = 3, 3, 4
"""Bins that must lie flat after a step, that it may take, and that it is compared with. [-]"""
SPAN = NOW + BETWEEN + BEFORE
FLAT = 0.12
"""Share of a step by which the pressure may still move after it. [-]"""
SHARP = 0.6
"""Share of a step that every bin after it must show. [-]"""
AWAY = 0.6
"""Share of a step by which it must lead away from the reference. [-]"""
FORGET_S = 180.0
"""A step is news for so long. [s]"""


class Moment(NamedTuple):
    """One steady bin."""

    t: float
    r: float
    """Residual. [-]"""
    hook_load: float
    torque: float
    returns: float
    """Excess of the returns as a share of the flow, NaN: not known. [-]"""
    on_bottom: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the pressure."""

    at: float
    """When it began. [s since 1970-01-01 UTC]"""
    seen_at: float
    size: float
    """Change of the logarithm of the pressure. [-]"""
    hook_load: float
    """After, as a share of before; NaN: not known. [-]"""
    torque: float
    returns: float
    """Excess of the returns before it, as a share of the flow. [-]"""


@dataclass(slots=True, eq=False)
class Steps:
    """Looks at the last fifty seconds of steady pumping."""

    least: float
    """A smaller change is no step. [-]"""
    recent: deque[Moment] = field(default_factory=lambda: deque(maxlen=SPAN))

    def clear(self) -> None:
        """The pumps are not steady: what was before cannot be compared."""
        self.recent.clear()

    def next(self, now: Moment, noise: float) -> Step | None:
        """Return the step that this bin completes, if it does.

        Parameters
        ----------
        now : Moment
        noise : float
            Of the residual of a bin. [-]
        """
        recent = self.recent
        if recent and (now.t - recent[-1].t > 2 * BIN_S or now.on_bottom != recent[-1].on_bottom):
            recent.clear()
        recent.append(now)
        if len(recent) < NOW + BEFORE + 1:
            return None
        residuals = [m.r for m in recent]
        if max(residuals) - min(residuals) < self.least:
            return None  # most bins
        rows = list(recent)
        after, before = rows[-NOW:], rows[:BEFORE]
        ends = residuals[-NOW:]
        level, end = median(residuals[:BEFORE]), median(ends)
        size = end - level
        if abs(end) < AWAY * abs(size) or end * size < 0:
            return None  # back to what is usual
        if abs(size) < self.least or min(abs(x - level) for x in ends) < SHARP * self.least:
            return None
        if abs(ends[-1] - ends[0]) > FLAT * abs(size) + 1.5 * noise:
            return None
        if max(m.r for m in before) - min(m.r for m in before) > 0.5 * abs(size) + 2 * noise:
            return None  # it was on its way before: no step
        sharp = [m for m in rows if abs(m.r - level) > 0.5 * abs(size)]
        at = next((m.t for m in sharp if (m.r - level) * size > 0), now.t) - BIN_S
        recent.clear()
        recent.extend(after)
        known = [m.returns for m in before if isfinite(m.returns)]
        return Step(
            at, now.t, size,
            _ratio([m.hook_load for m in after], [m.hook_load for m in before]),
            _ratio([m.torque for m in after], [m.torque for m in before]),
            sum(known) / len(known) if known else nan,
        )  # fmt: skip


def _ratio(after: list[float], before: list[float]) -> float:
    a = [x for x in after if isfinite(x)]
    b = [x for x in before if isfinite(x)]
    if not a or not b or abs(median(b)) < 1e-9:
        return nan
    return median(a) / median(b)


NEVER = Step(-inf, -inf, 0.0, nan, nan, nan)
