"""How good the alarms of a tour were to the driller: each metric against its target.

One driller drives the machine and answers its alarms, so the rates of one operator are a ceiling
and not a goal.

References
----------
.. [1] HSE Chemicals Sheet 6, Better alarm handling, 2000: long-term average, first ten minutes.
.. [2] EEMUA 191 (paid; not at hand), as told by consultants' papers: hour, day, peaks, split.
.. [3] ANSI/ISA-18.2 (paid; not at hand), from memory: the greatest that can be managed, the
   shares of periods and of floods, top ten, stale.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from itertools import combinations
from typing import Any

import numpy as np

from engine.alarms.history import History, Kept, Told, history
from engine.block import FloatArray
from engine.interfaces import JournalLine
from engine.records.journal import iso

MINUTE, TEN_MINUTES, HOUR, DAY = 60.0, 600.0, 3600.0, 86400.0
FLEETING_S = 10.0
"""Cleared within this without anybody doing anything, alone in its minute. Our own choice. [s]"""
CHATTERS = 3
"""Times within a minute that an alarm comes and goes. Published article on chattering. [-]"""
STALE_S = DAY
TOGETHER_S, TOGETHER_TIMES, TOGETHER_SHARE = 10.0, 3, 0.8
"""Two alarms that come within so many seconds of each other, so often, and in this share of the
times of both, say the same thing. Our own choice."""
HASTE_S, HASTE = 10.0, 3
"""So many acknowledgements within so many seconds are hardly read. Our own choice."""


@dataclass(frozen=True, slots=True)
class Metric:
    """One number and what it should be."""

    id: str
    label: str
    value: float | None
    """None: the tour is too short to say."""
    target: float
    relation: str
    """``<=``, ``<`` or ``>=``: how the value should stand to the target."""
    unit: str = ""
    manageable: float | None = None
    """The most that can be managed at all. [3]_"""

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None if there is no value."""
        if self.value is None:
            return None
        return {
            "<=": self.value <= self.target,
            "<": self.value < self.target,
            ">=": self.value >= self.target,
        }[self.relation]


def performance(
    lines: Iterable[JournalLine], start: float, end: float, recording: str = ""
) -> dict[str, Any]:
    """Work out every metric from a journal.

    Parameters
    ----------
    lines : iterable of JournalLine
        The whole journal up to `end`.
    start, end : float
        What was watched. [s since 1970-01-01 UTC]
    recording : str
        Its name, for the head of the report.

    Returns
    -------
    dict
        JSON values: recording, start, end, hours, alarms; metrics (each `Metric`, with met); and
        the lists behind them: top, chattering, fleeting, stale, redundant, shelved,
        out_of_service, limits_changed, hasty_acknowledgements, silences, escalated,
        unacknowledged.
    """
    h = history(lines)
    told = [one for one in h.told if start <= one.at <= end]
    at = np.array([one.at for one in told])
    top = Counter(one.id for one in told).most_common(10)
    chatter, fleeting = _chattering(told), _fleeting(told)
    stale = [one for one in told if not one.again and (one.cleared or end) - one.since > STALE_S]
    metrics = [*_rates(at, start, end), *_split(told)]
    metrics += [
        _share("hours_over_30", "hours with more than 30", at, start, end, HOUR, 30),
        _share("tens_over_10", "10 min with more than 10", at, start, end, TEN_MINUTES, 10),
        Metric("flood", "time in flood", _flood(h, start, end), 1.0, "<", "%"),
        Metric("top_ten", "share of the ten commonest", _of(sum(n for _, n in top), len(told)),
               5.0, "<", "%"),
        Metric("chattering", "chattering alarms", len(chatter), 0, "<="),
        Metric("fleeting", "fleeting alarms", len(fleeting), 0, "<="),
        Metric("stale", "standing over 24 h at once", _at_once(stale, end), 5, "<"),
        Metric("unauthorised", "kept quiet or changed without word", h.unauthorised, 0, "<="),
    ]  # fmt: skip
    return {
        "recording": recording,
        "start": iso(start),
        "end": iso(end),
        "hours": (end - start) / HOUR,
        "alarms": len(told),
        "metrics": [asdict(m) | {"met": m.met} for m in metrics],
        "top": [{"id": name, "times": n} for name, n in top],
        "chattering": [{"id": name, "times": n} for name, n in chatter.items()],
        "fleeting": [{"id": one.id, "at": iso(one.at)} for one in fleeting],
        "stale": [{"id": one.id, "at": iso(one.since)} for one in stale],
        "redundant": _redundant(told),
        "shelved": [_kept(one, end) for one in h.shelved],
        "out_of_service": [_kept(one, end) for one in h.out_of_service],
        "limits_changed": [one | {"at": iso(one["at"])} for one in h.changes],
        "hasty_acknowledgements": _most(np.array(h.acknowledgements), HASTE_S, HASTE),
        "silences": h.silences,
        "escalated": h.escalated,
        "unacknowledged": sum(one.acknowledged is None for one in told),
    }


def _of(part: float, whole: float) -> float | None:
    """Return `part` in percent of `whole`, None of nothing."""
    return 100.0 * part / whole if whole else None


def _per(at: FloatArray, start: float, end: float, period: float) -> float | None:
    """Return the average in a period, None if less than one of ten minutes was watched."""
    return at.size * period / (end - start) if end - start >= TEN_MINUTES else None


def _busiest(at: FloatArray, period: float) -> int:
    """Return the most within any `period`, wherever it begins. [-]"""
    if not at.size:
        return 0
    first = np.searchsorted(at, at - period, side="right")
    return int((np.arange(1, at.size + 1) - first).max())


def _most(at: FloatArray, period: float, least: int) -> int:
    """Return how often at least `least` came within `period`, overlapping ones once. [-]"""
    found, i = 0, 0
    while i + least <= at.size:
        if at[i + least - 1] - at[i] <= period:
            found += 1
            i = int(np.searchsorted(at, at[i] + period, side="right"))
        else:
            i += 1
    return found


def _rates(at: FloatArray, start: float, end: float) -> list[Metric]:
    def mean(period: float) -> float | None:
        return _per(at, start, end, period)

    return [
        Metric("per_10_min", "average in 10 min", mean(TEN_MINUTES), 1, "<=", manageable=2),
        Metric("per_hour", "average in an hour", mean(HOUR), 5, "<=", manageable=12),
        Metric("per_day", "average in a day", mean(DAY), 120, "<=", manageable=300),
        Metric("busiest_10_min", "busiest 10 min", _busiest(at, TEN_MINUTES), 10, "<="),
        Metric("busiest_hour", "busiest hour", _busiest(at, HOUR), 15, "<="),
        Metric("busiest_minute", "busiest minute", _busiest(at, MINUTE), 2, "<="),
    ]


def _split(told: Sequence[Told]) -> list[Metric]:
    n = Counter(one.priority for one in told)
    low = n[3] + n[4]
    return [
        Metric("high", "share of priority 1", _of(n[1], len(told)), 5, "<=", "%"),
        Metric("medium", "share of priority 2", _of(n[2], len(told)), 15, "<=", "%"),
        Metric("low", "share of priority 3 and 4", _of(low, len(told)), 80, ">=", "%"),
    ]


def _share(
    id_: str, label: str, at: FloatArray, start: float, end: float, period: float, over: int
) -> Metric:
    """Share of the periods from `start` on, the last one maybe cut short, with more than `over`."""
    periods = max(1, int(np.ceil((end - start) / period))) if end > start else 0
    n = (
        np.bincount(np.minimum((at - start) // period, periods - 1).astype(np.intp))
        if periods
        else at
    )
    return Metric(id_, label, _of(int((n > over).sum()), periods), 1.0, "<", "%")


def _flood(h: History, start: float, end: float) -> float | None:
    seconds = sum(max(0.0, min(end if b is None else b, end) - max(a, start)) for a, b in h.floods)
    return _of(seconds, end - start)


def _by_id(told: Iterable[Told]) -> dict[str, list[Told]]:
    out: dict[str, list[Told]] = {}
    for one in told:
        out.setdefault(one.id, []).append(one)
    return out


def _chattering(told: Sequence[Told]) -> dict[str, int]:
    """Alarms that came and went three times or more within a minute, and how often that was."""
    out = {}
    for name, all_ in _by_id(told).items():
        gone = [one for one in all_ if one.cleared is not None]
        i = times = 0
        while i + CHATTERS <= len(gone):
            last = gone[i + CHATTERS - 1].cleared
            if last is not None and last - gone[i].at <= MINUTE:
                times += 1
                i += CHATTERS
            else:
                i += 1
        if times:
            out[name] = times
    return out


def _fleeting(told: Sequence[Told]) -> list[Told]:
    """Alarms that went before anybody did anything, and did not come again."""
    out = []
    for all_ in _by_id(told).values():
        for i, one in enumerate(all_):
            alone = all(
                abs(other.at - one.at) > MINUTE
                for other in (*all_[i - 1 : i], *all_[i + 1 : i + 2])
            )
            gone = one.cleared is not None and one.cleared - one.at <= FLEETING_S
            seen = one.acknowledged is not None and one.acknowledged <= (one.cleared or one.at)
            if gone and alone and not seen:
                out.append(one)
    return sorted(out, key=lambda one: one.at)


def _at_once(stale: Sequence[Told], end: float) -> int:
    """Return how many alarms that stood longer than a day did so at the same moment at most."""
    spans = [(one.since + STALE_S, one.cleared or end) for one in stale]
    return max((sum(a <= at < b for a, b in spans) for at, _ in spans), default=0)


def _redundant(told: Sequence[Told]) -> list[dict[str, Any]]:
    """Pairs of alarms that nearly always come together."""
    at = {name: np.array([one.at for one in all_]) for name, all_ in _by_id(told).items()}
    out = []
    for a, b in combinations(at, 2):
        near = [
            int((np.abs(y[np.newaxis, :] - x[:, np.newaxis]).min(axis=1) <= TOGETHER_S).sum())
            for x, y in ((at[a], at[b]), (at[b], at[a]))
        ]
        often = min(near) >= TOGETHER_TIMES
        if often and min(near[0] / at[a].size, near[1] / at[b].size) >= TOGETHER_SHARE:
            out.append({"ids": [a, b], "times": min(near)})
    return out


def _kept(one: Kept, end: float) -> dict[str, Any]:
    """Return a time on the shelf or out of service; ``end`` None: it goes on."""
    until = end if one.end is None else one.end
    return {
        "id": one.id, "start": iso(one.start), "end": None if one.end is None else iso(one.end),
        "seconds": until - one.start, "who": one.who, "authoriser": one.authoriser,
        "reason": one.reason,
    }  # fmt: skip
