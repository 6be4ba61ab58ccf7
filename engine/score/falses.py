"""Figures of tours without trouble: false calls with their bounds, blind minutes, precision."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from engine.score.bounds import poisson_upper, precision, share_lower
from engine.score.calls import episodes
from engine.score.play import Played
from engine.score.scores import Figures

TOUR_S = 12 * 3600.0
BASE_RATE = 0.01
"""Real events of each kind in 12 h: one in 50 days of drilling, as for kicks; an assumption. [-]"""


@dataclass(frozen=True, slots=True)
class FalseCall:
    """One false episode."""

    kind: str
    job: str
    noise: str
    state: str
    """What the rig really did when it began."""


def false_episodes(run: Played) -> Iterator[FalseCall]:
    """Yield the false episodes of a run without an event."""
    left = {
        (c.kind, c.at): state
        for i, (c, state) in enumerate(zip(run.calls, run.state_at, strict=True))
        if c.counts and i not in run.right
    }
    wrong = [c for i, c in enumerate(run.calls) if c.counts and i not in run.right]
    for one in episodes(wrong):
        yield FalseCall(one.kind, run.case.job, run.noise, left[one.kind, one.at])


def rate(count: int, seconds: float) -> Figures:
    """Return a count in `seconds`, a 12 h rate and the bound that 95 % of such counts are under."""
    tours = seconds / TOUR_S
    return {
        "count": count,
        "hours": seconds / 3600.0,
        "per_12_h": count / tours if tours else None,
        "upper_per_12_h": poisson_upper(count) / tours if tours else None,
    }


def false_figures(clean: Sequence[Played], built: Iterable[str]) -> Figures:
    """Return false calls of clean tours: all, by kind, by class of noise and by rig state."""
    found = [one for run in clean for one in false_episodes(run)]
    seconds = sum(run.seconds for run in clean)
    by_noise: dict[str, float] = defaultdict(float)
    by_state: dict[str, float] = defaultdict(float)
    by_job: dict[str, float] = defaultdict(float)
    for run in clean:
        by_noise[run.noise] += run.seconds
        by_job[run.case.job] += run.seconds
        for state, lasted in run.states.items():
            by_state[state] += lasted

    def split(spans: dict[str, float], of: Callable[[FalseCall], str]) -> dict[str, Any]:
        return {
            name: rate(sum(of(f) == name for f in found), lasted)
            | {"kinds": dict(Counter(f.kind for f in found if of(f) == name).most_common())}
            for name, lasted in spans.items()
        }

    advice = Counter(
        c.kind for run in clean for c in episodes(c for c in run.calls if not c.counts)
    )
    return {
        "all": rate(len(found), seconds),
        "by_kind": {k: rate(sum(f.kind == k for f in found), seconds) for k in built},
        "by_job": split(by_job, lambda f: f.job),
        "by_noise": split(by_noise, lambda f: f.noise),
        "by_state": split(by_state, lambda f: f.state),
        "advice": {kind: rate(advice[kind], seconds) for kind in built},
        "right": sum(len(run.right) for run in clean),
    }


def twin_figures(twins: Sequence[Played]) -> dict[str, Figures]:
    """Return for each kind of event the runs of its twin, and those with a false call, by kind."""
    out: dict[str, Figures] = {}
    for run in twins:
        one = out.setdefault(run.case.kind, {"runs": 0, "with_false": 0, "kinds": Counter()})
        kinds = {f.kind for f in false_episodes(run)}
        one["runs"] += 1
        one["with_false"] += bool(kinds)
        one["kinds"].update(kinds)
    return {k: one | {"kinds": dict(one["kinds"].most_common())} for k, one in out.items()}


def blind_figures(clean: Sequence[Played], built: Iterable[str]) -> dict[str, Figures]:
    """Return for each detector how long it was blind in 12 h of clean tours, and mostly why."""
    seconds = sum(run.seconds for run in clean)
    out: dict[str, Figures] = {}
    for kind in built:
        spells = [b for run in clean for b in run.blind if b.kind == kind]
        lasted: Counter[str] = Counter()
        for b in spells:
            lasted[b.reason] += round(b.end - b.at)
        minutes = sum(b.end - b.at for b in spells) / 60.0
        out[kind] = {
            "minutes_per_12_h": minutes * TOUR_S / seconds if seconds else None,
            "mostly": lasted.most_common(1)[0][0] if lasted else "",
        }
    return out


def precision_figures(
    events: Sequence[Figures], false: Figures, base_rate: float = BASE_RATE
) -> dict[str, Figures]:
    """Return what share of the calls of each kind would be right at a rate of real events.

    ``lower`` is the same with the bounds of recall and of false calls.
    """
    out: dict[str, Figures] = {}
    for kind, wrong in false["by_kind"].items():
        mine = [e for e in events if e["called"] == kind]
        runs, hits = sum(e["runs"] for e in mine), sum(e["called_runs"] for e in mine)
        if not runs or wrong["per_12_h"] is None:
            continue
        low = share_lower(hits, runs)
        out[kind] = {
            "recall": hits / runs,
            "precision": precision(hits / runs, wrong["per_12_h"], base_rate),
            "lower": precision(low, wrong["upper_per_12_h"], base_rate),
        }
    return out
