"""One event of any size: what it is called, when it begins, what is refused, what a twin is."""

from __future__ import annotations

import numpy as np
import pytest

from engine.config import WellConfig
from engine.detect.kinds import EVENT_KINDS
from engine.errors import InputError
from engine.sim.events import RECIPES, event
from engine.sim.rig import Rig
from engine.sim.tours import declarations, quiet
from engine.units import BBL

BPM = BBL / 60
KINDS = (*RECIPES, "sensor_fault")


def test_every_kind_that_can_be_called_can_be_made() -> None:
    made = {event(kind, seed=1).event for kind in KINDS}
    reminders = {"bottoms_up_due"}  # nothing is wrong when they are called
    not_made = {"annulus_fill_stopped"}  # the synthetic rig has no fill line of its own
    assert set(EVENT_KINDS) - reminders - not_made <= made


@pytest.mark.parametrize("kind", KINDS)
def test_no_mud_is_lost_or_made_up_and_the_twin_begins_the_same(
    well: WellConfig, kind: str
) -> None:
    """Volume balance, own derivation: 1e-9 of the 300 m3 in the well."""
    what = event(kind, seed=1, at=1500.0)
    ends = {}
    for scenario in (what, what.twin()):
        rig = Rig(well, scenario, 3, 0.0)
        before = rig.fluid.held_volume()
        chunk = rig.advance(5400.0)
        assert rig.fluid.held_volume() == pytest.approx(before, abs=3e-7)
        ends[scenario.name] = chunk
        subject = [e for e in rig.events if e.event]
        if scenario.event and kind not in ("influx_at_connection", "overpull", "take_weight"):
            assert {e.event for e in subject} == {what.event}
            assert subject[0].start >= 1498
        elif not scenario.event:
            assert not subject
            if not scenario.plan.out:
                assert not chunk.truth["influx_volume"].max() > 0.06
    first, twin = ends.values()
    decoys = [t.start for t in (*what.decoys,)] + [t - 30 for t, _ in what.twin_stops]
    same = int(max(0.0, min([1490.0 - 70.0 * bool(what.plan.stops), *decoys]))) - 1
    for channel, values in first.sensors.items():
        assert values[: max(same, 0)].tobytes() == twin.sensors[channel][: max(same, 0)].tobytes()


def test_the_seed_draws_the_start_and_a_time_given_goes_before_it() -> None:
    starts = {event("influx", seed=s).at for s in range(40)}
    assert len(starts) > 35
    assert 3000 <= min(starts) < max(starts) <= 6000
    assert event("influx", seed=1).at == event("influx", seed=1).at
    assert event("influx", seed=1, at=4321.0).troubles[0].start == 4321.0


def test_an_event_goes_into_a_tour_that_is_there(well: WellConfig) -> None:
    tour = quiet(5, 2.0, ground="soft", noise="flume")
    what = event("flow-pumps-off", seed=5, at=4000.0, rate=BPM, tour=tour)
    assert (what.ground, what.noise) == ("soft", "flume")
    assert set(tour.troubles) < set(what.troubles)
    assert set(tour.plan.stops) < set(what.plan.stops)
    assert what.plan.short_trips == tour.plan.short_trips
    assert what.event == "flow_pumps_off"
    assert declarations(what) == declarations(tour)
    assert set(what.twin().troubles) == {*tour.troubles, *what.decoys}


@pytest.mark.parametrize("kind", ["swab", "overpull"])
def test_an_event_of_a_trip_brings_its_trip_into_a_tour(well: WellConfig, kind: str) -> None:
    what = event(kind, seed=2, at=5000.0, tour=quiet(2, 2.0))
    rig, twin = Rig(well, what, 2, 0.0), Rig(well, what.twin(), 2, 0.0)
    rig.advance(9000.0)
    twin.advance(9000.0)
    subject = [e for e in rig.events if e.event == kind]
    assert subject
    assert 5000 <= subject[0].start < 8000
    assert not [e for e in twin.events if e.event]
    assert len(twin.connections) == len(rig.connections) > 20


def test_a_string_that_is_out_of_the_hole_fits_into_no_tour() -> None:
    with pytest.raises(InputError, match="fits into no tour"):
        event("out-of-hole-gain", seed=1, tour=quiet(1, 2.0))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "flood"}, "no kind 'flood'; there are influx"),
        ({"kind": "influx", "severity": 3.0}, r"give its rate \(m3/s\)"),
        ({"kind": "pack_off", "rate": 3.0}, r"give its severity \(Pa\)"),
        ({"kind": "influx", "rate": 0.0}, "a size of 0 is no event"),
        ({"kind": "influx", "rate": float("nan")}, "a size of nan is no event"),
        ({"kind": "influx", "channel": "torque"}, "are for a sensor_fault"),
        ({"kind": "sensor_fault", "channel": "rop"}, "no channel 'rop'; there are standpipe"),
        ({"kind": "sensor_fault", "fault": "bent"}, "no fault 'bent'; there are stuck"),
    ],
)
def test_what_makes_no_event_is_refused_with_what_would(
    given: dict[str, object], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        event(seed=1, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("rate", [0.3, 1.0, 4.0])
def test_an_influx_comes_at_the_rate_that_was_asked_for(well: WellConfig, rate: float) -> None:
    rig = Rig(well, event("influx", seed=1, at=900.0, rate=rate * BPM), 3, 0.0)
    truth = rig.advance(2400.0).truth
    volume = truth["influx_volume"][2100] - truth["influx_volume"][1500]
    assert volume == pytest.approx(rate * BPM * 600, rel=1e-6)
    assert truth["influx_rate"][1800] == pytest.approx(rate * BPM)
    assert np.diff(truth["influx_volume"]).min() >= 0
