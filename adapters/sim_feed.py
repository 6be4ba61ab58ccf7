"""The synthetic rig as a feed: bytes of its stream, through the same decoder as a serial line."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator
from dataclasses import dataclass

from adapters.wits0 import from_feed
from engine.clock import Clock
from engine.config import WellConfig
from engine.errors import InputError
from engine.events import FeedEvent, LinkUp, WireBytes
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes

HISTORY_STEP_S = 300.0
"""The past is made in pieces of this length, so that the watch can beat in between. [s]"""
TURN_S = 0.1
"""Between looks at the clock; short enough for 1 Hz at sixty times real time. [s]"""


@dataclass(slots=True)
class SimFeed:
    """A synthetic rig that keeps up with a clock.

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
        Time that has already passed when the feed starts. [s]
    """

    config: WellConfig
    scenario: str
    seed: int
    clock: Clock
    history: float = 0.0

    def __post_init__(self) -> None:
        feed = self.config.feeds[0] if self.config.feeds else None
        if feed is None or feed.format != "wits0" or feed.units != "metric":
            raise InputError(
                "synthetic rig: the well file's first feed must be format wits0, units metric"
            )

    @property
    def name(self) -> str:
        """Name of the feed it stands in for."""
        return self.config.feeds[0].name

    async def events(self) -> AsyncGenerator[FeedEvent, None]:
        """Yield the history at once, then keep up with the clock until cancelled."""
        decoder = from_feed(self.config.feeds[0])
        start = self.clock.now() - self.history
        rig, made = Rig(self.config, self.scenario, self.seed, start), 0.0
        yield LinkUp(start, self.name)
        while True:
            due = self.clock.now() - start - made
            step = min(due, HISTORY_STEP_S)
            if step >= 1.0:
                made += step
                for at, data in wits_bytes(rig.advance(step)):
                    yield WireBytes(at, self.name, data)
                    for event in decoder.feed(data, at):
                        yield event
                await asyncio.sleep(0)
            if due < HISTORY_STEP_S:
                await asyncio.sleep(TURN_S)
