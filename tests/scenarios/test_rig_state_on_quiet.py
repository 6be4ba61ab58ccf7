"""Rig states and sensor checks on the synthetic rig, against what really happened."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.channels import RAW
from engine.pipeline import Pipeline
from engine.sim.rig import Rig
from engine.states import RigState
from tests.tables import T0, raw_of, well


@cache
def run(scenario: str, seed: int, hours: float) -> tuple[dict[str, Block], np.ndarray, Pipeline]:
    """Return all channels, the true state of each row and the pipeline after the run."""
    chunk = Rig(well(), scenario, seed, T0).advance(hours * 3600.0)
    pipeline = Pipeline(well())
    truth = chunk.truth["rig_state"][chunk.sent].astype(int)
    return pipeline.process(raw_of(chunk)), truth, pipeline


def dated_back(out: dict[str, Block]) -> np.ndarray:
    """Return the state of each row as the times of `rig_state_since` give it."""
    shown, since = out["rig_state"].value.astype(int), out["rig_state_since"].value
    better = shown.copy()
    for i in np.flatnonzero(np.diff(shown) != 0) + 1:
        better[np.searchsorted(out["rig_state"].t, since[i]) : i] = shown[i]
    return better


def f1(truth: np.ndarray, got: np.ndarray, state: RigState) -> float:
    """Return the harmonic mean of precision and recall of one state. [-]"""
    both = float(((truth == state) & (got == state)).sum())
    return 2 * both / float((truth == state).sum() + (got == state).sum())


@pytest.mark.parametrize("seed", [1, 2])
def test_two_quiet_hours_are_right_in_97_percent_of_seconds(seed: int) -> None:
    """The best published figure by sample is 97 per cent; common practice, no source.

    As shown, and better so when dated back, which is what times in reports are made of.
    """
    out, truth, pipeline = run("quiet", seed, 2.0)
    shown = out["rig_state"].value.astype(int)
    assert {int(RigState.DRILLING_ROTARY), int(RigState.IN_SLIPS)} <= set(truth.tolist())
    assert (shown == truth).mean() >= 0.97
    assert (dated_back(out) == truth).mean() >= 0.985
    assert f1(truth, shown, RigState.DRILLING_ROTARY) >= 0.98
    assert f1(truth, dated_back(out), RigState.IN_SLIPS) >= 0.98
    assert pipeline.rig_states.state.illegal == 0


def test_a_round_trip_is_right_in_97_percent_of_seconds_dated_back() -> None:
    """What is shown comes later by its dwell, a few seconds at each of some 90 changes."""
    out, truth, pipeline = run("trip-in", 1, 3.0)
    assert (dated_back(out) == truth).mean() >= 0.97
    assert (out["rig_state"].value.astype(int) == truth).mean() >= 0.94
    assert pipeline.rig_states.state.illegal <= 1


@pytest.mark.parametrize(
    ("scenario", "seed", "hours"), [("quiet", 1, 2.0), ("quiet", 2, 2.0), ("trip-in", 1, 3.0)]
)
def test_living_sensors_are_never_called_frozen_or_out_of_range(
    scenario: str, seed: int, hours: float
) -> None:
    out, _, _ = run(scenario, seed, hours)
    bits = np.uint16(Quality.FROZEN | Quality.OUT_OF_RANGE)
    assert not [name for name in RAW if (out[name].quality & bits).any()]


def test_a_stuck_pressure_gauge_is_found_and_let_go() -> None:
    """R-04. It sticks from 3000 to 3900 s while the rig drills at a steady rate."""
    out, _, _ = run("stuck-sensor", 1, 1.5)
    block = out["standpipe_pressure"]
    at = block.t[(block.quality & np.uint16(Quality.FROZEN)) != 0] - T0
    assert 3000 + 185 <= at[0] <= 3000 + 195
    assert 3895 <= at[-1] <= 3901


def test_a_total_loss_does_not_look_like_a_dead_flow_sensor() -> None:
    out, _, _ = run("total-loss", 1, 1.5)
    lost = out["flow_out"].value < 1e-3
    pumping = out["flow_in"].value > 0.01
    assert (lost & pumping).sum() > 600
    assert not (out["flow_difference"].quality & np.uint16(Quality.FROZEN)).any()
    assert out["flow_difference"].value[lost & pumping].max() < -0.009
