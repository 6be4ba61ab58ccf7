"""A clean tour has everything that belongs to a good day, and nothing that does not."""

from __future__ import annotations

import numpy as np
import pytest

from engine.config import WellConfig
from engine.sim.rig import Rig
from engine.sim.scenarios import scenario
from engine.sim.tours import declarations, quiet
from engine.states import RigState


def test_a_tour_is_drawn_by_its_seed() -> None:
    assert quiet(3, 12.0) == quiet(3, 12.0)
    assert quiet(3, 12.0).troubles != quiet(4, 12.0).troubles


def test_twenty_tours_have_every_innocent_disturbance() -> None:
    tours = [quiet(seed, 12.0) for seed in range(20)]
    kinds = {t.kind for tour in tours for t in tour.troubles}
    assert kinds == {"transfer", "to-trip-tank", "pump-rate", "stripping", "swelling",
                     "more-torque"}  # fmt: skip
    signs = {np.sign(t.size) for tour in tours for t in tour.troubles if t.kind == "transfer"}
    assert signs == {1.0, -1.0}
    for tour in tours:
        assert all(t.operation for t in tour.troubles)
        assert tour.plan.stops
        assert tour.plan.reams
        assert tour.plan.short_trips
        assert tour.event == ""
        assert tour.troubles == tour.twin().troubles


@pytest.mark.parametrize("seed", [1, 2])
def test_nothing_flows_in_or_out_of_the_rock_and_the_books_close(
    well: WellConfig, seed: int
) -> None:
    """Volume balance, own derivation: 1e-9 of some 300 m3."""
    rig = Rig(well, quiet(seed, 8.0, noise="flume"), seed, 0.0)
    before = rig.fluid.held_volume()
    chunk = rig.advance(8 * 3600.0)
    assert rig.fluid.held_volume() == pytest.approx(before, abs=3e-7)
    for column in ("influx_volume", "loss_volume", "breath_volume"):
        assert not chunk.truth[column].any(), column
    states = set(chunk.truth["rig_state"])
    assert states >= {
        RigState.DRILLING_ROTARY, RigState.TRIPPING_OUT, RigState.TRIPPING_IN, RigState.IN_SLIPS,
        RigState.REAMING_UP, RigState.REAMING_DOWN, RigState.CIRCULATING, RigState.STATIC,
    }  # fmt: skip
    assert (chunk.truth["rig_state"] == RigState.DRILLING_ROTARY).mean() > 0.5
    assert (np.diff(chunk.truth["hole_depth"]) >= 0).all()
    assert not [e for e in rig.events if e.event]


def test_what_is_declared_is_what_comes(well: WellConfig) -> None:
    tour = quiet(5, 10.0)
    said = declarations(tour)
    assert len(said) >= 3
    assert [at for at, _ in said] == sorted(at for at, _ in said)
    rig = Rig(well, tour, 5, 0.0)
    truth = rig.advance(10 * 3600.0).truth
    pits = {t.start: t for t in tour.troubles if t.kind == "transfer"}
    checked = 0
    for at, declared in said:
        trouble = pits.get(at + 20.0)
        if trouble is None:
            assert "trip tank" in declared.what
            continue
        come = truth["transfer_volume"][int(trouble.end) + 1]
        come -= truth["transfer_volume"][int(trouble.start) - 2]
        assert declared.volume == pytest.approx(come, rel=1e-6)
        assert declared.flow == pytest.approx(abs(trouble.size))
        assert declared.minutes * 60 > trouble.end - at
        assert declared.what == ("reserve to active" if come > 0 else "active to reserve")
        checked += 1
    assert checked


def test_mud_in_the_trip_tank_leaves_the_active_pits(well: WellConfig) -> None:
    tour = quiet(1, 2.0)
    moved = next(t for t in tour.troubles if t.kind == "to-trip-tank")
    (said,) = [d for at, d in declarations(tour) if at == moved.start - 20.0]
    assert (said.what, said.volume) == ("active to trip tank", pytest.approx(-moved.size * 295.0))
    tank = Rig(well, tour, 1, 0.0).advance(moved.end + 30.0).sensors["trip_tank_volume"]
    before, after = tank[int(moved.start) - 30 : int(moved.start)], tank[-20:]
    assert after.mean() - before.mean() == pytest.approx(-said.volume, abs=0.05)


def test_a_tour_can_be_had_by_name() -> None:
    assert scenario("tour").troubles == quiet(1, 12.0).troubles
