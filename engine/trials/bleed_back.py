"""Bleed-back after cementing: what comes back must be what was squeezed in, and go back as it came.

Floats that hold let back only what the pressure had squeezed into mud and pipe. More, or a flow
that goes on, is the well. Whoever then pumps back more than came has put mud somewhere.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import ClassVar, NamedTuple

from engine.alarms.entries import number
from engine.detect.bins import BIN_S
from engine.detect.kinds import Severity
from engine.trials.criteria import Criterion
from engine.trials.slope import slope
from engine.trials.trial import Trial
from engine.units import BBL, MINUTE

MEAN_BINS = 6
"""Levels are means of half a minute: waves are no mud. [-]"""
FLOW_BINS = 60
"""Whether it still flows is told by the last five minutes. [-]"""


class Balance(NamedTuple):
    """Volumes of a bleed-back compared."""

    back: float
    """Returned over expected. [-]"""
    pumped: float
    """Pumped back over returned; 0 if nothing was pumped. [-]"""


def balance(expected: float, returned: float, pumped: float = 0.0) -> Balance:
    """Compare what came back with what was expected, and what was pumped back with that.

    Parameters
    ----------
    expected : float
        By compressibility of mud and pipe at the pressure that is bled, above 0. [m3]
    returned, pumped : float
        [m3]

    Returns
    -------
    Balance
        Shares [-]; infinite if something was pumped back though nothing had come.
    """
    back = returned / expected
    if not pumped:
        return Balance(back, 0.0)
    return Balance(back, pumped / returned if returned > 0 else float("inf"))


@dataclass(slots=True)
class BleedBack(Trial):
    """The tank's change and what the pumps took out of it are what came back."""

    name: ClassVar[str] = "bleed-back"
    rule: ClassVar[str] = (
        "Not met if more comes back than 110 % of what was expected, if it still flows at the "
        "end, or if more is pumped back than came. Balance of volumes after cementing: findings "
        "of the Montara Commission of Inquiry, 2010; 110 %: common practice, no source."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("expected", "volume", "what should come back", least=1e-3),
        Criterion("share", "ratio", "the most that may come, of that", 1.10, 1.0),
        Criterion("over", "ratio", "what may be pumped back beyond what came", 0.05),
        Criterion("flow", "flow", "the most it may flow at the end", 0.05 * BBL / MINUTE, 1e-7),
        Criterion("minutes", "time", "after this it is over", 7200.0, 60.0),
    )
    whole: ClassVar[bool] = False
    job: ClassVar[str] = "cementing"
    severity: ClassVar[Severity] = Severity.CRITICAL
    waiting: ClassVar[str] = "no tank was read"

    tank: str = ""
    first: float = nan
    """Level at the start. [m3]"""
    pumped: float = 0.0
    """[m3]"""
    returned: float = 0.0
    """Highest mean so far. [m3]"""
    recent: deque[float] = field(default_factory=lambda: deque(maxlen=MEAN_BINS))
    points: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=FLOW_BINS))
    """Time and what had come. [s, m3]"""

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Book this bin."""
        flow = values["flow_in"]
        self.pumped += flow * BIN_S if isfinite(flow) else 0.0
        for name in (*self.watch, "trip_tank_volume", "pit_volume"):
            if not self.tank and isfinite(values.get(name, nan)):
                self.tank, self.first, self.clock = name, values[name], self.began
        level = values.get(self.tank, nan)
        if not isfinite(level):
            return
        came = level - self.first + self.pumped
        self.points.append((t, came))
        self.recent.append(came)
        if len(self.recent) == MEAN_BINS:
            self.returned = max(self.returned, sum(self.recent) / MEAN_BINS)
        expected, share = self.limits["expected"], self.limits["share"]
        found = balance(expected, self.returned, self.pumped)
        if found.back > share:
            self.beyond("returned", "came back", self.returned, share * expected, "m3")
        if self.pumped > self.returned + self.limits["over"] * max(self.returned, expected):
            self.beyond("pumped back", "more than came", self.pumped, self.returned, "m3")

    def needs(self) -> tuple[str, ...]:
        """Return the tank and what is named."""
        return tuple(dict.fromkeys((*self.watch, *((self.tank,) if self.tank else ()))))

    def finish(self) -> None:
        """See whether it still flows."""
        now, limit = slope(self.points), self.limits["flow"]
        if now is None:
            self.doubts["too short to tell whether it still flows"] = None
        elif now.flow > limit and now.flow >= now.seen:
            self.beyond("still flowing", "at", now.flow, limit, "m3_s")
        elif now.seen > limit:
            self.doubts["a flow at the limit could not be seen"] = None

    def numbers(self) -> dict[str, float | None]:
        """Return the volumes, their shares, and the flow of the last minutes."""
        found = balance(self.limits["expected"], self.returned, self.pumped)
        now = slope(self.points)
        return {
            "returned_m3": number(self.returned), "pumped_back_m3": number(self.pumped),
            "returned_fraction": number(found.back), "pumped_back_fraction": number(found.pumped),
            "flow_m3_s": number(now.flow) if now else None,
            "could_have_seen_m3_s": number(now.seen) if now else None,
        }  # fmt: skip
