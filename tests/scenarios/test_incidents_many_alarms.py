"""Too many alarms, alarms put away, and a long tour that must not make any without need.

After the published accounts, each with a twin; numbers of the scenarios are ours:

- testimony on inhibited alarms before the joint investigation of Deepwater Horizon, 2010 (K-08);
- US Chemical Safety Board, Pryor Trust 1H-9, report 2018-01-I-OK, 2019: the alarm system was off
  for fourteen hours, since most of its alarms meant nothing (K-11, K-12);
- Health and Safety Executive, The explosion and fires at the Texaco Refinery, Milford Haven, 1997:
  275 alarms in the last eleven minutes (K-25).
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from adapters.wits0 import from_feed
from engine.alarms.manager import AlarmManager
from engine.commands import Command, Issued, OutOfService, SetDepth, Shelve, Silence
from engine.engine import Engine
from engine.events import Frame, LinkUp
from engine.interfaces import InputEvent, JournalLine
from engine.records.journal import Entry, Journal, broken_at, from_iso, read
from engine.records.put_away import put_away
from engine.run import with_ticks
from engine.sim.rig import Rig
from engine.sim.stream import spoken, wits_bytes
from engine.sim.tours import quiet
from engine.snapshot import WatchView
from engine.units import BBL
from tests.helpers import alarm_of, alarm_table, issue
from tests.tables import T0, well
from tests.trial_rows import fields
from tui.fold import Fold


def test_sc08_whoever_tries_to_silence_everything_stops_the_horn_alone() -> None:
    """K-08, R-10, R-12, R-13."""
    alarms = [alarm_of("kick", high_m3=0.5, well_control=True)]
    alarms += [alarm_of(f"a{k}", high_m3=k + 1.5, priority=2) for k in range(4)]
    engine = Engine(well(alarms=[]), Entry(T0, "watch", "Emberholt 4", "start"))
    engine.alarms = manager = AlarmManager(alarms)
    entries = manager.process(alarm_table([1.0]))
    assert manager.horn
    for k, command in enumerate(
        (
            Silence(),
            Shelve("kick", 3600.0, "too loud"),
            Shelve("a0", 600.0, "transfer"),
            OutOfService("a1", "Odd", "sensor away"),
            OutOfService("a2", "Odd", "sensor away"),
        )
    ):
        entries += manager.command(issue(command, T0 + 1 + k / 10))
    assert not manager.horn
    refused = [e for e in entries if e.event == "no_effect"]
    assert [e.details["alarm"] for e in refused] == ["kick"]  # priority 1 is not shelved
    assert manager.states["kick"] == "B"
    assert put_away(Journal().write(entries)).words == "OOS 2 SHELVED 1"
    entries += manager.process(alarm_table([5.0], start=T0 + 2))
    assert manager.horn  # the next alarm sounds
    assert [e.id for e in entries if e.details.get("sound")][-1] == "a3"


def test_sc08_twin_with_nothing_put_away_says_nothing() -> None:
    manager = AlarmManager([alarm_of("kick", high_m3=0.5)])
    assert put_away(Journal().write(manager.process(alarm_table([1.0])))).words == ""


def flooded(n: int, seconds: int) -> tuple[list[Any], AlarmManager, list[Any]]:
    """Return lines, manager and alarms of `n` alarms over so many seconds, one of them P1."""
    step = seconds / n
    alarms = [
        alarm_of(f"a{k:03}", high_m3=k * step + 0.5, priority=1 if k == n // 2 else 2 + k % 2)
        for k in range(n)
    ]
    manager = AlarmManager(alarms)
    entries = manager.process(alarm_table([float(s) for s in range(1, seconds + 1)]))
    entries += manager.process(alarm_table([float(seconds)] * 900, start=T0 + seconds))
    return Journal().write(entries), manager, alarms


def test_sc25_none_of_275_alarms_in_eleven_minutes_is_lost() -> None:
    """K-25, R-15: all in the journal, the flood from begin to end, the urgent one on top."""
    lines, manager, alarms = flooded(275, 660)
    trips = fields(lines, "alarm", "trip")
    assert len({f["id"] for f in trips}) == len(trips) == 275
    assert broken_at(lines) is None
    floods = fields(lines, "flood")
    assert [f["event"] for f in floods] == ["start", "end"]
    # The eleventh trips above 10 x 2.4 + 0.5 = 24.5 m3; 25 m3 come at 24 s.
    assert from_iso(floods[0]["at"]) - T0 == 24.0
    assert not manager.flood
    listed = Fold(well()).happenings
    listed.config = {alarm.id: alarm for alarm in alarms}
    listed.take(lines)
    fold = Fold(well())
    fold.happenings = listed
    shown = fold.snapshot(T0 + 661, WatchView(True, 0.0), ()).alarms
    assert len(shown) == 275
    assert [a.priority for a in shown[:2]] == [1, 2]
    sounded = [f for f in trips if f["sound"] and from_iso(f["at"]) > from_iso(floods[0]["at"])]
    assert [f["priority"] for f in sounded] == [1]


def test_sc25_twin_of_ten_alarms_is_no_flood() -> None:
    lines, _, _ = flooded(10, 660)
    assert fields(lines, "flood") == []
    assert len(fields(lines, "alarm", "trip")) == 10
    assert read(lines[0])["kind"] == "alarm"


LONG_H = 14
START = 1_780_000_000.0
CONFIG = parse_well(example_text(), "example")
FEED = CONFIG.feeds[0].name


class Tour:
    """SC-11: fourteen hours of soft rock with all that belongs to them, then SC-12."""

    def __init__(self) -> None:
        self.rig = Rig(CONFIG, quiet(3, LONG_H, "soft"), 3, START)
        decoder = from_feed(CONFIG.feeds[0])
        events: list[InputEvent] = [LinkUp(START, FEED)]
        for k in range(2 * LONG_H):
            chunk = self.rig.advance(1800.0)
            plan = spoken(self.rig, k * 1800.0 or -1.0, (k + 1) * 1800.0)
            for at, data in wits_bytes(chunk):
                while plan and plan[0].at <= at:
                    events.append(plan.pop(0))
                events += list(decoder.feed(data, at))
            events += plan
        self.engine = Engine(CONFIG, Entry(START, "watch", CONFIG.well, "start"))
        tables, self.lines = self.engine.take(list(with_ticks(events, 5.0)))
        self.end = max(event.at for event in events)
        self.newest = {name: float(b.value[-1]) for name, b in tables[-1].items()}
        self.slips = [
            int((np.diff(np.nan_to_num(table["in_slips"].value)) > 0).sum()) for table in tables
        ]

    def out_of_hole(self, kick: bool) -> list[JournalLine]:
        """Go on for 45 min with the bit out of the hole; `kick`: 107 bbl come in 38 of them."""
        said: list[tuple[float, Command]] = [(1.0, SetDepth(bit_depth=0.0, reason="laid down"))]
        events: list[InputEvent] = [Issued(self.end + at, c, "Ines", "d") for at, c in said]
        rng = np.random.default_rng(12)
        for s in range(2, 45 * 60):
            events.append(Frame(self.end + s, FEED, self._sent(s, gain(s) if kick else 0.0, rng)))
        return deepcopy(self.engine).take(list(with_ticks(events, 5.0)))[1]

    def _sent(self, s: int, gain_m3: float, rng: np.random.Generator) -> dict[str, float]:
        # A surface pump test moves 15 bbl out of the pits at 10 min, and back.
        away = 15 * BBL * np.interp(s, [600, 720, 780, 900], [0.0, 1.0, 1.0, 0.0])
        values = self.newest | {
            "pump_1_rate": 0.0, "pump_2_rate": 0.0, "flow_out": 0.0, "standpipe_pressure": 0.0,
            "rotary": 0.0, "torque": 0.0, "hook_load": CONFIG.rig.block_weight,
            "block_position": 20.0 + 0.01 * rng.standard_normal(),
            "pit_volume": self.newest["pit_volume"] + gain_m3 - away
            + 0.3 * BBL * rng.standard_normal(),
        }  # fmt: skip
        sources = {k: v for (feed, k), v in self.engine.align.sources.items() if feed == FEED}
        return {
            item: (values[one.channel] - one.offset) / one.factor
            for item, one in sources.items()
            if np.isfinite(values.get(one.channel, np.nan))
        }


def gain(s: float) -> float:
    """SC-12: 0.2 bbl/min, growing by powers to 8 bbl/min over 38 min; its 107 bbl scaled to."""
    grows = np.log(8 / 0.2) / 38
    minutes = np.clip(s / 60, 0, 38)
    return float(107 * np.expm1(grows * minutes) / np.expm1(grows * 38)) * BBL


@pytest.fixture(scope="module")
def tour() -> Tour:
    return Tour()


def heard(lines: list[JournalLine]) -> list[dict[str, Any]]:
    """Return the alarms that a person was told of."""
    return [f for f in fields(lines, "alarm", "trip") if f["after"] == "B"]


def test_sc11_a_long_mixed_tour_makes_few_alarms_and_none_urgent(tour: Tour) -> None:
    """K-11, R-09, R-16: 14 h, 20 connections and more, transfers, reaming; 84 is 1 in 10 min."""
    assert sum(tour.slips) >= 20
    kinds = {event.kind for event in tour.rig.events}
    assert kinds >= {"transfer", "to-trip-tank"}
    found = heard(tour.lines)
    assert len(found) < LONG_H * 6
    assert [f["id"] for f in found if f["priority"] == 1] == []


def test_sc12_after_it_a_gain_out_of_the_hole_alarms_in_time(tour: Tour) -> None:
    """K-12: the same watch, unmuted by the quiet tour; by 6 bbl, 20 min before the end."""
    lines = tour.out_of_hole(kick=True)
    first = next(f for f in heard(lines) if f["priority"] == 1)
    at = from_iso(first["at"]) - tour.end
    assert gain(at) <= 6 * BBL
    assert at <= 18 * 60


def test_sc12_twin_with_the_pump_test_alone_is_silent(tour: Tour) -> None:
    """The 15 bbl that a surface pump test moves out and back are no kick."""
    found = heard(tour.out_of_hole(kick=False))
    assert [f["id"] for f in found if f["priority"] == 1] == []
