"""Casing pressure test: it may fall by a tenth in half an hour, no more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from engine.trials.criteria import Criterion
from engine.trials.held import Held

STEADY_S = 300.0
"""For so long a new high is still pumping up, and the time begins anew. [s]"""


@dataclass(slots=True)
class CasingTest(Held):
    """The pressure at the start is the highest of the first minutes, so an overshoot counts."""

    name: ClassVar[str] = "casing-test"
    rule: ClassVar[str] = (
        "30 min from the test pressure; not met if it declines by more than the limit, at most "
        "10 % (30 CFR 250.721(f)); inconclusive if it was pumped up again meanwhile."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("pressure", "pressure", "the test pressure", least=1e4),
        Criterion("decline", "ratio", "the most it may fall by", 0.10, 0.0, 0.10),
        Criterion("minutes", "time", "how long it is held", 1800.0, 1800.0),
    )
    least_s: ClassVar[float] = 1800.0

    reached: float = float("nan")
    """When the test pressure was first reached. [s since 1970-01-01 UTC]"""

    def begin(self, t: float, pressure: float) -> None:
        """Let the time begin, or begin anew."""
        if not self.reached <= t:
            self.reached = t
        Held.begin(self, t, pressure)

    def hold(self, t: float, pressure: float, values: Mapping[str, float]) -> None:
        """Compare with the start."""
        if pressure > self.start and t - self.reached <= STEADY_S:
            self.begin(t, pressure)
        elif self.pumped_again(values):
            self.doubts["the pressure was pumped up again during the test"] = None
        decline, limit = (self.start - pressure) / self.start, self.limits["decline"]
        if decline > limit:
            self.beyond(self.gauge, "declined by", decline, limit, "fraction")
