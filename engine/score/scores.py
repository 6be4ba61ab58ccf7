"""Figures of events: how often, how late and at what volume they are called, and as what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

from engine.score.bounds import quantile, share_lower
from engine.score.match import Match, match
from engine.score.play import Played
from engine.units import BBL

SMALL, LARGE = 5 * BBL, 10 * BBL
"""Volumes by which an influx should be known. [m3]"""
_EPS = 1e-9
Figures = dict[str, Any]
"""JSON values, the unit in the key."""


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """An event run and what its calls were worth."""

    played: Played
    match: Match

    @property
    def kind(self) -> str:
        """Name of the event in the simulator."""
        return self.played.case.kind


def judge(runs: Iterable[Played]) -> list[Judged]:
    """Return the event runs in which the event came about, matched."""
    return [Judged(p, match(p.truth, p.calls)) for p in runs if p.truth is not None]


def event_figures(judged: Sequence[Judged], built: frozenset[str]) -> list[Figures]:
    """Return the figures of each kind of event, with those of each size and class of noise."""
    out = []
    for kind in dict.fromkeys(j.kind for j in judged):
        mine = [j for j in judged if j.kind == kind]
        called = mine[0].played.case.called
        out.append(
            {"kind": kind, "called": called, "built": called in built}
            | figures([j.match for j in mine])
            | {
                "by_size": _by(mine, lambda j: j.played.case.fault or j.played.case.size),
                "by_noise": _by(mine, lambda j: j.played.noise),
            }
        )
    return out


def _by(judged: Sequence[Judged], key: Callable[[Judged], Any]) -> list[Figures]:
    groups: dict[Any, list[Match]] = {}
    for j in judged:
        groups.setdefault(key(j), []).append(j.match)
    return [{"of": name} | figures(those) for name, those in groups.items()]


def figures(matches: Sequence[Match]) -> Figures:
    """Return the figures of some events of one kind.

    Delays are those of the events that were called; volumes are of all, a missed one having what
    it had in the end. ``dv95_missed`` says that this quantile is such an end, a lower bound.
    """
    n, hits = len(matches), sum(m.called for m in matches)
    delays = [m.delay for m in matches if m.delay is not None]
    volumes = {} if any(m.volume is None for m in matches) else _volumes(matches)
    return {
        "runs": n,
        "called_runs": hits,
        "recall": hits / n if n else None,
        "recall_lower": share_lower(hits, n),
        "delay_p50_s": quantile(delays, 0.50),
        "delay_p95_s": quantile(delays, 0.95),
        **volumes,
        "again_per_event": sum(m.again for m in matches) / n if n else None,
        "standing": sum(m.standing for m in matches),
        "early": sum(m.early for m in matches),
        "late": sum(m.late for m in matches),
    }


def _volumes(matches: Sequence[Match]) -> Figures:
    """Return DV50, DV95 and the shares that were called by 5 and by 10 bbl."""
    # Of equal volumes a missed one is the greater: it was not called there.
    ranked = sorted((m.volume if m.volume is not None else inf, not m.called) for m in matches)
    out: Figures = {}
    for name, share in (("dv50", 0.50), ("dv95", 0.95)):
        place = quantile(range(len(ranked)), share)
        if place is not None:
            volume, missed = ranked[int(place)]
            out |= {f"{name}_m3": volume, f"{name}_missed": missed}
    for name, most in (("5_bbl", SMALL), ("10_bbl", LARGE)):
        hits = sum(not missed and volume <= most + _EPS for volume, missed in ranked)
        share_hit = hits / len(ranked) if ranked else None
        lower = share_lower(hits, len(ranked))
        out |= {f"called_by_{name}": share_hit, f"called_by_{name}_lower": lower}
    return out


def labels(judged: Sequence[Judged]) -> dict[str, dict[str, int]]:
    """Return for each kind of event how often each kind of call came first; "" is none."""
    out: dict[str, Counter[str]] = {}
    for j in judged:
        out.setdefault(j.kind, Counter())[j.match.label] += 1
    return {kind: dict(found.most_common()) for kind, found in out.items()}


def others(judged: Sequence[Judged]) -> dict[str, dict[str, int]]:
    """Return for each kind of event which calls of other families came besides, in runs."""
    out: dict[str, Counter[str]] = {}
    for j in judged:
        out.setdefault(j.kind, Counter()).update(j.match.others)
    return {kind: dict(found.most_common()) for kind, found in out.items()}
