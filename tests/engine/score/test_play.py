"""One run from the wire to the journal: the path of a live watch, with truth beside it."""

from __future__ import annotations

import numpy as np
import pytest

from adapters.wits0 import from_feed
from engine.config import WellConfig
from engine.detect.kinds import Severity
from engine.engine import Engine
from engine.events import LinkUp
from engine.interfaces import Decoder
from engine.records.journal import Entry
from engine.score import play as module
from engine.score.calls import said
from engine.score.match import match
from engine.score.plan import Case
from engine.score.play import START, Played, own_faults, play
from engine.sim.rig import Rig
from engine.sim.script import Scenario, Trouble
from engine.sim.stream import spoken, wits_bytes
from engine.units import BBL
from tests.tables import well

KICK = Case("event", 3, noise="calm", kind="influx", size=4 * BBL / 60)
TWIN = Case("twin", 3, noise="calm", kind="influx", size=4 * BBL / 60)


def decoder(config: WellConfig) -> Decoder:
    return from_feed(config.feeds[0])


@pytest.fixture(scope="module")
def kick() -> Played:
    return play(KICK, well(), decoder)


def test_a_kick_of_four_barrels_a_minute_is_called_before_eight_barrels(kick: Played) -> None:
    truth = kick.truth
    assert truth is not None
    assert (truth.kind, truth.end - truth.start) == ("influx", pytest.approx(1870, abs=5))
    found = match(truth, kick.calls)
    assert found.called
    assert found.delay is not None
    assert found.volume is not None
    assert found.volume < 8 * BBL
    # What came in, by hand: four barrels a minute but for the first ten seconds of rise.
    assert found.volume == pytest.approx(4 * BBL / 60 * (found.delay - 5), abs=0.5 * BBL)


def test_the_states_last_as_long_as_the_run_and_each_call_has_one(kick: Played) -> None:
    assert sum(kick.states.values()) == kick.seconds
    assert len(kick.state_at) == len(kick.calls) > 0
    assert set(kick.state_at) <= set(kick.states)


def test_the_twin_is_silent_because_the_crew_declares_what_it_moves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    twin = play(TWIN, well(), decoder)
    assert twin.truth is None
    assert not [c for c in twin.calls if c.severity >= Severity.WARNING]
    monkeypatch.setattr(module, "spoken", lambda *_: [])
    silent = play(TWIN, well(), decoder)
    assert "influx" in {c.kind for c in silent.calls if c.counts}


def test_the_calls_are_those_of_an_engine_that_is_fed_the_bytes(kick: Played) -> None:
    """The live path by another way: pieces of some minutes, no ticks, nothing to declare."""
    config = well()
    rig = Rig(config, KICK.scenario(), KICK.seed, START)
    engine, wire = Engine(config, Entry(START, "watch", "w", "start")), decoder(config)
    lines = engine.take([LinkUp(START, "rig")])[1]
    for _ in range(round(kick.seconds / 200) + 1):
        events = [e for at, data in wits_bytes(rig.advance(200.0)) for e in wire.feed(data, at)]
        lines += engine.take(events)[1]  # type: ignore[arg-type]
    assert not spoken(rig, -1.0, kick.seconds)
    calls, _ = said([line for line in lines if line.at < START + kick.seconds], START,
                    START + kick.seconds)  # fmt: skip
    assert [(c.kind, c.severity) for c in calls] == [(c.kind, c.severity) for c in kick.calls]
    for mine, theirs in zip(calls, kick.calls, strict=True):
        assert (mine.at, mine.end) == pytest.approx((theirs.at, theirs.end), abs=1e-3)


def test_any_batch_gives_the_same_calls(kick: Played, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "BATCH", 777)
    monkeypatch.setattr(module, "STEP_S", 1000.0)
    again = play(KICK, well(), decoder)
    assert (again.calls, again.blind, again.states) == (kick.calls, kick.blind, kick.states)


def test_another_rig_is_run_with_its_own_well_file_and_sensors() -> None:
    found = play(Case("clean", 5, rig="doubles", hours=0.3), well(), decoder)
    assert found.noise == "poor"
    assert sum(found.states.values()) == pytest.approx(1080.0)


def test_an_event_that_did_not_come_about_has_no_truth() -> None:
    """Nothing is swabbed while nobody trips."""
    rig = Rig(well(), Scenario("s", "", troubles=(Trouble("swab", 10.0, 0.4, event="swab"),),
                               event="swab"), 1, START)  # fmt: skip
    chunk = rig.advance(300.0)
    assert module.truth_of(rig, [chunk], 300.0) is None


def test_spells_that_the_noise_itself_makes_are_found() -> None:
    """A paddle sticks for a minute or more, any sensor there has gaps of 5 s or more."""

    def spells(noise: str) -> list[tuple[float, float]]:
        rig = Rig(well(), Scenario("s", "", noise=noise), 11, START)
        chunk = rig.advance(900.0)
        assert not list(own_faults(rig, [chunk]))
        chunk.sensors["flow_out"][99:161] = 0.04  # seconds 100 to 161
        chunk.sensors["flow_out"][199:240] = 0.04
        chunk.sensors["standpipe_pressure"][299:310] = np.nan
        chunk.sensors["standpipe_pressure"][399:402] = np.nan
        chunk.sensors["standpipe_pressure"][499:700] = 1e7
        return list(own_faults(rig, [chunk]))

    assert sorted(spells("paddle")) == [(100.0, 161.0), (300.0, 310.0)]
    assert spells("calm") == []
