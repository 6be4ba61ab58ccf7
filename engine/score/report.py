"""All figures of an evaluation as one JSON value."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from engine.detect.kinds import EVENT_KINDS, Severity
from engine.score.falses import (
    BASE_RATE,
    blind_figures,
    false_figures,
    precision_figures,
    twin_figures,
)
from engine.score.plan import USUAL, Wanted, which_seeds
from engine.score.play import Played
from engine.score.scores import Figures, event_figures, judge, labels, others
from engine.score.targets import target_figures


def report(runs: Sequence[Played], wanted: Wanted, built: Sequence[str]) -> Figures:
    """Return the figures of `runs`, the usual rig and the others apart.

    Parameters
    ----------
    runs : sequence of Played
    wanted : Wanted
        What was asked for.
    built : sequence of str
        Kinds that have a detector.
    """
    return {
        "seeds": [wanted.seeds[0], wanted.seeds[-1]],
        "seeds_are": which_seeds(wanted.seeds),
        "runs_of_each": wanted.runs,
        "tour_hours": wanted.hours,
        "noise": list(wanted.noise),
        "kinds": list(wanted.kinds),
        "built": [k for k in EVENT_KINDS if k in built],
        "not_built": [k for k in EVENT_KINDS if k not in built],
        "base_rate_per_12_h": BASE_RATE,
        "usual": _part([r for r in runs if r.case.rig == USUAL], built),
        "other_rigs": _part([r for r in runs if r.case.rig != USUAL], built),
        "runs": [_run(r) for r in runs],
    }


def _part(runs: Sequence[Played], built: Sequence[str]) -> Figures:
    judged = judge(r for r in runs if r.case.role == "event")
    clean = [r for r in runs if r.case.role == "clean"]
    kinds = [k for k in EVENT_KINDS if k in built]
    events = event_figures(judged, frozenset(built))
    false = false_figures(clean, kinds)
    return {
        "hours": sum(r.seconds for r in runs) / 3600.0,
        "events": events,
        "targets": target_figures(judged, clean),
        "labels": labels(judged),
        "others": others(judged),
        "did_not_happen": [
            _named(r) for r in runs if r.case.role == "event" and r.truth is None
        ],
        "false": false,
        "twins": twin_figures([r for r in runs if r.case.role == "twin"]),
        "blind": blind_figures(clean, kinds),
        "precision": precision_figures(events, false),
    }  # fmt: skip


def _named(run: Played) -> dict[str, Any]:
    case = run.case
    return {
        "role": case.role, "kind": case.kind, "size": case.fault or case.size, "seed": case.seed,
        "rig": case.rig, "noise": run.noise,
        "job": case.job,
        "ground": case.ground if case.rig == USUAL else "its own",
    }  # fmt: skip


def _run(run: Played) -> dict[str, Any]:
    """Return a run as it can be looked at again: times in s from its start."""
    return _named(run) | {
        "seconds": run.seconds,
        "event": None if run.truth is None else [run.truth.start, run.truth.end],
        "calls": [
            {"kind": c.kind, "at": round(c.at, 3), "end": round(c.end, 3), "state": state,
             "severity": Severity(c.severity).id, "right_by_itself": i in run.right}
            for i, (c, state) in enumerate(zip(run.calls, run.state_at, strict=True))
        ],
    }  # fmt: skip
