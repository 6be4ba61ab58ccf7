"""Pit drill and trip drill: how long the crew takes to see it, and then to act."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, nan
from typing import ClassVar

from engine.alarms.entries import number
from engine.ops.flow import FLOWING
from engine.trials.criteria import Criterion
from engine.trials.trial import Trial

MOMENTS = ("detected", "acted")


@dataclass(slots=True)
class PitDrill(Trial):
    """The clock runs from the start, when the gain is feigned.

    Detected is the first acknowledgement, or the word of a person. Acted is the word of a person,
    or the pumps that stop after it was detected. A drill hides nothing: every detector and alarm
    goes on as if there were none.
    """

    name: ClassVar[str] = "pit-drill"
    rule: ClassVar[str] = (
        "Detected within one limit from the start, acted on (pumps off, or marked) within another "
        "from then. Drills with their times are asked for by NORSOK D-010 (from memory); the "
        "limits are the rig's own."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("detect", "time", "from the start until it is detected", least=1.0),
        Criterion("act", "time", "from then until the crew has acted", least=1.0),
    )
    whole: ClassVar[bool] = False
    waiting: ClassVar[str] = "no data came"

    detected: float = nan
    """[s since 1970-01-01 UTC]"""
    acted: float = nan
    """[s since 1970-01-01 UTC]"""
    pumping: bool = False

    def mark(self, moment: str, at: float) -> str:
        """Take a moment; return why not."""
        if moment not in MOMENTS:
            return f"no moment {moment!r}; give one of {', '.join(MOMENTS)}"
        if moment == "detected":
            if isfinite(self.detected):
                return "it was detected before"
            self.detected = at
        else:
            if isfinite(self.acted):
                return "the crew acted before"
            self.detected = at if not isfinite(self.detected) else self.detected
            self.acted = at
        return ""

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Watch the pumps and the time."""
        self.clock = self.began
        flow = values["flow_in"]
        stopped = self.pumping and flow <= FLOWING
        self.pumping = flow > FLOWING if isfinite(flow) else self.pumping
        if stopped and isfinite(self.detected) and not isfinite(self.acted):
            self.acted = t
        self._judge()
        self.over = self.over or isfinite(self.acted)

    def _judge(self) -> None:
        for what, since, then, key in (
            ("detected", self.began, self.detected, "detect"),
            ("acted", self.detected, self.acted, "act"),
        ):
            took = (then if isfinite(then) else self.now) - since
            if took > self.limits[key]:
                how = "after" if isfinite(then) else "not yet after"
                self.beyond(what, how, took, self.limits[key], "s")

    def finish(self) -> None:
        """Judge what was marked since the newest bin; what is open proves nothing."""
        self.clock = self.began
        self._judge()
        for what, then in (("detected", self.detected), ("acted", self.acted)):
            if not isfinite(then) and what not in self.breaches:
                self.doubts[f"ended before it was {what}"] = None

    def numbers(self) -> dict[str, float | None]:
        """Return both times."""
        return {
            "detected_after_s": number(self.detected - self.began),
            "acted_after_s": number(self.acted - self.detected),
        }


@dataclass(slots=True)
class TripDrill(PitDrill):
    """The same with pipe in the slips; the crew acts by stabbing a valve, which a person marks."""

    name: ClassVar[str] = "trip-drill"
