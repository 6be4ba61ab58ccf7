"""How long connections take, part by part, and how a tour of them adds up.

Times are those at which a state really began: each state must hold for a while, and is dated to
the start of that while. Surveys, flow checks and circulating in between are no part of a target;
the caller says which connections to leave out, and no number is ever given to a person.

References
----------
.. [1] Common practice, no source: slip to slip, weight to weight, pumps off to pumps on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray, Mask
from engine.errors import InputError
from engine.well.answer import Answer, Unknown

IntArray = npt.NDArray[np.intp]

HOLD = {"slips": 3.0, "pumps": 5.0, "weight": 10.0, "bottom": 5.0}
"""A state shorter than this is noise. [s] common practice, no source"""
LONGEST_GAP = 30.0
"""Time without samples over which nothing is known. [s]"""
GAP = Unknown("the record has a gap")

MOMENTS = (
    "left_bottom", "weight_off", "pumps_off", "slips_set", "slips_out", "pumps_on",
    "on_bottom", "weight_on",
)  # fmt: skip
"""Moments of a connection by name, in the usual order."""


@dataclass(frozen=True, slots=True)
class Record:
    """Samples from which connections are found; all shape (n,)."""

    t: FloatArray
    """Increasing. [s]"""
    slips: Mask
    """In slips."""
    pumps: Mask
    """Flow above a share of the drilling flow."""
    weight: Mask
    """Weight on bit above its threshold."""
    bottom: Mask
    """Bit on bottom."""
    known: Mask | None = None
    """False where any of them is not known; None: all are."""


@dataclass(frozen=True, slots=True)
class Connection:
    """One time in slips, from the drilling before it to the drilling after it.

    Weight off and off bottom are the last before the slips, on again the first after them;
    pumps off is the first after weight off, pumps on the first after that.
    """

    at: Mapping[str, Answer]
    """Moments by name. [s]"""
    gaps: Mapping[str, int]
    """Gaps of the record up to each moment. [-]"""

    def between(self, first: str, last: str) -> Answer:
        """Return the time from one moment to another; unknown over a gap. [s]"""
        a, b = self.at[first], self.at[last]
        if isinstance(a, Unknown):
            return a
        if isinstance(b, Unknown):
            return b
        if self.gaps[first] != self.gaps[last]:
            return GAP
        return b - a if b >= a else Unknown(f"{_words(last)} came before {_words(first)}")

    @property
    def slip_to_slip(self) -> Answer:
        """[s]."""
        return self.between("slips_set", "slips_out")

    @property
    def weight_to_weight(self) -> Answer:
        """[s]."""
        return self.between("weight_off", "weight_on")

    @property
    def pumps_off_to_on(self) -> Answer:
        """[s]."""
        return self.between("pumps_off", "pumps_on")

    @property
    def bottom_to_bottom(self) -> Answer:
        """[s]."""
        return self.between("left_bottom", "on_bottom")

    @property
    def pre_slip(self) -> Answer:
        """Weight off to slips set. [s]"""
        return self.between("weight_off", "slips_set")

    @property
    def post_slip(self) -> Answer:
        """Slips out to weight on. [s]"""
        return self.between("slips_out", "weight_on")

    def time_line(self) -> tuple[tuple[str, str, float], ...]:
        """Return the parts in order of time: from, to, seconds; they add up to the whole.

        Moments that are not known are left out, so their part is in the one around them. A
        part with a gap in it is left out.
        """
        known = [(at, name) for name, at in self.at.items() if not isinstance(at, Unknown)]
        known.sort(key=lambda pair: (pair[0], MOMENTS.index(pair[1])))
        return tuple(
            (a, b, end - start)
            for (start, a), (end, b) in pairwise(known)
            if self.gaps[a] == self.gaps[b]
        )


def steady(t: FloatArray, state: Mask, hold: float) -> Mask:
    """Leave out changes that do not last `hold`; those that do keep their first sample.

    Parameters
    ----------
    t : ndarray
        Increasing, shape (n,). [s]
    state : ndarray of bool
        Shape (n,).
    hold : float
        [s]

    Returns
    -------
    ndarray of bool
        Shape (n,). The state at the start and one still running at the end are kept.
    """
    if not state.size:
        return state.copy()
    begin = np.flatnonzero(np.r_[True, state[1:] != state[:-1]])
    lasts = np.append(t[begin[1:]], np.inf) - t[begin]
    lasts[0] = np.inf
    out = np.empty_like(state)
    held = bool(state[0])
    ends = np.append(begin[1:], state.size)
    for a, b, long in zip(begin.tolist(), ends.tolist(), (lasts >= hold).tolist(), strict=True):
        held = bool(state[a]) if long else held
        out[a:b] = held
    return out


def connections(record: Record, longest_gap: float = LONGEST_GAP) -> tuple[Connection, ...]:
    """Find every time in slips, and what belongs to it.

    Parameters
    ----------
    record : Record
    longest_gap : float
        Samples further apart are a gap. [s]

    Returns
    -------
    tuple of Connection
        By time. A moment is unknown if it is not in the record, if another time in slips
        comes before it, or if it fell into a gap of the record.

    Raises
    ------
    InputError
        If the arrays differ in length or time does not increase.
    """
    t, n = record.t, record.t.size
    known = np.ones(n, np.bool_) if record.known is None else record.known
    arrays = (record.slips, record.pumps, record.weight, record.bottom, known)
    if any(a.shape != t.shape for a in arrays):
        raise InputError(f"connections: {n} times, states of {[a.size for a in arrays]}")
    if not bool(np.all(np.diff(t) > 0)):
        raise InputError("connections: times must increase")
    slips = steady(t, record.slips, HOLD["slips"])
    pumps = steady(t, record.pumps, HOLD["pumps"])
    weight = steady(t, record.weight, HOLD["weight"])
    bottom = steady(t, record.bottom, HOLD["bottom"])
    lost = np.zeros(n, np.intp)  # how many gaps up to each sample
    if n:
        lost[0] = int(not known[0])
        lost[1:] = lost[0] + np.cumsum((np.diff(t) > longest_gap) | ~known[1:])
    sets, outs = _turns(slips, to=True), _turns(slips, to=False)
    if n and slips[0]:
        sets = np.append(-1, sets).astype(np.intp)
    found = []
    for k, start in enumerate(sets.tolist()):
        end = int(outs[k]) if k < outs.size else n
        before = int(outs[k - 1]) if k else 0
        after = int(sets[k + 1]) if k + 1 < sets.size else n
        off, on = _around(weight, before, start, end, after)
        left, back = _around(bottom, before, start, end, after)
        stops = _turns(pumps, to=False)
        idle = _first(stops, before if off is None else off, end)
        if idle is None:  # the pumps went off before the weight
            idle = _last(stops, before, end)
        rows = {
            "slips_set": start if start > 0 else None,
            "slips_out": end if end < n else None,
            "weight_off": off,
            "weight_on": on,
            "left_bottom": left,
            "on_bottom": back,
            "pumps_off": idle,
            "pumps_on": _first(
                _turns(pumps, to=True),
                max(start if idle is None else idle, 0),
                after - 1 if on is None else on,
            ),
        }
        found.append(_dated(t, lost, rows))
    return tuple(found)


def _around(
    state: Mask, before: int, start: int, end: int, after: int
) -> tuple[int | None, int | None]:
    """Row at which `state` was last lost before the slips, first gained after them."""
    off = _last(_turns(state, to=False), before, start)
    return off, _first(_turns(state, to=True), end, after - 1)


def _dated(t: FloatArray, lost: IntArray, rows: Mapping[str, int | None]) -> Connection:
    at: dict[str, Answer] = {}
    for name in MOMENTS:
        row = rows[name]
        if row is None:
            at[name] = Unknown(f"{_words(name)} is not in the record")
        else:  # a change is seen between two samples: not where the gap is between them
            at[name] = GAP if lost[row] > lost[row - 1] else float(t[row])
    gaps = {name: 0 if row is None else int(lost[row]) for name, row in rows.items()}
    return Connection(at, gaps)


def _turns(state: Mask, *, to: bool) -> IntArray:
    """Rows at which `state` becomes `to`."""
    rows: IntArray = np.flatnonzero((state[1:] == to) & (state[:-1] != to)) + 1
    return rows


def _first(rows: IntArray, low: int, high: int) -> int | None:
    inside = rows[(rows >= low) & (rows <= high)]
    return int(inside[0]) if inside.size else None


def _last(rows: IntArray, low: int, high: int) -> int | None:
    inside = rows[(rows >= low) & (rows <= high)]
    return int(inside[-1]) if inside.size else None


def _words(name: str) -> str:
    return name.replace("_", " ")
