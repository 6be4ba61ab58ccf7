"""What the benchmarks work on: a synthetic tour, through encoder, decoder and alignment."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from adapters.wits0 import from_feed
from engine.block import Block, Quality
from engine.config import WellConfig
from engine.engine import sources_of
from engine.events import BadLine, Frame, LinkUp
from engine.ops.align import Align, stamp
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes
from tests.tables import T0, well

ROWS = 43_200
"""A tour of 12 h at one packet a second. [-]"""
Row = dict[str, float]


@dataclass(frozen=True, slots=True)
class Tour:
    """The same tour as input events, as aligned blocks and as rows."""

    events: list[Frame | BadLine | LinkUp]
    raw: dict[str, Block]

    def rows(self) -> list[tuple[Row, frozenset[str]]]:
        """Return each row as values, NaN where there is none, with the channels that are held.

        The values are ``t`` [s since 1970-01-01 UTC] and the raw channels, SI.
        """
        t = next(iter(self.raw.values())).t
        columns = {"t": t.tolist()} | {c: b.value.tolist() for c, b in self.raw.items()}
        held: list[set[str]] = [set() for _ in range(t.size)]
        for name, block in self.raw.items():
            for i in np.flatnonzero(block.quality & np.uint16(Quality.HELD)).tolist():
                held[i].add(name)
        values = zip(*columns.values(), strict=True)
        return [
            (dict(zip(columns, row, strict=True)), frozenset(names))
            for row, names in zip(values, held, strict=True)
        ]


def make_tour(rows: int = ROWS, seed: int = 1, scenario: str = "quiet") -> Tour:
    """Make `rows` rows; one packet in a thousand is lost, as on a real line."""
    config = well()
    events: list[Frame | BadLine | LinkUp] = [LinkUp(T0, config.feeds[0].name)]
    made = 1
    stream = _decoded(config, scenario, seed)
    while made < rows:
        event = next(stream)
        events.append(event)
        made += not isinstance(event, BadLine)
    return Tour(events, Align(sources_of(config)).process(events))


def _decoded(config: WellConfig, scenario: str, seed: int) -> Iterator[Frame | BadLine]:
    rig, decoder, last = Rig(config, scenario, seed, T0), from_feed(config.feeds[0]), T0
    while True:
        for at, data in wits_bytes(rig.advance(600.0)):
            for event in decoder.feed(data, at):
                if isinstance(event, Frame):
                    last = stamp(event.at, last)
                    event = Frame(
                        last, event.feed, event.values, event.missing, event.text,
                        event.source_time, event.partial, event.notes,
                    )  # fmt: skip
                yield event
