"""Faults of single sensors that rows show: out of range, saturated, spikes, dropouts.

References
----------
.. [1] F. R. Hampel, The influence curve and its role in robust estimation, J. Amer. Statist.
   Assoc. 69, 1974, 383-393: median and scaled median deviation of a window.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, Quality, Table
from engine.channels import CHANNELS, Kind
from engine.detect.call import Seen
from engine.detect.influx import number
from engine.detect.settings_sensors import SensorSettings
from engine.ops.primitives import Delay, IntArray, previous
from engine.ops.table import times

Change = tuple[int, str, str, Mapping[str, Any] | None]
"""Row, channel, kind of fault, the numbers behind it; None instead of them: it is over."""
SETTLE_S = 5.0
"""A fault of the range is over when it was good for so long. [s]"""
LOST = np.uint16(Quality.MISSING | Quality.REJECTED | Quality.STALE)
AT_END = 1e-3
"""Of the range: a reading so near its end is at the end. [-]"""
SIDE, MAD = 3, 1.4826
"""Neighbours on each side in the window of seven; scale of the median deviation [1]_. [-]"""
SPIKED = (
    "hook_load", "standpipe_pressure", "annulus_pressure", "flow_out", "pit_volume",
    "trip_tank_volume", "temperature_in", "temperature_out", "density_in", "density_out",
)  # fmt: skip
"""Sensors of what cannot jump and be back within a sample: torque can. [-]"""
FLOORS = {
    "force": 5e4, "pressure": 3.5e5, "flow": 3e-3, "volume": 0.3, "temperature": 5.0,
    "density": 50.0,
}  # fmt: skip
"""By quantity, what noise does at rest, where a share of the reading is nothing. [SI]"""


def turns(mask: Mask, before: bool) -> IntArray:
    """Return the rows at which `mask` changes, shape (k,). [-]"""
    out: IntArray = np.flatnonzero(mask != previous(mask, before))
    return out


@dataclass(slots=True, eq=False)
class Ranges:
    """Readings out of a sensor's range, or stuck at the very end of it; both kept as they came."""

    settings: SensorSettings
    tops: Mapping[str, float]
    """Upper end of the range by channel. [SI]"""
    known: frozenset[str]
    """Channels whose gauge's own range is in the well file: its end means something."""
    delays: dict[tuple[str, str], Delay] = field(default_factory=dict)
    last: dict[str, float] = field(default_factory=dict)
    """Newest value by channel. [SI]"""

    def process(self, rows: Table) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        for channel in self.tops:
            if channel not in rows:
                continue
            block = rows[channel]
            over = (block.quality & np.uint16(Quality.OUT_OF_RANGE)) != 0
            if over.any() or (channel, "out of range") in self.delays:
                over &= ~np.isnan(block.value)
                yield from self._held(channel, "out of range", block, over, self.settings.over_s)
            if channel not in self.known:
                continue
            same = block.value == previous(block.value, self.last.get(channel, np.nan))
            if len(block):
                self.last[channel] = float(block.value[-1])
            end = same & block.good & (block.value >= self.tops[channel] * (1 - AT_END))
            yield from self._held(channel, "saturated", block, end, self.settings.saturated_s)

    def _held(
        self, channel: str, fault: str, block: Block, mask: Mask, seconds: float
    ) -> Iterable[Change]:
        """Yield where `mask` has held for so long; nothing is kept of a sensor that is well."""
        delay = self.delays.get((channel, fault))
        if delay is None:
            if not mask.any():
                return
            delay = self.delays[channel, fault] = Delay(seconds, SETTLE_S)
        before = delay.state.on
        on, _ = delay.process(block.t, mask)
        for row in turns(on, before).tolist():
            said = {"reading": number(block.value[row]), "range_end": number(self.tops[channel])}
            yield row, channel, fault, said if on[row] else None


@dataclass(slots=True, eq=False)
class Counted:
    """Things that are a fault when they come often: spikes, dropouts."""

    fault: str
    limit: int
    span: float
    """[s]"""
    seen: dict[str, deque[tuple[float, Mapping[str, Any]]]] = field(default_factory=dict)
    standing: set[str] = field(default_factory=set)

    def add(self, channel: str, t: float, said: Mapping[str, Any]) -> None:
        """Take one that happened at `t` [s]."""
        self.seen.setdefault(channel, deque()).append((t, said))

    def process(self, seen: Seen) -> Iterable[Change]:
        """Count at the end of each bin; yield what begins and ends."""
        queues = [
            (channel, queue)
            for channel, queue in self.seen.items()
            if len(queue) >= self.limit or channel in self.standing
        ]
        if not queues:
            return
        for row, t in zip(seen.bins.row.tolist(), seen.bins.t.tolist(), strict=True):
            for channel, queue in queues:
                while queue and queue[0][0] <= t - self.span:
                    queue.popleft()
                count = sum(at < t for at, _ in queue)
                if count >= self.limit and channel not in self.standing:
                    self.standing.add(channel)
                    newest = next(said for at, said in reversed(queue) if at < t)
                    yield row, channel, self.fault, {"count": count, "span_s": self.span, **newest}
                elif count == 0 and channel in self.standing:
                    self.standing.remove(channel)
                    yield row, channel, self.fault, None


@dataclass(slots=True, eq=False)
class Dropouts:
    """Sensors that come and go, or have gone for good; one that never sent is not missed."""

    counted: Counted
    silent_s: float
    """[s]"""
    channels: tuple[str, ...] = tuple(c.id for c in CHANNELS.values() if c.kind is Kind.RAW)
    lost: dict[str, bool] = field(default_factory=dict)
    silent: dict[str, Delay] = field(default_factory=dict)

    def process(self, seen: Seen) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        t = times(seen.rows)
        for channel in self.channels:
            if channel not in seen.rows or not t.size:
                continue
            block = seen.rows[channel]
            lost = (block.quality & LOST) != 0
            if channel not in self.silent:
                if block.good.any():
                    self.silent[channel] = Delay(self.silent_s, SETTLE_S)
                    lost &= np.maximum.accumulate(block.good)
                else:
                    continue
            fell = lost & ~previous(lost, self.lost.get(channel, False))
            self.lost[channel] = bool(lost[-1])
            for at in t[fell].tolist():
                self.counted.add(channel, at, {})
            yield from self._silent(channel, t, lost)
        yield from self.counted.process(seen)

    def _silent(self, channel: str, t: FloatArray, lost: Mask) -> Iterable[Change]:
        delay = self.silent[channel]
        before = delay.state.on
        if not (lost.any() or before or delay.state.run.code):
            return
        on, since = delay.process(t, lost)
        for row in turns(on, before).tolist():
            said = {"for_s": number(t[row] - since[row])}
            yield row, channel, "sends nothing", said if on[row] else None


@dataclass(slots=True, eq=False)
class Spikes:
    """Single readings far from their seven neighbours; two or more in a row are data.

    A spike is known three samples late. Bins take medians, so nothing that stands on them counts
    it; the reading itself is kept.
    """

    settings: SensorSettings
    counted: Counted
    waiting: list[Table] = field(default_factory=list)
    """Rows since the newest bin: nothing is counted before the next."""
    kept: dict[str, tuple[FloatArray, FloatArray]] = field(default_factory=dict)
    """Times and values of the newest six by channel. [s, SI]"""
    scale: dict[str, float] = field(default_factory=dict)
    """Largest size seen twice running. [SI]"""

    def process(self, seen: Seen) -> Iterable[Change]:
        """Yield what begins and ends in a block."""
        self.waiting.append({c: seen.rows[c] for c in SPIKED if c in seen.rows})
        if not len(seen.bins):
            return ()
        for channel in self.waiting[0]:
            self._channel(channel, [rows[channel] for rows in self.waiting])
        self.waiting = []
        return self.counted.process(seen)

    def _channel(self, channel: str, blocks: list[Block]) -> None:
        t, x = self.kept.get(channel, (np.empty(0), np.empty(0)))
        value = np.concatenate([b.value for b in blocks])
        bits = np.concatenate([b.quality for b in blocks])
        fresh = ((bits & np.uint16(BAD | Quality.HELD)) == 0) & ~np.isnan(value)
        if not fresh.any():
            return
        t = np.concatenate((t, np.concatenate([b.t for b in blocks])[fresh]))
        x = np.concatenate((x, value[fresh]))
        self.kept[channel] = t[-2 * SIDE :], x[-2 * SIDE :]
        if x.size <= 2 * SIDE:
            return
        scale, far = self.scale.get(channel, 0.0), FLOORS[CHANNELS[channel].quantity]
        twice = np.minimum(np.abs(x[1:]), np.abs(x[:-1]))
        self.scale[channel] = max(scale, float(twice[: 2 - 2 * SIDE].max()))
        step = np.abs(np.diff(x))
        jump = np.minimum(step[SIDE - 1 : -SIDE], step[SIDE : step.size - SIDE + 1])
        single = jump > far
        if not single.any():
            return  # most blocks
        size = np.maximum.accumulate(np.concatenate(([scale], twice)))[SIDE : x.size - SIDE]
        single &= jump > self.settings.spike_share * size
        for i in np.flatnonzero(single).tolist():
            window = x[i : i + 2 * SIDE + 1]
            middle = float(np.median(window))
            spread = MAD * float(np.median(np.abs(window - middle)))
            if abs(window[SIDE] - middle) > self.settings.spike_mads * spread:
                said = {"reading": number(window[SIDE]), "instead": number(middle)}
                self.counted.add(channel, float(t[i + 2 * SIDE]), said)
