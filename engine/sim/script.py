"""What a run is scripted with: rock, plan, noise, and the trouble that physics is given."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.sim.plan import Plan


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that goes wrong, from nothing up to `size`, and back."""

    kind: str
    """Key of `engine.sim.trouble.EFFECTS`, or one of its ``SENSOR_KINDS``."""
    start: float
    """[s] from the start of the run"""
    size: float
    """What it measures is said where the kind is defined."""
    rise: float = 60.0
    hold: float = 600.0
    fall: float = 60.0
    channel: str = ""
    """Channel of a faulty sensor."""
    operation: bool = False
    """The crew means to do it: it stays in the twin without trouble."""
    at_connection: bool = False
    """The crew finds and mends it at the first connection after it has reached its size."""
    above: float | None = None
    """It lies this far above the first bottom and acts as the bit passes; None: anywhere. [m]"""
    declared: bool = False
    """A person says beforehand that this mud will come or go."""
    event: str = ""
    """What a detector should call it; empty: nothing."""

    @property
    def end(self) -> float:
        """When it is over. [s] from the start of the run"""
        return self.start + self.rise + self.hold + self.fall

    def level(self, t: float) -> float:
        """Return how much of it there is at `t` [s], from 0 to `size`."""
        after = t - self.start
        if after <= 0 or t >= self.end:
            return 0.0
        if after < self.rise:
            return self.size * after / self.rise
        if after < self.rise + self.hold:
            return self.size
        return self.size * (self.end - t) / self.fall


DRILL = Plan()
"""Stand after stand."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole run, but for the seed."""

    name: str
    text: str
    """One line that says what happens."""
    ground: str = "hard"
    noise: str = "calm"
    plan: Plan = DRILL
    troubles: tuple[Trouble, ...] = ()
    decoys: tuple[Trouble, ...] = ()
    """What the twin has in place of the trouble: it looks like it and is not."""
    gauges: tuple[str, ...] = ()
    """Channels sent besides the usual: ``annulus_pressure``, ``trip_tank_volume``."""
    event: str = ""
    """What a detector should call, of `engine.detect.kinds.EVENT_KINDS`; empty: nothing. A twin
    has none."""
    at: float = 0.0
    """When that begins. [s from the start of the run]"""
    size: float = 0.0
    """How grave it is: see `engine.sim.events`."""
    twin_stops: tuple[tuple[float, float], ...] = ()
    """Stops of the pumps that only the twin has; they look like the trouble."""

    def twin(self) -> Scenario:
        """Return the same operations and the same noise without the trouble."""
        kept = tuple(t for t in self.troubles if t.operation)
        return replace(
            self, name=f"{self.name}-twin", text=f"As {self.name}, without it",
            troubles=(*kept, *self.decoys), decoys=(), event="", size=0.0, twin_stops=(),
            plan=replace(self.plan, stops=(*self.plan.stops, *self.twin_stops)),
        )  # fmt: skip
