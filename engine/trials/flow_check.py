"""Flow check: pumps off, and the tanks must stand still."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import ClassVar

from engine.alarms.entries import number
from engine.detect.kinds import Severity
from engine.ops.flow import FLOWING
from engine.trials.criteria import Criterion
from engine.trials.slope import Slope, slope
from engine.trials.trial import KNOWN, VOLUMES, Trial
from engine.units import BBL, MINUTE


@dataclass(slots=True)
class FlowCheck(Trial):
    """The well is watched with the pumps off.

    Time counts from when the pumps stopped and the flow line has drained. The slope of each tank
    is a least-squares line; beside it stands the slowest flow that these minutes of this tank
    could have shown. Starting the pumps ends the check.
    """

    name: ClassVar[str] = "flow-check"
    rule: ClassVar[str] = (
        "Pumps off, flow line drained; 10 min or more. Not met if a tank rises or falls faster "
        "than the limit, inconclusive if so slow a flow could not be seen. 10 to 15 min for "
        "water-base mud, longer for oil-base: common practice, no source."
    )
    criteria: ClassVar[tuple[Criterion, ...]] = (
        Criterion("minutes", "time", "how long it lasts", 600.0, 600.0),
        Criterion("flow", "flow", "the most a tank may change", 0.05 * BBL / MINUTE, 1e-7),
        Criterion("settle", "time", "until the flow line has drained", 90.0),
    )
    least_s: ClassVar[float] = 600.0
    severity: ClassVar[Severity] = Severity.CRITICAL
    waiting: ClassVar[str] = "the pumps never stopped"

    off_since: float = nan
    """When the pumps stopped, as known at the start; NaN: they run. [s since 1970-01-01 UTC]"""
    levels: dict[str, list[tuple[float, float]]] = field(default_factory=dict)

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Keep the levels of this bin."""
        flow = values["flow_in"]
        if flow > FLOWING:
            if self.levels:
                self.over = True
            else:
                self.clock = self.off_since = nan
            return
        if not isfinite(self.off_since):
            self.off_since = t
        if not isfinite(self.clock):
            self.clock = max(self.began, self.off_since + self.limits["settle"])
        if t > self.clock:
            for name in VOLUMES:
                if isfinite(values[name]):
                    self.levels.setdefault(name, []).append((t, values[name]))

    @property
    def tank(self) -> str:
        """The tank that decides: the one named, else the trip tank if it was read."""
        named = [name for name in self.watch if name in VOLUMES]
        read = [name for name in VOLUMES if self.seen[name].known >= KNOWN * self.seen[name].bins]
        return next(iter((*named, *read)), "")

    def needs(self) -> tuple[str, ...]:
        """Return what is named, the pumps, and the tank that decides."""
        return tuple(dict.fromkeys((*self.watch, "flow_in", *((self.tank,) if self.tank else ()))))

    def slopes(self) -> dict[str, Slope]:
        """Return the slope of each tank that has one."""
        found = {name: slope(points) for name, points in self.levels.items()}
        return {name: one for name, one in found.items() if one is not None}

    def finish(self) -> None:
        """Judge the slopes."""
        limit, tank = self.limits["flow"], self.tank
        for name, one in self.slopes().items():
            clear = abs(one.flow) >= one.seen
            # Ten minutes prove that nothing flows; that something does, one minute may prove.
            if abs(one.flow) > limit and (clear or (name == tank and one.seen <= limit)):
                how = "rises" if one.flow > 0 else "falls"
                self.beyond(name, how, abs(one.flow), limit, "m3_s")
            elif name == tank and one.seen > limit:
                self.doubts[f"a flow at the limit could not be seen in {name}"] = None
        if not tank:
            self.doubts["no tank was read"] = None

    def numbers(self) -> dict[str, float | None]:
        """Return volumes and flow of the tank that decides, and what could have been seen."""
        one, levels = self.slopes().get(self.tank), self.levels.get(self.tank, [])
        return {
            "start_volume_m3": number(levels[0][1]) if levels else None,
            "end_volume_m3": number(levels[-1][1]) if levels else None,
            "flow_m3_s": number(one.flow) if one else None,
            "could_have_seen_m3_s": number(one.seen) if one else None,
        }
