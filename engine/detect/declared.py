"""How much of a change of volume was declared: what a person said would come, and did come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, isfinite, nan

from engine.detect.call import Declared

FASTER = 1.25
"""Mud may come so much faster than was said and still be what was declared. [-]"""
FILTER_S = 30.0
"""Time constant of the level that is looked at: waves are no mud. [s]"""


@dataclass(slots=True)
class Part:
    """One declaration on its way."""

    from_level: float
    """Filtered volume, less all that was absorbed before, when it was declared. [m3]"""
    taken: float = 0.0
    """What of it has come, never more than was declared. [m3]"""


@dataclass(slots=True, eq=False)
class Absorbed:
    """Counts what was declared against what came.

    Only a change in the declared direction is taken, at most at 1.25 times the declared rate and
    never more than the declared volume: an influx under a transfer is left over once the
    transfer is complete. What does not come before the declaration expires is not counted.
    """

    level: float = nan
    parts: dict[float, Part] = field(default_factory=dict)
    done: float = 0.0
    """Of declarations that are over. [m3]"""

    def step(self, t: float, dt: float, raw: float, declared: Sequence[Declared]) -> float:
        """Return what was declared and has come by `t`. [m3]

        Parameters
        ----------
        t, dt : float
            End and length of the bin. [s]
        raw : float
            Volume that is explained by nothing but declarations. [m3]
        declared : sequence of Declared
            All of them; those that are over are passed by.
        """
        weight = 1 - exp(-dt / FILTER_S)
        self.level = raw if not isfinite(self.level) else self.level + weight * (raw - self.level)
        total = self.done
        for one in declared:
            if t > one.until:
                part = self.parts.pop(one.at, None)
                self.done += part.taken if part else 0.0
                total += part.taken if part else 0.0
                continue
            if one.at > t:
                continue
            rest = self.level - total
            part = self.parts.setdefault(one.at, Part(rest))
            sign = 1.0 if one.volume > 0 else -1.0
            moved = sign * (rest - part.from_level)
            most = min(abs(one.volume), abs(part.taken) + FASTER * one.rate * dt)
            part.taken = sign * max(abs(part.taken), min(moved, most))
            total += part.taken
        return total
