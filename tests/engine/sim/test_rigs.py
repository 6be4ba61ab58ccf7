"""Other rigs are other rigs, and all of them keep the books."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.config import Feed, WellConfig
from engine.errors import InputError
from engine.sim.events import event
from engine.sim.rig import Rig
from engine.sim.rigs import RigModel, land, other_rigs, rig_model, rig_models, soft
from engine.sim.scenarios import scenario
from engine.sim.stream import truth_json, wits_bytes
from engine.sim.tours import quiet
from engine.states import RigState
from engine.units import BBL

MODELS = rig_models()
IDS = [model.name for model in MODELS]
BPM = BBL / 60


def test_the_land_rig_is_that_of_the_example_well(well: WellConfig) -> None:
    ours = land().config
    rig = {"block_weight", "lines", "sheave_efficiency", "stand_length", "crown_limit"}
    assert ours.rig.model_dump(include=rig) == well.rig.model_dump(include=rig)
    assert ours.pumps == well.pumps
    parts = {"outer", "inner", "weight", "length"}
    assert [p.model_dump(include=parts) for p in ours.string] == [
        p.model_dump(include=parts) for p in well.string
    ]
    assert [(h.diameter, h.bottom) for h in ours.hole] == [
        (h.diameter, h.bottom) for h in well.hole
    ]
    assert ours.mud == well.mud
    assert ours.profile.flow_normal == well.profile.flow_normal


def test_no_other_rig_shares_what_limits_could_have_been_fitted_to() -> None:
    mine, others = [land(), soft()], other_rigs()
    assert len(others) >= 3

    def marks(model: RigModel) -> list[object]:
        c = model.config
        pumps = tuple((p.liner, p.stroke) for p in c.pumps if p.lined_up)
        return [c.rig.stand_length, c.profile.flow_normal, model.site.pits, model.site.line_s,
                model.site.noise, c.mud.density, (pumps, c.hole[-1].diameter),
                model.site.ground]  # fmt: skip

    for other in others:
        for one in mine:
            assert all(a != b for a, b in zip(marks(other), marks(one), strict=True))
    assert {m.config.feeds[0].interval_s for m in others} >= {0.2, 5.0}
    assert len({m.config.rig.stand_length for m in others}) == len(others)
    assert {m.site.noise for m in others} >= {"paddle", "poor", "heave"}


def test_a_rig_is_found_by_name_or_refused() -> None:
    assert rig_model("singles").config.rig.stand_length == 9.4
    with pytest.raises(InputError, match=r"no rig 'barge'; there are land, soft, singles"):
        rig_model("barge")


@pytest.mark.parametrize("model", MODELS, ids=IDS)
def test_every_rig_drills_its_tour_and_keeps_the_books(model: RigModel) -> None:
    """Volume balance, own derivation: 1e-9 of some 300 m3."""
    rig = model.rig(quiet(4, 3.0), 2, 0.0)
    before = rig.fluid.held_volume()
    chunk = rig.advance(3 * 3600.0)
    assert rig.fluid.held_volume() == pytest.approx(before, abs=3e-7)
    drilling = chunk.truth["rig_state"] == RigState.DRILLING_ROTARY
    assert drilling.mean() > 0.5
    assert np.nanmax(chunk.sensors["block_position"]) < model.config.rig.crown_limit * 1.05
    ground = model.site.ground
    assert ground is not None
    rate = float(np.median(chunk.truth["rop"][drilling]))
    assert rate == pytest.approx(ground.rop, rel=0.35)
    assert 3e6 < float(np.nanmedian(chunk.sensors["standpipe_pressure"][drilling])) < 30e6
    assert not chunk.truth["influx_volume"].any()
    assert not chunk.truth["loss_volume"].any()


@pytest.mark.parametrize("model", MODELS, ids=IDS)
def test_samples_come_at_the_interval_of_the_feed(model: RigModel) -> None:
    interval = model.config.feeds[0].interval_s
    chunk = model.rig("quiet", 1, 1000.0).advance(600.0)
    assert chunk.t.size == round(600 / interval)
    assert chunk.second == pytest.approx(interval * np.arange(1, chunk.t.size + 1))
    gaps = np.diff(chunk.t)
    assert gaps.min() >= 0.9 * interval - 1e-6
    assert gaps.max() <= 1.1 * interval + 1e-6


@pytest.mark.parametrize("name", ["singles", "deep"])
def test_another_interval_does_not_depend_on_the_cut_either(name: str) -> None:
    model = rig_model(name)
    what = event("influx", seed=1, at=300.0)
    whole, cut = model.rig(what, 7, 1e9), model.rig(what, 7, 1e9)
    one, parts = whole.advance(900.0), [cut.advance(s) for s in (0.3, 4.9, 300.8, 0.0, 594.0)]
    assert list(wits_bytes(one)) == [p for part in parts for p in wits_bytes(part)]
    assert truth_json(whole, [one]) == truth_json(cut, parts)
    assert one.truth["influx_volume"][-1] == pytest.approx(BPM * 590, rel=0.01)


def test_the_hidden_run_is_the_same_whatever_the_sensors_do() -> None:
    fast, slow = rig_model("deep"), rig_model("deep")
    feed = slow.config.feeds[0].model_copy(update={"interval_s": 1.0})
    other = Rig(slow.config.model_copy(update={"feeds": (feed,)}), "quiet", 3, 0.0, "poor",
                slow.site)  # fmt: skip
    a, b = fast.rig("quiet", 3, 0.0).advance(1200.0), other.advance(1200.0)
    for column in ("bit_depth", "pit_volume", "flow_out", "rig_state"):
        assert a.truth[column][4::5].tobytes() == b.truth[column].tobytes(), column


def test_an_interval_between_the_steps_is_refused(well: WellConfig) -> None:
    feed = Feed(name="rig", interval_s=0.25)
    with pytest.raises(InputError, match=r"multiple of that, got 0\.25"):
        Rig(well.model_copy(update={"feeds": (feed,)}), "quiet", 1, 0.0)


def test_noise_is_chosen_by_argument_then_site_then_scenario(well: WellConfig) -> None:
    rough = replace(scenario("quiet"), noise="rough")
    assert Rig(well, rough, 1, 0.0).noise == "rough"
    assert rig_model("doubles").rig(rough, 1, 0.0).noise == "poor"
    assert rig_model("doubles").rig(rough, 1, 0.0, "meter").noise == "meter"
    with pytest.raises(InputError, match=r"no noise class 'loud'; there are calm"):
        Rig(well, "quiet", 1, 0.0, noise="loud")
