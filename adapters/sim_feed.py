"""The synthetic rig as a feed: bytes of its stream, through the same decoder as a serial line."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, Iterator
from dataclasses import dataclass, field

from adapters.wits0 import from_feed
from engine.clock import Clock
from engine.config import WellConfig
from engine.errors import InputError
from engine.events import FeedEvent, LinkUp, WireBytes
from engine.interfaces import Decoder
from engine.sim.rig import Rig
from engine.sim.stream import spoken, wits_bytes

HISTORY_STEP_S = 300.0
"""The past is made in pieces of this length, so that memory stays small. [s]"""
TURN_S = 0.1
"""Between looks at the clock; short enough for 1 Hz at sixty times real time. [s]"""


@dataclass(slots=True)
class SimFeed:
    """A synthetic rig that keeps up with a clock, with a crew that declares what it adds.

    Parameters
    ----------
    config : WellConfig
        Its first feed says how the stream is read; it must be metric WITS level 0.
    scenario : str
        Name in `engine.sim.scenarios.SCENARIOS`.
    seed : int
    clock : Clock
        May run faster than real time.
    history : float
        Time that has already passed when the feed starts; see `past`. [s]
    """

    config: WellConfig
    scenario: str
    seed: int
    clock: Clock
    history: float = 0.0
    _decoder: Decoder = field(init=False)
    _rig: Rig = field(init=False)
    _start: float = field(init=False)
    _made: float = field(init=False, default=0.0)

    def __post_init__(self) -> None:
        feed = self.config.feeds[0] if self.config.feeds else None
        if feed is None or feed.format != "wits0" or feed.units != "metric":
            raise InputError(
                "synthetic rig: the well file's first feed must be format wits0, units metric"
            )
        self._decoder = from_feed(feed)
        self._start = self.clock.now() - self.history
        self._rig = Rig(self.config, self.scenario, self.seed, self._start)

    @property
    def name(self) -> str:
        """Name of the feed it stands in for."""
        return self.config.feeds[0].name

    def past(self) -> Iterator[FeedEvent]:
        """Yield what has happened before the feed starts, as fast as it can be made."""
        yield LinkUp(self._start, self.name)
        while (step := min(self.history - self._made, HISTORY_STEP_S)) >= 1.0:
            yield from self._go_on(step)

    async def events(self) -> AsyncGenerator[FeedEvent, None]:
        """Keep up with the clock until cancelled."""
        while True:
            due = self.clock.now() - self._start - self._made
            if due >= 1.0:
                for event in self._go_on(min(due, HISTORY_STEP_S)):
                    yield event
            await asyncio.sleep(TURN_S if due < HISTORY_STEP_S else 0.0)

    def _go_on(self, seconds: float) -> Iterator[FeedEvent]:
        before, self._made = self._made or -1.0, self._made + seconds
        chunk = self._rig.advance(seconds)
        said = spoken(self._rig, before, self._made)
        for at, data in wits_bytes(chunk):
            while said and said[0].at <= at:
                yield said.pop(0)
            yield WireBytes(at, self.name, data)
            yield from self._decoder.feed(data, at)
        yield from said
