"""Blowout-preventer pressure test: the required pressure, held for five minutes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from engine.trials.criteria import Criterion
from engine.trials.held import Held


@dataclass(slots=True)
class BopTest(Held):
    """Below the required pressure the time stands still; pumped up again it begins anew."""

    name: ClassVar[str] = "bop-test"
    rule: ClassVar[str] = (
        "The required pressure held for 5 min without a fall below it (30 CFR 250.737(c), from "
        "memory); pumped up again, the time begins anew. A low and a high test are two tests."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("pressure", "pressure", "the required pressure", least=1e4),
        Criterion("minutes", "time", "how long it is held", 300.0, 300.0),
    )
    least_s: ClassVar[float] = 300.0

    attempts: int = 1
    """Times it was pumped up. [-]"""

    def hold(self, t: float, pressure: float, values: Mapping[str, float]) -> None:
        """Watch for a fall, and for a new attempt after one."""
        if pressure < self.limits["pressure"]:
            self.beyond(self.gauge, "fell to", pressure, self.limits["pressure"], "Pa")
        elif self.breaches or self.pumped_again(values):
            self.attempts += bool(self.breaches)
            self.breaches.clear()
            self.begin(t, pressure)

    def numbers(self) -> dict[str, float | None]:
        """Return the pressures and how often it was pumped up."""
        return Held.numbers(self) | {"attempts_count": float(self.attempts)}
