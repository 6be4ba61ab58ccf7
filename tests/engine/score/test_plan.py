"""What is run: kinds, sizes, twins, noise, seeds, other rigs."""

from __future__ import annotations

from collections import Counter

import pytest

from engine.errors import InputError
from engine.score.plan import (
    KINDS,
    KNOWN,
    REPORTING,
    SIZES,
    STOPS,
    TUNING,
    USUAL,
    Case,
    Wanted,
    cases,
    sizes,
    which_seeds,
)
from engine.sim.ground import GROUNDS
from engine.sim.noise import CLASSES
from engine.sim.rigs import other_rigs
from engine.sim.tours import declarations


def test_every_kind_and_size_is_run_with_its_twin_on_the_same_seed_and_noise() -> None:
    plan = cases(Wanted(range(1, 22), runs=3))
    usual = [c for c in plan if c.rig == USUAL and c.kind]
    assert {(c.kind, c.size, c.fault) for c in usual} == {
        (kind, size, fault) for kind in KINDS for size, fault in sizes(kind)
    }
    events, twins = ([c for c in usual if c.role == role] for role in ("event", "twin"))
    key = [(c.kind, c.size, c.fault, c.seed, c.noise) for c in events]
    assert Counter(key) == Counter((c.kind, c.size, c.fault, c.seed, c.noise) for c in twins)
    many = {k[0]: n for k, n in Counter(k[:3] for k in key).items()}
    assert many == dict.fromkeys(KINDS, 3) | {"influx": 12, "influx_at_connection": 18}


def test_no_size_of_a_kind_is_met_twice() -> None:
    for kind in KINDS:
        found = [size for size, _ in sizes(kind) if size is not None]
        assert len(set(found)) == len(found)
    assert set(SIZES) <= set(KINDS)


def test_tours_meet_every_noise_and_every_ground() -> None:
    plan = cases(Wanted(range(1, 22), runs=0))
    tours = [c for c in plan if c.role == "clean" and c.rig == USUAL and c.job == "tour"]
    assert Counter(c.noise for c in tours) == dict.fromkeys(CLASSES, 3)
    assert {(c.noise, c.ground) for c in tours} == {(n, g) for n in CLASSES for g in GROUNDS}
    assert sorted(c.seed for c in tours) == list(range(1, 22))
    assert sum(c.job == "trip" for c in plan) == 6


def test_a_kind_meets_several_classes_of_noise() -> None:
    plan = cases(Wanted(range(1, 22), runs=7, kinds=("influx",)))
    assert {c.noise for c in plan if c.role == "event" and c.rig == USUAL} == set(CLASSES)


def test_other_rigs_have_their_own_sensors_sizes_and_tours() -> None:
    plan = [c for c in cases(Wanted(range(1, 22))) if c.rig != USUAL]
    names = {model.name for model in other_rigs()}
    assert {c.rig for c in plan if c.role == "clean"} == names
    assert {c.rig for c in plan if c.role == "event"} == names
    assert {c.kind for c in plan if c.kind} == set(KINDS)
    assert {c.noise for c in plan} == {""}
    for c in plan:
        assert c.size is None or c.size not in [size for size, _ in sizes(c.kind)], c
    assert not [c for c in cases(Wanted(range(1, 3), others=False)) if c.rig != USUAL]


def test_an_event_runs_on_behind_the_time_in_which_a_call_is_right() -> None:
    case = Case("event", 3, noise="calm", kind="washout", size=0.1)
    assert case.seconds() == case.scenario().at + 3600.0 + 900.0
    assert Case("twin", 3, noise="calm", kind="washout", size=0.1).seconds() == case.seconds()


def test_a_twin_has_no_event_and_a_tour_declares_its_transfers() -> None:
    assert Case("event", 3, noise="calm", kind="influx", size=0.01).scenario().event == "influx"
    assert Case("twin", 3, noise="calm", kind="influx", size=0.01).scenario().event == ""
    assert declarations(Case("clean", 3, noise="calm").scenario())


def test_seeds_say_what_they_are_for() -> None:
    """Detection protocol: limits are set on 1 to 999, reports are made on 10000 to 10999."""
    assert (TUNING[0], TUNING[-1], REPORTING[0], REPORTING[-1]) == (1, 999, 10000, 10999)
    assert which_seeds(range(1, 1000)) == "tuning"
    assert which_seeds(range(10000, 11000)) == "reporting"
    assert which_seeds(range(990, 1001)) == "neither tuning nor reporting"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kinds": ("flood",)}, "no kind 'flood'; there are influx"),
        ({"noise": ("loud",)}, "no noise 'loud'; there are calm"),
        ({"runs": -1}, "runs must be 0 or more, got -1"),
        ({"seeds": range(0)}, "no seed"),
    ],
)
def test_what_cannot_be_run_is_refused_in_words(given: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        Wanted(**({"seeds": range(1, 3)} | given))  # type: ignore[arg-type]


def test_of_kicks_at_connections_half_have_three_stops_before() -> None:
    """The stops come before the event and, in the twin, before the rock that breathes."""
    plan = [c for c in cases(Wanted(range(1, 22), runs=7)) if c.kind in KNOWN and c.rig == USUAL]
    known = [c for c in plan if c.known]
    assert len(known) == len(plan) // 2
    assert {c.noise for c in known} == {c.noise for c in plan}
    what = known[0].scenario()
    assert what.plan.stops == STOPS
    assert max(at + lasts for at, lasts in STOPS) < what.at - 2000.0
    assert not any(c.known for c in cases(Wanted(range(1, 22), runs=7)) if c.kind not in KNOWN)
