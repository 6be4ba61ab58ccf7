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
    rotary: float
    returns: float
    """Excess of the returns as a share of the flow, NaN: not known. [-]"""


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
    rotary: float
    returns: float
    """Excess of the returns before it, as a share of the flow. [-]"""


@dataclass(slots=True, eq=False)
class Steps:
    """Looks at the last fifty seconds of steady pumping."""

    least: float
    """A smaller change is no step. [-]"""
    recent: deque[tuple[float, float, tuple[float, float, float, float]]] = field(
        default_factory=lambda: deque(maxlen=SPAN)
    )
    """Time, residual and what is beside it, of each bin."""
    residuals: deque[float] = field(default_factory=lambda: deque(maxlen=SPAN))
    newest: float = -inf
    """[s since 1970-01-01 UTC]"""
    on_bottom: bool = False

    def clear(self) -> None:
        """The pumps are not steady: what was before cannot be compared."""
        self.recent.clear()
        self.residuals.clear()

    def next(
        self,
        t: float,
        r: float,
        on_bottom: bool,
        beside: tuple[float, float, float, float],
        noise: float,
    ) -> Step | None:
        """Return the step that this bin completes, if it does.

        Parameters
        ----------
        t : float
            End of the bin. [s since 1970-01-01 UTC]
        r : float
            Residual. [-]
        on_bottom : bool
        beside : tuple
            Hook load, torque, rotation, and the excess of the returns as a share of the flow, NaN
            where not known.
        noise : float
            Of the residual of a block. [-]
        """
        last = self.residuals
        if t - self.newest > 2 * BIN_S or on_bottom != self.on_bottom:
            self.clear()
        self.newest, self.on_bottom = t, on_bottom
        self.recent.append((t, r, beside))
        last.append(r)
        if len(last) < NOW + BEFORE + 1 or max(last) - min(last) < self.least:
            return None  # most bins
        return self._step(2 * noise)

    def _step(self, noise: float) -> Step | None:
        """Look closely, with the noise of the residual of a bin."""
        rows = [Moment(t, r, *beside) for t, r, beside in self.recent]
        now = rows[-1]
        after, before = rows[-NOW:], rows[:BEFORE]
        ends = [m.r for m in after]
        level, end = median([m.r for m in before]), median(ends)
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
        self.clear()
        self.recent.extend((m.t, m.r, m[2:]) for m in after)
        self.residuals.extend(ends)
        known = [m.returns for m in before if isfinite(m.returns)]
        return Step(
            at, now.t, size,
            _ratio([m.hook_load for m in after], [m.hook_load for m in before]),
            _ratio([m.torque for m in after], [m.torque for m in before]),
            _ratio([m.rotary for m in after], [m.rotary for m in before]),
            sum(known) / len(known) if known else nan,
        )  # fmt: skip


def _ratio(after: list[float], before: list[float]) -> float:
    a = [x for x in after if isfinite(x)]
    b = [x for x in before if isfinite(x)]
    if not a or not b or abs(median(b)) < 1e-9:
        return nan
    return median(a) / median(b)


NEVER = Step(-inf, -inf, 0.0, nan, nan, nan, nan)
