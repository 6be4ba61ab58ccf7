"""Events to rows: one row a moment, every mapped channel in it, with its age honest.

A value is repeated (``HELD``) while it is no older than its feed's limit; after that it is
``STALE`` and NaN. A lost line takes the values of its feed away at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Quality, QualityArray
from engine.channels import RAW
from engine.errors import InputError
from engine.events import BadLine, Frame, LinkDown, LinkUp, Tick
from engine.ops.primitives import hold
from engine.units import UNITS

_MISSING = {"rejected": int(Quality.REJECTED)}
_LOST = int(Quality.LINK_DOWN)
_BACK = int(Quality.STALE)


def stamp(at: float, previous: float) -> float:
    """Return `at` on the microsecond grid, later than `previous`. [s since 1970-01-01 UTC]"""
    ticks = round(at * 1e6)
    floor = round(previous * 1e6) + 1 if previous > float("-inf") else ticks
    return max(ticks, floor) / 1e6


@dataclass(frozen=True, slots=True)
class Source:
    """Where one channel comes from, and how its number becomes SI."""

    channel: str
    factor: float
    offset: float
    stale_after: float
    """[s]"""

    @classmethod
    def of(
        cls, channel: str, unit_id: str, scale: float, offset: float, stale_after: float
    ) -> Source:
        """Fold ``(raw * scale + offset)`` in the sender's unit and that unit into one line."""
        unit = UNITS[unit_id]
        return cls(channel, scale * unit.factor, offset * unit.factor + unit.offset, stale_after)


@dataclass(frozen=True, slots=True)
class Last:
    """The newest word on one channel."""

    value: float = float("nan")
    at: float = float("-inf")
    """[s since 1970-01-01 UTC]"""
    bits: int = int(Quality.NO_DATA)


@dataclass(frozen=True, slots=True)
class AlignState:
    """The newest word on every channel, and the time of the newest row."""

    last: Mapping[str, Last] = field(default_factory=dict)
    at: float = float("-inf")


@dataclass(slots=True, eq=False)
class Align:
    """Turn events into blocks of one time base.

    Parameters
    ----------
    sources : mapping
        (feed, item) to `Source`.

    Notes
    -----
    Every frame, tick and link event makes one row; times must increase from row to row
    (see `stamp`), so that a cut between two events never changes a row.
    """

    sources: Mapping[tuple[str, str], Source]
    state: AlignState = field(default_factory=AlignState)
    _channels: tuple[str, ...] = field(init=False)
    _stale: dict[str, float] = field(init=False)
    _of_feed: dict[str, list[str]] = field(init=False)

    def __post_init__(self) -> None:
        mapped = [s.channel for s in self.sources.values()]
        if doubled := sorted({c for c in mapped if mapped.count(c) > 1}):
            raise InputError(
                f"feeds: channel {doubled[0]!r} is filled by two items; "
                "name one of them under the feed's ignore list"
            )
        self._channels = tuple(c for c in RAW if c in mapped)
        self._stale = {s.channel: s.stale_after for s in self.sources.values()}
        self._of_feed = {}
        for (feed, _), source in self.sources.items():
            self._of_feed.setdefault(feed, []).append(source.channel)

    @property
    def channels(self) -> tuple[str, ...]:
        """Ids of the mapped channels, in recording order."""
        return self._channels

    def process(
        self, events: Sequence[Frame | BadLine | LinkUp | LinkDown | Tick]
    ) -> dict[str, Block]:
        """Work out one block of rows.

        Parameters
        ----------
        events : sequence
            In time order. Bad lines make no row; the frame they came with already says
            which items were rejected.

        Returns
        -------
        dict
            Every id of `engine.channels.RAW` to a `Block` of shape (n,), n the number of
            row-making events. [SI] A channel that is not mapped is NaN and ``NO_DATA``.

        Raises
        ------
        InputError
            If a time does not lie after the one before.
        """
        rows = [e for e in events if not isinstance(e, BadLine)]
        t = np.array([e.at for e in rows], np.float64)
        self._check_times(t)
        news: dict[str, list[tuple[int, float, int]]] = {c: [] for c in self._channels}
        for i, event in enumerate(rows):
            if isinstance(event, Frame):
                self._frame(i, event, news)
            elif isinstance(event, LinkDown | LinkUp):
                bits = _LOST if isinstance(event, LinkDown) else _BACK
                for channel in self._of_feed.get(event.feed, ()):
                    news[channel].append((i, float("nan"), bits))
        last = dict(self.state.last)
        out: dict[str, Block] = {}
        for channel in RAW:
            if channel in news:
                out[channel], last[channel] = self._channel(
                    t, news[channel], last.get(channel, Last()), self._stale[channel]
                )
            else:
                nothing = np.full(t.size, int(Quality.NO_DATA), np.uint16)
                out[channel] = Block(t, np.full(t.size, np.nan), nothing)
        self.state = AlignState(last, float(t[-1]) if t.size else self.state.at)
        return out

    def _check_times(self, t: FloatArray) -> None:
        if t.size and not (t[0] > self.state.at and bool(np.all(np.diff(t) > 0))):
            raise InputError(
                "align: times must increase from row to row; stamp() the events before"
            )

    def _frame(self, i: int, frame: Frame, news: dict[str, list[tuple[int, float, int]]]) -> None:
        bits = int(Quality.PARTIAL) if frame.partial else 0
        feed = frame.feed
        for item, number in frame.values.items():
            source = self.sources.get((feed, item))
            if source is not None:
                value = number * source.factor + source.offset
                news[source.channel].append((i, value, bits))
        for item, reason in frame.missing.items():
            source = self.sources.get((feed, item))
            if source is not None:
                why = _MISSING.get(reason, int(Quality.MISSING))
                news[source.channel].append((i, float("nan"), bits | why))

    @staticmethod
    def _channel(
        t: FloatArray, news: list[tuple[int, float, int]], last: Last, stale_after: float
    ) -> tuple[Block, Last]:
        n = t.size
        value = np.full(n, np.nan)
        bits: QualityArray = np.zeros(n, np.uint16)
        fresh = np.zeros(n, np.bool_)
        if news:
            index, numbers, reasons = zip(*news, strict=True)
            at = np.array(index, np.intp)
            value[at], bits[at], fresh[at] = numbers, np.array(reasons, np.uint16), True
        held_value = hold(value, fresh, last.value)
        held_bits = hold(bits.astype(np.float64), fresh, float(last.bits)).astype(np.uint16)
        since = hold(t, fresh, last.at)
        age = t - since
        known = np.isfinite(since)
        stale = known & ~fresh & (age > stale_after)
        quality = np.where(~fresh & known & ~stale, held_bits | int(Quality.HELD), held_bits)
        quality = np.where(stale, quality | int(Quality.STALE), quality).astype(np.uint16)
        out = Block(t, np.where(stale, np.nan, held_value), quality)
        if news:
            i = news[-1][0]
            last = Last(float(value[i]), float(t[i]), int(bits[i]))
        return out, last
