"""The tracer of the synthetic rig: what it says is at the shakers, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.config import WellConfig
from engine.sim.jobs import Plan
from engine.sim.rig import Rig
from engine.sim.scenarios import scenario


def test_what_arrives_left_the_bit_one_annulus_of_lifted_mud_ago(well: WellConfig) -> None:
    """Balance of volumes, own derivation: lifted(now) - lifted(then) = annulus(then)."""
    rig = Rig(well, "quiet-soft", 4, 0.0)
    lifted, depth, annulus = [], [], []
    for _ in range(2 * 3600):
        rig.advance(1.0)
        lifted.append(rig.fluid.lifted)
        depth.append(rig.hoist.hole)
        annulus.append(rig.fluid.geometry.annulus(rig.hoist.bit))
    due = np.maximum.accumulate(np.array(lifted) + np.array(annulus))
    sent = np.searchsorted(due, lifted[-1], side="right") - 1
    assert sent > 0
    assert rig.fluid.returns.depth == pytest.approx(depth[sent], abs=0.02)


def test_the_tracer_stands_still_with_the_pumps(well: WellConfig) -> None:
    plan = Plan(left=20.0, stops=((600.0, 600.0),))
    rig = Rig(well, replace(scenario("quiet-soft"), plan=plan), 2, 0.0)
    truth = rig.advance(1800.0).truth["lagged_depth"]
    stood = np.flatnonzero(np.diff(truth) == 0)
    longest = max(np.split(stood, np.flatnonzero(np.diff(stood) > 1) + 1), key=len)
    assert longest.size > 550
    assert longest[0] == pytest.approx(660, abs=30)
    assert truth[-1] - truth[longest[0]] > 1.0


def test_mud_that_is_lost_lifts_nothing(well: WellConfig) -> None:
    """With a total loss nothing arrives; the twin without it goes on."""
    lost = Rig(well, "total-loss", 1, 0.0).advance(4500.0).truth["lagged_depth"]
    twin = Rig(well, "total-loss-twin", 1, 0.0).advance(4500.0).truth["lagged_depth"]
    assert lost[2999] == twin[2999]
    assert lost[4499] - lost[3200] < 0.2
    assert twin[4499] - twin[3200] > 1.0


def test_at_the_start_there_is_already_rock_on_its_way(well: WellConfig) -> None:
    """As after hours of steady drilling: D - d is the rate times the lag."""
    rig = Rig(well, "quiet", 1, 0.0)
    fluid, ground = rig.fluid, rig.ground
    lag = fluid.geometry.annulus(rig.hoist.bit) / fluid.usual
    assert rig.hoist.bit - fluid.returns.depth == pytest.approx(ground.rop * lag, abs=0.01)
