"""Limits with deadband, on-delay and off-delay: when a value becomes an alarm and when not.

References
----------
.. [1] OPC 10000-9, OPC Unified Architecture part 9, B.1.5: a value trips when it has been
   beyond the limit for the whole on-delay; it does not return unless it comes back inside by
   the deadband; the off-delay works like the on-delay.
.. [2] OPC 30030, OPC UA for BACnet, 8.13.2: the high limit itself still counts as normal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray, Mask, same_length
from engine.config import Alarm
from engine.errors import InputError

_EARLY = 1e-6
"""A delay may end this much early: times since 1970 are kept to the microsecond. [s]"""
AT_ONCE = 1024
"""Rows worked on at once: few enough to stay in the cache; any number gives the same edges. [-]"""


class Edge(NamedTuple):
    """One alarm became abnormal, or stopped being so."""

    row: int
    alarm: int
    abnormal: bool
    at: float
    """[s since 1970-01-01 UTC]"""
    value: float
    """[SI]"""


@dataclass(frozen=True, slots=True, eq=False)
class LimitsState:
    """All that must outlive a block; arrays have the shape (k,), one entry an alarm."""

    at: float
    """Time of the newest row, NaN before the first. [s since 1970-01-01 UTC]"""
    good: Mask
    """The newest row was fit for use. [-]"""
    dead: FloatArray
    """Time so far in which there was nothing fit for use. [s]"""
    zone: npt.NDArray[np.int8]
    """Newest known place: 1 beyond the limit, 0 in the deadband, -1 inside. [-]"""
    since: FloatArray
    """When that zone was entered, on the clock that stands still while dead. [s]"""
    abnormal: Mask
    """[-]"""


class Limits:
    """All limits of a well, evaluated together.

    Parameters
    ----------
    alarms : sequence of Alarm
        k of them, each with one limit.

    Notes
    -----
    A high limit trips *above* it and clears *below* limit minus deadband; a low limit mirrors
    that. On the very limit, or anywhere in the deadband, the condition stays what it is. Both
    delays ask for the value to be beyond (inside) in every row of the delay.

    A row that is NaN or of bad quality neither trips nor clears. The delays are timed on a
    clock that stands still from the last good row to the next one: time nobody saw counts for
    nothing, and a line that drops out again and again cannot put an alarm off for ever. Two
    good rows far apart, with no row between them, do count: the safe side.

    Any split of the rows into blocks gives the same edges.
    """

    def __init__(self, alarms: Sequence[Alarm]) -> None:
        k = len(alarms)
        column = (k, 1)
        high = [a.high is not None for a in alarms]
        limit = [limit_of(a) for a in alarms]
        # A low limit is a high limit of the negated value; negation is exact.
        self._sign = np.where(np.array(high, np.bool_), 1.0, -1.0).reshape(column)
        self._trip = np.array(limit).reshape(column) * self._sign
        self._deadband = np.array([a.deadband for a in alarms]).reshape(column)
        self._back = self._trip - self._deadband
        self._on = np.array([a.on_delay_s for a in alarms]).reshape(column) - _EARLY
        self._off = np.array([a.off_delay_s for a in alarms]).reshape(column) - _EARLY
        self.state = LimitsState(
            float("nan"),
            np.zeros(k, np.bool_),
            np.zeros(k),
            np.zeros(k, np.int8),
            np.zeros(k),
            np.zeros(k, np.bool_),
        )

    def change(self, alarm: int, limit: float) -> None:
        """Put another limit [SI] to alarm number `alarm`; its delays start anew, what it is stays.

        The new limit is not part of `state`: whoever sets that must put the limits first.
        """
        self._trip[alarm] = limit * self._sign[alarm]
        self._back[alarm] = self._trip[alarm] - self._deadband[alarm]
        zone = self.state.zone.copy()
        zone[alarm] = 0
        self.state = replace(self.state, zone=zone)

    def process(
        self, t: FloatArray, value: Sequence[FloatArray], good: Sequence[Mask]
    ) -> list[Edge]:
        """Find the edges of one block.

        Parameters
        ----------
        t : ndarray
            Times, shape (n,), never decreasing. [s since 1970-01-01 UTC]
        value : sequence of ndarray
            One for each alarm, shape (n,): its channel. [SI]
        good : sequence of ndarray of bool
            One for each alarm, shape (n,): fit for use. [-]

        Returns
        -------
        list of Edge
            By row, then by alarm.

        Raises
        ------
        InputError
            If the shapes do not match.
        """
        same_length("limits: alarms", self._sign, value, good)
        same_length("limits: rows", t, *value, *good)
        out: list[Edge] = []
        for a in range(0, t.size, AT_ONCE):
            rows, shape = slice(a, a + AT_ONCE), (len(self._sign), min(AT_ONCE, t.size - a))
            found = self._some(
                t[rows],
                np.array([column[rows] for column in value], np.float64).reshape(shape),
                np.array([column[rows] for column in good], np.bool_).reshape(shape),
            )
            out += [edge._replace(row=a + edge.row) for edge in found]
        return out

    def _some(self, t: FloatArray, value: FloatArray, good: Mask) -> list[Edge]:
        """Find the edges of a few rows; those in which an alarm stays as it is cost little."""
        was = self.state
        signed = value * self._sign
        over, under = (signed > self._trip) & good, (signed < self._back) & good
        place = over.astype(np.int8) - under.astype(np.int8)
        dead = self._dead(t, good)
        still = ((place == was.zone[:, np.newaxis]) | ~good).all(axis=1)
        due = was.zone == np.where(was.abnormal, -1, 1)  # only its delay is waited for
        k = np.flatnonzero(~still | due)
        zone, since, abnormal = was.zone.copy(), was.since.copy(), was.abnormal.copy()
        out: list[Edge] = []
        if k.size:
            zones = _held(place[k], good[k], was.zone[k])
            clock = t - dead[k]
            begun = _held(clock, zones != _previous(zones, was.zone[k]), was.since[k])
            lasted = clock - begun
            trip = over[k] & (lasted >= self._on[k])
            clear = under[k] & (lasted >= self._off[k])
            states = _held(trip, trip | clear, was.abnormal[k])
            changed = np.argwhere((states != _previous(states, was.abnormal[k])).T)
            zone[k], since[k], abnormal[k] = zones[:, -1], begun[:, -1], states[:, -1]
            out = [
                Edge(i, int(k[j]), bool(states[j, i]), float(t[i]), float(value[k[j], i]))
                for i, j in changed.tolist()
            ]
        self.state = LimitsState(
            float(t[-1]), good[:, -1].copy(), dead[:, -1].copy(), zone, since, abnormal
        )
        return out

    def _dead(self, t: FloatArray, good: Mask) -> FloatArray:
        """Time so far in which there was nothing fit for use, shape (k, n). [s]"""
        was = self.state
        step = np.diff(t, prepend=t[0] if np.isnan(was.at) else was.at)
        lived = good & _previous(good, was.good)
        dead = np.repeat(was.dead[:, np.newaxis], t.size, axis=1)
        gaps = np.flatnonzero(~lived.all(axis=1))
        if gaps.size:
            part = np.where(lived[gaps], 0.0, step)
            part[:, 0] += was.dead[gaps]
            dead[gaps] = np.add.accumulate(part, axis=1, out=part)
        return dead


def limit_of(alarm: Alarm) -> float:
    """Return the one limit of `alarm`. [SI]"""
    limit = alarm.low if alarm.high is None else alarm.high
    if limit is None:
        raise InputError(f"alarm {alarm.id}: no limit; give either high or low")
    return limit


def _previous(x: npt.NDArray[Any], carry: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Each sample's predecessor in its row; the first one's is `carry`, shape (k, n)."""
    out = np.empty_like(x)
    out[:, 1:] = x[:, :-1]
    out[:, 0] = carry
    return out


def _held(x: npt.NDArray[Any], mask: Mask, carry: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """`x` at the newest true of `mask` in its row, `carry` before the first, shape (k, n)."""
    at = np.where(mask, np.arange(1, mask.shape[1] + 1), 0)
    np.maximum.accumulate(at, axis=1, out=at)
    joined = np.concatenate((carry[:, np.newaxis], x), axis=1)
    return np.take_along_axis(joined, at, axis=1)
