"""Incidents of gains and losses, with their twins that must stay silent.

Rows are made by hand, once a second: pits with 0.3 bbl of waves (6 s) and a return gauge with
2 % of noise (10 s) unless said. Sources: Chief Counsel's report on Macondo (2011) and US Chemical
Safety Board, Macondo (2016) for the earlier kick (SC-06); US Chemical Safety Board, Pryor Trust
(2019) for the gain out of the hole (SC-12); statement of the Health and Safety Executive to the
UK Parliament on Bardolino (SC-18); Petroleum Safety Authority Norway, Gullfaks C (2010) for the
lost mud column (SC-20). The scenarios are simplified, their numbers are ours.
"""

from __future__ import annotations

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from adapters.wits0 import from_feed
from engine.block import Block
from engine.commands import Issued, Note
from engine.engine import Engine
from engine.interfaces import InputEvent
from engine.records.journal import Entry, read
from engine.sim.events import event
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes
from engine.units import BBL, UNITS
from tests.tables import T0, table_of
from tests.volume_rows import AT, BPM, calls, first, noise, ramp, rows, watched

MIN = 60
GPM = UNITS["gpm"].factor


def test_a_kick_of_35_barrels_has_its_onset_its_six_barrels_and_its_call() -> None:
    """SC-06 (K-06): 1.2 bbl/min for 30 min; six barrels are there after five."""
    found = watched(rows(ramp(AT + 40 * MIN, 1.2 * BPM, seconds=35 / 1.2 * MIN), waves=0.3))
    at = first(found, "influx")
    assert (at - AT) * 1.2 / MIN <= 5.0
    assert first(found, "influx", "critical") - AT <= 6.5 * MIN
    evidence = calls(found, "influx", "critical")[-1].details["evidence"]
    assert evidence["onset"] - T0 == pytest.approx(AT, abs=90)
    assert evidence["volume_m3"] / BBL > 4


def test_the_same_half_hour_without_the_kick_is_silent() -> None:
    """SC-06, twin."""
    found = watched(rows(n=AT + 40 * MIN, waves=0.3))
    assert calls(found, "influx") == []


@pytest.mark.parametrize("seed", range(5))
def test_a_slow_kick_is_called_by_six_barrels(seed: int) -> None:
    """0.3 bbl/min for half an hour, +-0.3 bbl of noise: at or below 6 bbl (20 min)."""
    come = ramp(AT + 30 * MIN, 0.3 * BPM)
    assert AT < first(watched(rows(come, waves=0.3, seed=seed)), "influx") <= AT + 20 * MIN
    assert calls(watched(rows(n=come.size, waves=0.3, seed=seed)), "influx") == []


LONG = 38 * MIN
START = 20 * MIN


def out_of_hole(gain: bool, test: bool = True) -> dict[str, Block]:
    """SC-12: from 0.2 to 8 bbl/min in 38 min, about 107 bbl; a pump test from minute 10."""
    n = START + LONG
    t = np.clip(np.arange(n) - START, 0, LONG)
    growth = np.log(8 / 0.2) / LONG
    come = 0.2 * BPM / growth * (np.exp(growth * t) - 1) * gain
    away = ramp(n, 5 * BPM, START + 10 * MIN, 180) - ramp(n, 5 * BPM, START + 16 * MIN, 180)
    pit = 60 + come - away * test + BBL * noise(1, n, 0.3)
    return table_of(
        n, pit_volume=pit, trip_tank_volume=5 + BBL * noise(2, n, 0.1, 3.0), flow_in=0.0,
        flow_out=0.0, bit_depth=0.0, hole_depth=3000.0, rig_state=11.0,
    )  # fmt: skip


def test_a_gain_out_of_the_hole_is_called_in_time_in_spite_of_a_pump_test() -> None:
    """SC-12 (K-12, R-29): by 6 bbl, and at least 20 min before the end."""
    for test in (True, False):
        table = out_of_hole(gain=True, test=test)
        at = first(watched(table), "out_of_hole_gain")
        growth = np.log(8 / 0.2) / LONG
        assert 0.2 / 60 / growth * (np.exp(growth * (at - START)) - 1) <= 6.0
        assert at <= START + LONG - 20 * MIN
    total = 0.2 / 60 / growth * (np.exp(growth * LONG) - 1)
    assert total == pytest.approx(80.4, abs=1)  # 107 bbl were measured; ours is the milder


def test_a_pump_test_out_of_the_hole_is_silent() -> None:
    """SC-12, twin."""
    assert calls(watched(out_of_hole(gain=False)), "out_of_hole_gain") == []


def test_a_passed_test_changes_nothing() -> None:
    """SC-18 (K-18, R-11): through the whole engine, with the note and without, the same calls."""
    config = parse_well(example_text(), "example")
    what = event("influx", seed=7, rate=1.0 * BPM, at=2400.0)
    rig, decoder = Rig(config, what, 7, T0), from_feed(config.feeds[0])
    frames = [e for at, data in wits_bytes(rig.advance(3600.0)) for e in decoder.feed(data, at)]
    k = next(i for i, e in enumerate(frames) if e.at > T0 + 2000)
    note = Issued(frames[k].at - 1e-3, Note("inflow test passed"), "driller", "doghouse")

    def called(events: list[InputEvent]) -> list[tuple[str, str, str]]:
        engine = Engine(config, Entry(T0, "watch", config.well, "start"))
        kept = [read(line) for line in engine.take(events)[1]]
        return [(f["at"], f["id"], f["event"]) for f in kept if f["kind"] in ("event", "alarm")]

    plain = called(list(frames))
    assert any(kind == "influx" for _, kind, _ in plain)
    assert called([*frames[:k], note, *frames[k:]]) == plain


def lost_column(loss: bool) -> dict[str, Block]:
    """SC-20: returns from 700 gpm to nothing in a minute, pits at -12 bbl/min from then."""
    n = 60 * MIN
    start = 30 * MIN
    flow, t = 700 * GPM, np.arange(n)
    gone = np.clip((t - start) / 60, 0, 1) * loss
    missing = 12 * BPM * gone
    pit = 60 - np.cumsum(missing) + BBL * noise(1, n, 0.3)
    out = flow * (1 - gone) + flow * noise(2, n, 0.02, 10.0) * (gone < 1)
    return table_of(
        n, pit_volume=pit, flow_in=flow, flow_out=np.maximum(out, 0.0), bit_depth=2400.0,
        hole_depth=2400.0, rig_state=6.0,
    )  # fmt: skip


def test_a_vanished_mud_column_is_a_loss_at_once_and_total_when_nothing_returns() -> None:
    """SC-20 (K-20, R-33): the loss half a minute after it begins, total 20 s after the last."""
    found = watched(lost_column(loss=True))
    assert 30 * MIN < first(found, "loss") <= 30 * MIN + 30
    assert first(found, "total_loss", "critical") <= 31 * MIN + 25
    assert calls(found, "influx") == []


def test_the_same_hour_with_its_returns_is_silent() -> None:
    """SC-20, twin."""
    found = watched(lost_column(loss=False))
    assert calls(found, "loss") == []
    assert calls(found, "total_loss") == []
