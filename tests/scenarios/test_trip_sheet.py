"""The trip sheet on the synthetic rig, from wire bytes to channels, against the simulator's truth.

Sixty stands out and in again, the trip tank topped up from the pits once on the way out and
emptied into them once on the way in. The limits are the project's own targets (R-26).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from adapters.wits0 import from_feed
from engine.block import Block, FloatArray
from engine.engine import Engine
from engine.interfaces import InputEvent, JournalLine
from engine.ops.trip_rest import LAG_S
from engine.records.journal import Entry, read
from engine.records.trip_log import TripStand, trip_stands
from engine.run import with_ticks
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes
from engine.well.answer import Unknown

START = 1_780_000_000.0
CONFIG = parse_well(example_text(), "example")
STEEL = 31.9 / 7850
"""Of the drill pipe. [m3/m]"""
CLOSE = 0.02
"""[m3]"""
ALARMS = ("swab", "swab-critical", "trip-fill-overdue", "trip-without-trip-tank")


@dataclass
class Run:
    table: Mapping[str, Block]
    truth: Mapping[str, FloatArray]
    stands: tuple[TripStand, ...]
    lines: list[JournalLine]

    def true(self, name: str, at: float) -> float:
        """Return the truth of a channel behind a reading at `at`: it leaves the last 5 s out."""
        return float(self.truth[name][round(at - START - LAG_S) - 1])

    def alarms(self) -> dict[str, float]:
        """Return when each alarm of the trip sheet first reached a person. [s]"""
        found = [f for f in map(read, self.lines) if f["kind"] == "alarm" and f["id"] in ALARMS]
        entries = [f for f in found if f["event"] == "trip" and f["after"] == "B"]
        return {f["id"]: f["bit_depth_m"] for f in reversed(entries)}

    @property
    def before(self) -> float:
        """Second before the first stand. [s]"""
        return float(np.flatnonzero(self.truth["trip_fill"] != 0)[0])


def run(name: str, seed: int, hours: float) -> Run:
    rig, decoder = Rig(CONFIG, name, seed, START), from_feed(CONFIG.feeds[0])
    chunk = rig.advance(hours * 3600.0)
    events: list[InputEvent] = []
    for at, data in wits_bytes(chunk):
        events += decoder.feed(data, at)
    engine = Engine(CONFIG, Entry(START, "watch", CONFIG.well, "start"))
    tables, lines = engine.take(list(with_ticks(events, 5.0)))
    (table,) = tables
    return Run(table, chunk.truth, trip_stands(table, CONFIG, lines), lines)


@pytest.fixture(scope="module", params=range(1, 7))
def long_trip(request: pytest.FixtureRequest) -> Run:
    return run("long-trip", request.param, 4.5)


def test_sixty_stands_out_and_in_again_are_found(long_trip: Run) -> None:
    """The last stand is washed down: it is no part of the sheet."""
    out = [one for one in long_trip.stands if one.way == "out"]
    back = [one for one in long_trip.stands if one.way == "in"]
    assert [one.number for one in out] == [*range(1, 61)]
    assert [one.number for one in back] == [*range(1, 60)]
    assert {one.method for one in long_trip.stands} == {"trip tank"}


def test_the_sheet_of_sixty_stands_is_within_20_litres_of_the_truth_at_every_stand(
    long_trip: Run,
) -> None:
    """What the tank gave is the truth of the fill; the pipe that moved, of what it should be."""
    bit = float(long_trip.truth["bit_depth"][int(long_trip.before) - 1])
    given, turn = 0.0, bit
    for before, one in pairwise([None, *long_trip.stands]):
        assert one is not None
        if before and one.way != before.way:
            given = long_trip.true("trip_fill", before.at)
            turn = long_trip.true("bit_depth", before.at)
        fill = long_trip.true("trip_fill", one.at)
        want = STEEL * abs(turn - long_trip.true("bit_depth", one.at))
        assert isinstance(one.total_expected, float)
        assert isinstance(one.total_actual, float)
        assert isinstance(one.total_difference, float)
        assert abs(one.total_expected - want) <= CLOSE
        assert abs(one.total_actual - abs(fill - given)) <= CLOSE
        assert abs(one.total_difference) <= CLOSE


def test_no_alarm_of_the_sheet_sounds_on_a_sound_trip(long_trip: Run) -> None:
    assert long_trip.alarms() == {}
    assert long_trip.table["trip_tank_unusable"].value.max() == 0.0


@pytest.fixture(scope="module", params=range(1, 5))
def swabbed(request: pytest.FixtureRequest) -> tuple[Run, Run]:
    return run("short-fill", request.param, 1.6), run("short-fill-twin", request.param, 1.6)


def test_a_hole_that_is_swabbed_in_is_short_by_what_came_in(swabbed: tuple[Run, Run]) -> None:
    short, twin = swabbed
    for one in short.stands:
        assert isinstance(one.total_difference, float)
        assert abs(one.total_difference - short.true("influx_volume", one.at)) <= CLOSE
    assert not any(isinstance(one.total_difference, Unknown) for one in twin.stands)
    assert max(abs(one.total_difference) for one in twin.stands) <= CLOSE  # type: ignore[arg-type]


def test_it_warns_at_2_bbl_and_alarms_at_5_and_the_twin_is_quiet(swabbed: tuple[Run, Run]) -> None:
    """0.32 and 0.79 m3: within a stand, 52 L swabbed, of the truth."""
    short, twin = swabbed
    at = short.alarms()
    assert set(at) == {"swab", "swab-critical"}
    for name, low, high in (("swab", 0.16, 0.32), ("swab-critical", 0.79, 0.79)):
        row = int(np.flatnonzero(short.truth["bit_depth"] <= at[name] + 0.5)[0])
        assert low - CLOSE < short.truth["influx_volume"][row + 30] < high + CLOSE + 0.052
    assert twin.alarms() == {}
