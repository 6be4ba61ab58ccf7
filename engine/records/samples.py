"""Cuttings samples of a recording: drilled when, at the shakers when, or how many strokes to go."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import floor, isfinite
from typing import Any

import numpy as np

from engine.alarms.entries import number
from engine.block import FloatArray
from engine.config import WellConfig
from engine.errors import InputError
from engine.interfaces import Recording
from engine.ops.flow import FLOWING, PUMP_RATES
from engine.ops.lag import Lag
from engine.ops.lag_log import UNSEEN
from engine.ops.primitives import NAN, hold, last_good, previous, running_max
from engine.ops.table import pick
from engine.records.in_spans import in_spans
from engine.records.journal import iso
from engine.well.lag_times import MOST_SAMPLES

CHANNELS = (
    "flow_in", "flow_difference", "bit_depth", "hole_depth", "pump_strokes", *PUMP_RATES,
)  # fmt: skip
"""What the schedule is worked out from."""
SPAN_S = 6 * 3600.0
"""Read at once; any span gives the same. [s]"""
SOON_S = 60.0
"""A lag that was unknown for longer does not tell when a sample came up meanwhile. [s]"""


@dataclass(frozen=True, slots=True)
class DrilledSample:
    """One depth that was drilled; times in s since 1970-01-01 UTC, None: not known."""

    depth: float
    """[m]"""
    drilled: float | None
    state: str = "coming"
    """``coming``, ``surfaced`` or ``unknown``: it came, or will come, at nobody knows when."""
    at: float | None = None
    """When it was at the shakers, or will be at the present flow; None without flow."""
    strokes: float | None = None
    """To go. [-]"""


@dataclass(frozen=True, slots=True)
class Schedule:
    """All samples of a recording at its end."""

    every: float
    """[m]"""
    now: float | None
    """End of the recording; None: nothing was recorded. [s since 1970-01-01 UTC]"""
    hole: float | None
    """[m]"""
    lagged: float | None
    """At the shakers now. [m]"""
    flow: float | None
    """[m3/s]"""
    samples: tuple[DrilledSample, ...]

    @property
    def next(self) -> DrilledSample | None:
        """The first one still to come."""
        return next((s for s in self.samples if s.state == "coming"), None)


@dataclass(slots=True)
class _Catch:
    """Samples so far, from one table to the next."""

    every: float
    samples: list[DrilledSample] = field(default_factory=list)
    waiting: int = 0
    """How many of them are not up yet: the last ones. [-]"""
    hole: float = NAN
    lagged: float = NAN
    known_at: float = NAN
    """When the lagged depth was last known. [s]"""

    def take(self, t: FloatArray, hole: FloatArray, lagged: FloatArray) -> None:
        deepest = running_max(hole, self.hole)
        if not t.size:
            return
        self._drill(t, deepest)
        self._surface(t, lagged)
        self.hole = float(deepest[-1])

    def _drill(self, t: FloatArray, deepest: FloatArray) -> None:
        known = deepest[~np.isnan(deepest)]
        if not known.size:
            return
        start = known[0] if np.isnan(self.hole) else self.hole
        first, last = floor(start / self.every + 1e-9) + 1, floor(known[-1] / self.every + 1e-9)
        if len(self.samples) + last - first >= MOST_SAMPLES:
            raise InputError(
                f"samples: {last - first + 1} samples at an interval of {self.every:g} m; "
                f"a list takes {MOST_SAMPLES}, so take a longer interval"
            )
        for k in range(first, last + 1):
            i = int(np.searchsorted(deepest, k * self.every - 1e-9))
            before = deepest[i - 1] if i else start
            seen = deepest[i] - before <= UNSEEN
            self.samples.append(DrilledSample(k * self.every, float(t[i]) if seen else None))
            self.waiting += 1

    def _surface(self, t: FloatArray, lagged: FloatArray) -> None:
        known = ~np.isnan(lagged)
        top = running_max(lagged, self.lagged)
        known_at = previous(hold(t, known, self.known_at), self.known_at)
        while self.waiting:
            sample = self.samples[-self.waiting]
            if not top[-1] >= sample.depth - 1e-9:
                break
            i = int(np.searchsorted(last_good(top, -np.inf), sample.depth - 1e-9))
            sure = t[i] - known_at[i] <= SOON_S
            state, at = ("surfaced", float(t[i])) if sure else ("unknown", None)
            self.samples[-self.waiting] = replace(sample, state=state, at=at)
            self.waiting -= 1
        self.lagged = float(top[-1])
        self.known_at = float(hold(t, known, self.known_at)[-1])


def sample_schedule(recording: Recording, config: WellConfig, every: float) -> Schedule:
    """Work out the samples of a recording, one at each whole multiple of `every`.

    Parameters
    ----------
    recording : Recording
        Only read; the lag is worked out again from its strokes, flow and depths.
    config : WellConfig
        Pumps, string, hole and slip of cuttings.
    every : float
        Interval. [m]

    Returns
    -------
    Schedule
        Every depth drilled while it was recorded, from the top down. A sample is ``unknown``
        if it was on its way when the lag was lost: at a trip, with no returns, or because
        pumping was missed.

    Raises
    ------
    InputError
        If `every` is not a length above 0, or so short that there would be too many samples.
    """
    if not (isfinite(every) and every > 0):
        raise InputError(f"samples: the interval must be a length above 0, got {every:g} m")
    lag, catch, last = Lag(config), _Catch(every), None
    for table in in_spans(recording, SPAN_S, CHANNELS):
        lagged = lag.process(table)["lagged_depth"]
        catch.take(lagged.t, pick(table, "hole_depth").usable(), lagged.value)
        flow = pick(table, "flow_in").usable()
        last = (lagged.t[-1], number(lagged.value[-1]), number(flow[-1]))
    if last is None:
        return Schedule(every, None, None, None, None, ())
    now, shown, flow_now = float(last[0]), last[1], last[2]
    samples = catch.samples
    for i in range(len(samples) - catch.waiting, len(samples)):
        samples[i] = _coming(samples[i], lag, now, flow_now)
    return Schedule(every, now, number(catch.hole), shown, flow_now, tuple(samples))


def _coming(sample: DrilledSample, lag: Lag, now: float, flow: float | None) -> DrilledSample:
    volume = lag.to_go(sample.depth)
    if not isfinite(volume):
        return replace(sample, state="unknown")
    going = flow is not None and flow > FLOWING
    at = now + volume / flow if going and flow else None
    return replace(sample, at=at, strokes=number(volume / lag.state.per_stroke))


def as_json(schedule: Schedule, recording: str) -> dict[str, Any]:
    """Return the schedule as JSON values.

    Times are ISO 8601 UTC, depths metres; None is what is not known. Keys: recording, now,
    every_m, hole_m, lagged_m, flow_in_m3_s, next, samples; each sample has depth_m, drilled,
    state, at_shakers and strokes_to_go, and next is the first one to come.
    """
    found = schedule.next
    return {
        "recording": recording,
        "now": _iso(schedule.now),
        "every_m": schedule.every,
        "hole_m": schedule.hole,
        "lagged_m": schedule.lagged,
        "flow_in_m3_s": schedule.flow,
        "next": None if found is None else _sample(found),
        "samples": [_sample(sample) for sample in schedule.samples],
    }


def _sample(sample: DrilledSample) -> dict[str, Any]:
    return {
        "depth_m": round(sample.depth, 6),
        "drilled": _iso(sample.drilled),
        "state": sample.state,
        "at_shakers": _iso(sample.at),
        "strokes_to_go": None if sample.strokes is None else round(sample.strokes, 1),
    }


def _iso(at: float | None) -> str | None:
    return None if at is None else iso(at)
