"""What all tests and drills share: gauges watched together, limits passed, the verdict by rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import Any, ClassVar

from engine.alarms.entries import number, unit_of
from engine.detect.bins import BIN_S
from engine.detect.kinds import Severity
from engine.trials.criteria import Criterion

MET, NOT_MET, INCONCLUSIVE, TOO_SHORT = "met", "not met", "inconclusive", "too short"
PRESSURES = (
    "standpipe_pressure", "annulus_pressure", "annulus_b_pressure", "kill_line_pressure",
)  # fmt: skip
VOLUMES = ("trip_tank_volume", "pit_volume", "reserve_volume")
WATCHED = (*PRESSURES, *VOLUMES, "flow_in", "flow_out")
"""All of these are kept of every test, whichever its rule looks at. [-]"""
KNOWN = 0.9
"""A gauge must have been read for this share of the time. [-]"""
LEAD_S = 3600.0
"""So long may pass before a test proper begins: pumping up, drain-back, lining up. [s]"""


@dataclass(slots=True)
class Watched:
    """One gauge since the start."""

    first: float = nan
    last: float = nan
    lowest: float = inf
    highest: float = -inf
    known: int = 0
    """Bins with a value. [-]"""
    bins: int = 0

    def see(self, value: float) -> None:
        """Take the median of a bin; NaN is none. [SI]"""
        self.bins += 1
        if isfinite(value):
            self.first = value if not self.known else self.first
            self.last = value
            self.lowest, self.highest = min(self.lowest, value), max(self.highest, value)
            self.known += 1

    def as_json(self, channel: str) -> dict[str, Any]:
        """Return it in the SI unit named."""
        return {
            "first": number(self.first), "last": number(self.last),
            "lowest": number(self.lowest), "highest": number(self.highest),
            "unit": unit_of(channel).id, "known": round(self.known / max(self.bins, 1), 3),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Breach:
    """A limit that was passed, with the worst value so far."""

    what: str
    """A channel, or what is compared."""
    how: str
    """In a word or two: ``risen by``."""
    value: float
    """[SI]"""
    limit: float
    """[SI]"""
    unit: str
    """Id of the SI unit of both."""

    @property
    def excess(self) -> float:
        """How far beyond the limit, as a share of it. [-]"""
        return abs(self.value - self.limit) / max(abs(self.limit), 1e-12)

    def as_json(self) -> dict[str, Any]:
        """Return it as the journal has it."""
        return {"what": self.what, "how": self.how, "value": number(self.value),
                "limit": number(self.limit), "unit": self.unit}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a trial."""

    verdict: str
    """`MET`, `NOT_MET`, `INCONCLUSIVE` or `TOO_SHORT`."""
    breaches: tuple[Breach, ...]
    """Worst first."""
    why: tuple[str, ...]
    """Why it is inconclusive or too short."""
    seconds: float
    """That counted. [s]"""
    numbers: Mapping[str, float | None]
    """The unit in the key."""


@dataclass(slots=True)
class Trial:
    """The part of a test that does not depend on its kind; a kind fills `look` and the rest."""

    name: ClassVar[str]
    rule: ClassVar[str]
    """In one or two sentences, with its source."""
    criteria: ClassVar[tuple[Criterion, ...]]
    least_s: ClassVar[float] = 0.0
    """A shorter one proves nothing. [s]"""
    whole: ClassVar[bool] = True
    """It must last as long as was entered."""
    job: ClassVar[str] = ""
    """Of `engine.detect.call.JOBS`: what it does to pressures on purpose."""
    severity: ClassVar[Severity] = Severity.WARNING
    """Of a limit that is passed."""
    waiting: ClassVar[str] = ""
    """Why the time that counts never began."""

    limits: Mapping[str, float]
    """Every criterion. [SI]"""
    began: float
    """[s since 1970-01-01 UTC]"""
    watch: tuple[str, ...] = ()
    """Channels that must be read; empty: the usual ones."""
    clock: float = nan
    """When the time that counts began. [s since 1970-01-01 UTC]"""
    now: float = nan
    over: bool = False
    seen: dict[str, Watched] = field(default_factory=dict)
    breaches: dict[str, Breach] = field(default_factory=dict)
    doubts: dict[str, None] = field(default_factory=dict)
    """Why the verdict cannot be trusted, in the order found."""

    def __post_init__(self) -> None:
        self.seen = {name: Watched() for name in dict.fromkeys((*WATCHED, *self.watch))}

    def step(self, t: float, values: Mapping[str, float]) -> None:
        """Take one bin that ended at `t` [s]; `values` hold medians, NaN where unknown. [SI]"""
        self.now = t
        for name, one in self.seen.items():
            one.see(values.get(name, nan))
        self.look(t, values)
        wanted = self.limits.get("minutes")
        lead = LEAD_S if self.whole or wanted is None else 0.0
        if t >= self.began + (wanted or 0.0) + lead:
            self.over = True
        if self.whole and wanted is not None and self.seconds >= wanted:
            self.over = True

    def look(self, t: float, values: Mapping[str, float]) -> None:
        """Judge one bin."""
        raise NotImplementedError

    def mark(self, moment: str, at: float) -> str:
        """Take a moment that a person marks; return why not, in words."""
        return f"a {self.name} has no moment {moment!r}; only drills have"

    @property
    def seconds(self) -> float:
        """That count so far. [s]"""
        return max(self.now - self.clock, 0.0) if isfinite(self.clock) else 0.0

    def beyond(self, what: str, how: str, value: float, limit: float, unit: str) -> None:
        """Keep a limit that was passed, with its worst value."""
        new, old = Breach(what, how, value, limit, unit), self.breaches.get(what)
        if old is None or new.excess >= old.excess:
            self.breaches[what] = new

    def needs(self) -> Sequence[str]:
        """Return the channels that the verdict stands on."""
        return self.watch

    def numbers(self) -> Mapping[str, float | None]:
        """Return what the record tells besides, the unit in the key."""
        return {}

    def finish(self) -> None:
        """Judge what only the end shows."""

    def end(self, at: float) -> Outcome:
        """Return the outcome if it ends at `at`. [s since 1970-01-01 UTC]"""
        self.now, self.over = at, True
        self.finish()
        worst = sorted(self.breaches.values(), key=lambda one: -one.excess)
        verdict, why = self._verdict()
        return Outcome(verdict, tuple(worst), why, self.seconds, self.numbers())

    def _verdict(self) -> tuple[str, tuple[str, ...]]:
        if self.breaches:
            return NOT_MET, tuple(self.doubts)
        for name in self.needs():
            share = self.seen[name].known / max(self.seen[name].bins, 1)
            if share < KNOWN and self.seen[name].bins:
                self.doubts[f"{name} known for {100 * share:.0f} % of the time"] = None
        came = max((one.bins for one in self.seen.values()), default=0) * BIN_S
        if came < KNOWN * (self.now - self.began) - 2 * BIN_S:
            self.doubts["data came for a part of the time only"] = None
        if not isfinite(self.clock):
            return INCONCLUSIVE, (self.waiting, *self.doubts)
        wanted = max(self.limits.get("minutes", 0.0), self.least_s) if self.whole else 0.0
        if self.seconds < wanted - BIN_S:
            return TOO_SHORT, (self._short(wanted),)
        return (INCONCLUSIVE, tuple(self.doubts)) if self.doubts else (MET, ())

    def _short(self, wanted: float) -> str:
        if self.seconds < self.least_s:
            return f"{self.seconds:.0f} s; minimum {self.least_s / 60:g} min"
        return f"{self.seconds / 60:.1f} of {wanted / 60:g} min"
