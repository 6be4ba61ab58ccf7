"""What the detectors are asked for, as a table, and whether a report shows it.

Each row asks a share of some events to be called by a volume, by a time, or by either; or that
false calls of some kinds are no more than so many in 12 h. The rows that speak of the flow line
hold for a land rig with a fair flume or better; what all classes of noise give stands beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from engine.detect.kinds import EVENT_KINDS
from engine.score.bounds import share_lower
from engine.score.falses import false_episodes, rate
from engine.score.families import family
from engine.score.match import Match
from engine.score.play import Played
from engine.score.scores import Figures, Judged
from engine.sim.recipes import BPM
from engine.units import BBL, LBF

GOOD = ("calm", "flume")
"""Classes of noise that most targets are set for."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Caught:
    """Of events of `kind`, `share` should be called by a volume [m3] or within a time [s]."""

    name: str
    kind: str
    share: float
    by_m3: float | None = None
    by_s: float | None = None
    """With `by_m3` as well: either will do. With neither: called in its time at all."""
    least: float = 0.0
    most: float = inf
    """Sizes it is set for, in the unit of the recipe."""
    known: bool = False
    """Whether what the well gives at a stop was known from stops before."""
    noise: tuple[str, ...] = GOOD

    def figures(
        self, judged: Sequence[Judged], clean: Sequence[Played], classes: Sequence[str] | None
    ) -> Figures:
        """Return how many of the events were called so; `classes` None: of all."""
        mine = [
            j.match for j in judged
            if j.kind == self.kind and j.played.case.known == self.known
            and self.least <= abs(_size(j)) <= self.most
            and (classes is None or j.played.noise in classes)
        ]  # fmt: skip
        hits = sum(map(self._hit, mine))
        return {
            "runs": len(mine),
            "hits": hits,
            "share": hits / len(mine) if mine else None,
            "lower": share_lower(hits, len(mine)),
            "met": hits >= self.share * len(mine) - _EPS if mine else None,
            "shown": share_lower(hits, len(mine)) >= self.share if mine else None,
        }

    def _hit(self, m: Match) -> bool:
        if not m.called or m.delay is None:
            return False
        small = self.by_m3 is not None and m.volume is not None and m.volume <= self.by_m3 + _EPS
        soon = self.by_s is not None and m.delay <= self.by_s + _EPS
        return small or soon or (self.by_m3 is None and self.by_s is None)


@dataclass(frozen=True, slots=True)
class Quiet:
    """Calls of `kinds` in tours without trouble should be no more than `most` in 12 h."""

    name: str
    kinds: frozenset[str]
    most: float
    noise: tuple[str, ...] = GOOD

    def figures(
        self, judged: Sequence[Judged], clean: Sequence[Played], classes: Sequence[str] | None
    ) -> Figures:
        """Return the false calls with their bound; `classes` None: of all."""
        runs = [r for r in clean if classes is None or r.noise in classes]
        count = sum(f.kind in self.kinds for r in runs for f in false_episodes(r))
        one = rate(count, sum(r.seconds for r in runs))
        known = one["per_12_h"] is not None
        return one | {
            "tours": len(runs),
            "met": one["per_12_h"] <= self.most + _EPS if known else None,
            "shown": one["upper_per_12_h"] <= self.most + _EPS if known else None,
        }


TARGETS: tuple[Caught | Quiet, ...] = (
    Caught("influx of 0.3 to 4 bbl/min: half by 3 bbl", "influx", 0.50, 3 * BBL),
    Caught("the same: 95 % by 5 bbl", "influx", 0.95, 5 * BBL),
    Caught("the same: 98 % by 1 m3", "influx", 0.98, 1.0),
    Quiet("false calls of influx: at most 0.1 in 12 h", frozenset({"influx"}), 0.1),
    Quiet("of the whole family of influx: at most 0.1", family("influx"), 0.1),
    Quiet("of all detectors: at most 0.5", frozenset(EVENT_KINDS), 0.5),
    Caught("influx, poor paddle: 95 % by 5.5 bbl", "influx", 0.95, 5.5 * BBL, noise=("paddle",)),
    Caught("influx of 1 bbl/min and more, heave: 95 % by 10 bbl", "influx", 0.95, 10 * BBL,
           least=BPM, noise=("heave",)),
    Caught("kick of 0.5 bbl/min at a connection, three stops known: 95 %",
           "influx_at_connection", 0.95, most=0.5 * BPM + _EPS, known=True),
    Caught("the same at the first connection of a run", "influx_at_connection", 0.95,
           most=0.5 * BPM + _EPS),
    Caught("loss: 95 % by 3 bbl or 60 s", "loss", 0.95, 3 * BBL, 60.0),
    Caught("total loss: 95 % in 20 s", "total_loss", 0.95, by_s=20.0),
    Caught("washout of 3 %: 95 % in 3 min", "washout", 0.95, by_s=180.0, most=0.03 + _EPS),
    Quiet("false washouts: at most 0.05", frozenset({"washout"}), 0.05),
    Caught("plugged nozzle: all in 30 s", "nozzle_plugged", 1.0, by_s=30.0),
    Caught("lost nozzle: all in 30 s", "nozzle_lost", 1.0, by_s=30.0),
    Caught("twist-off: all in 30 s", "twist_off", 1.0, by_s=30.0),
    Caught("pack-off: 95 % in 60 s", "pack_off", 0.95, by_s=60.0),
    Caught("overpull of 10 klbf and more: 95 %", "overpull", 0.95, least=10e3 * LBF),
    Caught("stick-slip: 95 % in 30 s", "stick_slip", 0.95, by_s=30.0),
)  # fmt: skip
"""In the order of the page. Those of influx are ours; the rest are what handbooks and papers lead
one to expect of such a detector, as gathered for this project, many of them from memory."""


def target_figures(judged: Sequence[Judged], clean: Sequence[Played]) -> list[Figures]:
    """Return for each target what was reached in its classes of noise, and in all."""
    return [
        {
            "name": one.name,
            "noise": list(one.noise),
            "there": one.figures(judged, clean, one.noise),
            "all": one.figures(judged, clean, None),
        }
        for one in TARGETS
    ]


def _size(j: Judged) -> float:
    return 0.0 if j.played.case.size is None else j.played.case.size
