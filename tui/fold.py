"""One fold for watching and for replay: rows, journal and health into a `Snapshot`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from engine.block import Quality
from engine.config import Alarm, WellConfig
from engine.interfaces import FeedHealth
from engine.records.tours import tour_start, zone_name
from engine.snapshot import Connection, Reading, Snapshot, Trends, WatchView
from engine.states import STATE_IDS
from tui.connections import Connections
from tui.happenings import Happenings
from tui.samples import Samples
from tui.words import why_gone

CONNECTIONS_SHOWN = 5
"""Last connections to compare the one at hand with. [-]"""
READ_SLACK_S = 3.0
"""A row may be this late on the wall clock (write, commit, read) before it counts as old. [s]"""


@dataclass(slots=True)
class Fold:
    """Rows and journal of one well, folded up to any moment."""

    config: WellConfig
    samples: Samples = field(default_factory=Samples)
    happenings: Happenings = field(init=False)
    connections: Connections = field(default_factory=Connections)
    _zone: tzinfo = field(init=False)

    def __post_init__(self) -> None:
        self._zone = _zone_of(self.config)
        self.happenings = self.fresh_happenings()

    def fresh_happenings(self) -> Happenings:
        """Return the fold of an empty journal."""
        return Happenings({a.id: a for a in self.config.alarms}, self.config.display_units())

    def snapshot(
        self, now: float, watch: WatchView, feeds: Sequence[FeedHealth], n: int | None = None
    ) -> Snapshot:
        """Show the first `n` rows as they stand at `now` on the recording's clock.

        Rows older than a feed's stale limit (plus `READ_SLACK_S` of wall time) give no value:
        the newest row then says nothing about now.
        """
        count = self.samples.size if n is None else n
        limit = max((f.stale_after for f in self.config.feeds), default=5.0)
        late = READ_SLACK_S * max(1.0, watch.speed)
        times = self.samples.times(count)
        reason = "" if count and now - times[-1] <= limit + late else "no data"
        if not watch.alive:
            reason = "watch ended" if watch.ended else "watch stopped"
        state = self._number("rig_state", count, reason)
        rig_state = STATE_IDS[int(state)] if state is not None else "unknown"
        return Snapshot(
            well=self.config.well,
            now=now,
            watch=watch,
            feeds=tuple(feeds),
            readings=self._readings(count, now, rig_state, reason),
            rig_state=rig_state,
            rig_state_since=self._number("rig_state_since", count, reason),
            connection=self._connection(count, reason),
            alarms=self.happenings.listed(),
            suppressed=self.happenings.suppressed(),
            horn=self.happenings.horn(),
            trends=Trends(times, self.samples.curves(count)),
            log=tuple(self.happenings.log),
            units=self.config.display_units(),
            limits=self.happenings.limits(),
            calls=dict(self.happenings.calls),
            blind=dict(self.happenings.blind),
            crown_due=self._crown_due(now),
            urgency=self.happenings.urgency(),
            sound=self.happenings.sound,
            second_copy=self.happenings.second_copy,
        )

    def _crown_due(self, now: float) -> str:
        tour = tour_start(self.config.tour, self._zone, now) if np.isfinite(now) else None
        due = self.happenings.upkeep.crown_due(now, tour)
        return "" if due is None else due.reason

    def _number(self, channel: str, n: int, reason: str) -> float | None:
        column = self.samples.columns.get(channel)
        if reason or column is None or n == 0:
            return None
        value = float(column.value.view(n)[-1])
        return None if np.isnan(value) else value

    def _connection(self, n: int, reason: str) -> Connection:
        slips = self._number("in_slips", n, reason)
        stands = self._number("stand_count", n, reason)
        self.connections.take(self.samples)
        return Connection(
            in_slips=None if slips is None else slips > 0.5,
            slips_since=self._number("slips_since", n, reason),
            stands=None if stands is None else int(stands),
            stand_remaining=self._number("stand_remaining", n, reason),
            past=self.connections.past(n, CONNECTIONS_SHOWN),
        )

    def _readings(self, n: int, now: float, state: str, reason: str) -> Mapping[str, Reading]:
        times = self.samples.times(n)
        out: dict[str, Reading] = {}
        for name, column in self.samples.columns.items():
            low, high = nearest_limits(self.config.alarms, name, state)
            if n == 0:
                out[name] = Reading(name, None, 0, float("inf"), reason, low, high)
                continue
            value = float(column.value.view(n)[-1])
            quality = int(column.quality.view(n)[-1])
            row = int(column.measured.view(n)[-1])
            age = max(0.0, now - float(times[row])) if row >= 0 else float("inf")
            why = reason
            if not why and np.isnan(value):
                why = why_gone(name, quality)
                if quality & Quality.NOT_APPLICABLE and state == "in_slips":
                    why = "in slips"
            out[name] = Reading(name, None if why else value, quality, age, why, low, high)
        return out


def _zone_of(config: WellConfig) -> tzinfo:
    """Return the zone of the tours; UTC on a computer that does not know it."""
    with suppress(ZoneInfoNotFoundError):
        return ZoneInfo(zone_name(config))
    return UTC


def nearest_limits(
    alarms: Sequence[Alarm], channel: str, state: str
) -> tuple[float | None, float | None]:
    """Return the nearest low and high limit [SI] of the alarms of `channel` armed in `state`.

    While the rig state is unknown all of them count: not knowing never disarms.
    """
    unknown = state == "unknown"
    armed = [a for a in alarms if a.channel == channel and (unknown or state in a.armed)]
    lows = [a.low for a in armed if a.low is not None]
    highs = [a.high for a in armed if a.high is not None]
    return max(lows, default=None), min(highs, default=None)


def blind(snapshot: Snapshot, problem: str) -> Snapshot:
    """Return `snapshot` as it must look when nothing newer can be read: no value shown."""
    readings = {
        name: replace(reading, value=None, reason=reading.reason or "cannot read")
        for name, reading in snapshot.readings.items()
    }
    return replace(
        snapshot,
        readings=readings,
        rig_state="unknown",
        rig_state_since=None,
        connection=Connection(None, None, None, None, snapshot.connection.past),
        watch=replace(snapshot.watch, alive=False, ended=False, problem=problem),
    )
