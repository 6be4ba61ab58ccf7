"""Each scenario shows what it promises, and its twin without the trouble does not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from engine.block import FloatArray
from engine.sim.rig import Chunk, Rig
from engine.sim.scenarios import DEMO_HISTORY, SCENARIOS, scenario
from engine.states import RigState

Run = Callable[[str, float, int], tuple[Rig, Chunk]]
AT = 3000
SEED = 7
LONG = 6000.0
PAIRS = [n for n in SCENARIOS if f"{n}-twin" in SCENARIOS and not SCENARIOS[n].event]
"""Scenarios with a twin; those made by `engine.sim.events` have tests of their own."""


def both(run: Run, name: str) -> tuple[Chunk, Chunk]:
    """Return a run and its twin."""
    return run(name, LONG, SEED)[1], run(f"{name}-twin", LONG, SEED)[1]


def mean(chunk: Chunk, channel: str, first: int, last: int) -> float:
    return float(np.nanmean(chunk.sensors[channel][first:last]))


def change(chunk: Chunk, channel: str, first: int, last: int) -> float:
    """Return a channel's mean over a span less its mean in the quiet before."""
    return mean(chunk, channel, first, last) - mean(chunk, channel, AT - 600, AT)


def test_a_twin_is_the_same_run_until_the_trouble_begins(run: Run) -> None:
    for name in PAIRS:
        with_it, twin = both(run, name)
        for channel, values in with_it.sensors.items():
            same = values[: AT - 1] == twin.sensors[channel][: AT - 1]
            assert same.all(), (name, channel)
        assert not [t for t in scenario(f"{name}-twin").troubles if not t.operation]


def test_a_kick_gains_in_the_pits_and_in_the_returns(run: Run) -> None:
    kick, twin = both(run, "kick")
    truth = kick.truth["influx_volume"]
    assert truth[AT] == 0
    assert truth[AT + 1200] > 1.5
    assert not twin.truth["influx_volume"].any()
    assert change(kick, "pit_volume", AT + 1100, AT + 1300) > 1.0
    assert abs(change(twin, "pit_volume", AT + 1100, AT + 1300)) < 0.3
    rise = mean(kick, "flow_out", AT + 200, AT + 900) - mean(twin, "flow_out", AT + 200, AT + 900)
    assert rise * 6e4 > 120
    assert change(kick, "standpipe_pressure", AT + 1100, AT + 1300) < -50e3
    gained = change(kick, "pit_volume", AT + 1200, AT + 1210)
    base = change(twin, "pit_volume", AT + 1200, AT + 1210)
    # Less what is still in the flow line: 33 s of a few litres a second.
    assert gained - base == pytest.approx(float(truth[AT + 1205]), abs=0.25)


def test_bottoms_up_of_a_kick_are_hot_gassy_and_light(run: Run) -> None:
    """Lag by hand: annulus of 8.5 in hole, 2400 m, at 45 L/s is about 20 min."""
    kick, twin = both(run, "kick")
    warm = kick.sensors["temperature_out"] - twin.sensors["temperature_out"]
    first = int(np.flatnonzero(warm[AT:] > 2)[0])
    assert 900 < first < 1700
    later = slice(AT + first + 300, AT + first + 600)
    assert np.mean(kick.sensors["gas"][later]) > 3 * np.mean(twin.sensors["gas"][later])
    assert np.mean(kick.sensors["density_out"][later] - twin.sensors["density_out"][later]) < -3


def test_a_transfer_hides_the_gain_of_a_masked_kick(run: Run) -> None:
    masked, twin = both(run, "masked-kick")
    assert abs(change(masked, "pit_volume", AT + 500, AT + 700)) < 0.5
    assert masked.truth["influx_volume"][AT + 600] > 1
    assert change(twin, "pit_volume", AT + 500, AT + 700) < -1.5
    assert mean(masked, "flow_out", AT + 200, AT + 700) > mean(twin, "flow_out", AT + 200, AT + 700)


def test_a_partial_loss_takes_returns_and_pit_volume(run: Run) -> None:
    loss, twin = both(run, "partial-loss")
    span = (AT + 200, AT + 1200)
    short = mean(loss, "flow_out", *span) - mean(loss, "flow_in_measured", *span)
    assert short * 6e4 < -500
    assert abs(mean(twin, "flow_out", *span) - mean(twin, "flow_in_measured", *span)) * 6e4 < 150
    assert change(loss, "pit_volume", AT + 900, AT + 910) < -6
    assert loss.truth["loss_volume"][AT + 900] > 6
    assert mean(loss, "flow_out", int(LONG) - 500, int(LONG)) > 0.042  # healed


def test_a_total_loss_has_no_returns_and_less_pressure(run: Run) -> None:
    total, twin = both(run, "total-loss")
    span = (AT + 400, AT + 1500)
    assert mean(total, "flow_out", *span) * 6e4 < 30
    assert change(total, "standpipe_pressure", *span) < -1e6
    assert change(total, "hook_load", *span) > 3e3  # buoyancy lost
    assert mean(twin, "flow_out", *span) > 0.04
    assert np.nanmin(total.sensors["pit_volume"]) > 10


def test_a_washout_loses_pressure_at_constant_strokes(run: Run) -> None:
    washout, twin = both(run, "washout")
    end = (AT + 2300, AT + 2500)
    assert change(washout, "standpipe_pressure", *end) < -0.15 * 11.5e6
    assert abs(change(twin, "standpipe_pressure", *end)) < 0.1e6
    for quiet in ("flow_out", "pump_1_rate", "pit_volume", "torque"):
        assert mean(washout, quiet, *end) == pytest.approx(mean(twin, quiet, *end), rel=0.02)
    half = change(washout, "standpipe_pressure", AT + 1150, AT + 1250)
    assert -0.12 * 11.5e6 < half < -0.05 * 11.5e6  # slow, not a step


def test_a_pack_off_raises_pressure_and_torque_and_takes_returns(run: Run) -> None:
    packed, twin = both(run, "pack-off")
    pressure, torque = packed.sensors["standpipe_pressure"], packed.sensors["torque"]
    assert pressure[AT : AT + 200].max() > 14.5e6
    assert (pressure[AT : AT + 300] > 14.5e6).sum() >= 10  # outlasts an alarm's delay
    assert torque[AT + 60 : AT + 120].mean() > 1.3 * mean(twin, "torque", AT + 60, AT + 120)
    assert packed.truth["loss_volume"][-1] > 0.05
    assert twin.sensors["standpipe_pressure"].max() < 12.5e6
    assert mean(packed, "standpipe_pressure", 5500, 5900) == pytest.approx(11.5e6, rel=0.02)


def test_pressure_rises_with_the_pumps_off_only_when_shut_in(run: Run) -> None:
    """50 psi (0.34 MPa) in the quarter of an hour."""
    shut, twin = both(run, "pressure-rise-pumps-off")
    still = shut.truth["rig_state"] == RigState.STATIC
    assert (still == (twin.truth["rig_state"] == RigState.STATIC)).all()
    assert still[AT + 100 : AT + 900].all()
    rise = shut.sensors["standpipe_pressure"][AT + 100 : AT + 900]
    assert rise[-10:].mean() - rise[:10].mean() > 0.3e6
    assert np.abs(twin.sensors["standpipe_pressure"][AT + 100 : AT + 900]).max() < 0.1e6


def test_a_stuck_gauge_repeats_itself_and_a_dropout_sends_nothing(run: Run) -> None:
    stuck, twin = both(run, "stuck-sensor")
    spell = slice(AT, AT + 880)
    assert np.ptp(stuck.sensors["standpipe_pressure"][spell]) == 0
    assert np.ptp(twin.sensors["standpipe_pressure"][spell]) > 0
    assert (stuck.sensors["hook_load"] == twin.sensors["hook_load"]).all()
    silent, twin = both(run, "feed-dropout")
    assert not silent.sent[AT : AT + 89].any()
    assert twin.sent[AT : AT + 89].any()


@pytest.mark.parametrize("name", PAIRS)
def test_the_truth_names_the_trouble_and_when(run: Run, name: str) -> None:
    rig, _ = run(name, LONG, SEED)
    kinds = {t.kind for t in rig.scenario.troubles}
    found = [e for e in rig.events if e.kind in kinds]
    assert {e.kind for e in found} == kinds
    assert all(AT <= e.start <= AT + 120 for e in found)
    twin, _ = run(f"{name}-twin", LONG, SEED)
    assert {e.kind for e in twin.events} <= {"transfer"}


def test_a_trip_gives_the_hole_the_steel_it_lost(run: Run) -> None:
    """Volume balance, own derivation: open-ended pipe 31.9 kg/m takes 4.06 L for each metre."""
    rig, chunk = run("trip-out", 3600, SEED)
    pulled = chunk.truth["rig_state"] == RigState.TRIPPING_OUT
    first = int(np.flatnonzero(pulled)[0])
    tank, bit = chunk.sensors["trip_tank_volume"], chunk.truth["bit_depth"]
    metres = float(bit[first] - bit[-1])
    given = tank[first - 60 : first].mean() - tank[-60:].mean()
    assert metres > 300
    assert given == pytest.approx(metres * 31.9 / 7850, abs=0.05)
    assert len(rig.connections) == 12


@pytest.mark.parametrize("seed", range(1, 9))
def test_the_demo_keeps_its_timing(run: Run, seed: int) -> None:
    """Own promise: mid-stand at 7200 s, slips 60 to 110 s later, pressure soon after that."""
    rig, chunk = run("demo", DEMO_HISTORY + 1800, seed)
    now = int(DEMO_HISTORY)
    state = chunk.truth["rig_state"]
    assert (state[now - 1800 : now + 15] == RigState.DRILLING_ROTARY).all()
    slips = [c.slips_in for c in rig.connections]
    assert [s for s in slips if s < now]
    assert 60 <= next(s for s in slips if s > now) - now <= 110
    high = chunk.sensors["standpipe_pressure"] > 14.5e6
    assert not high[:now].any()
    five = np.convolve(high.astype(int), np.ones(6, int), "valid") == 6  # the alarm's delay
    assert 150 < int(np.flatnonzero(five)[0]) + 6 - now < 290
    assert state[-1] == RigState.DRILLING_ROTARY  # they recover and drill on


@pytest.mark.parametrize("seed", [1, 2])
def test_the_history_of_the_demo_is_inside_every_limit(run: Run, seed: int) -> None:
    """Limits of the example well, as a reading of the raw channels."""
    _, chunk = run("demo", DEMO_HISTORY + 1800, seed)
    n = int(DEMO_HISTORY)
    s: dict[str, FloatArray] = {k: v[:n] for k, v in chunk.sensors.items()}
    drilling = chunk.truth["rig_state"][:n] == RigState.DRILLING_ROTARY
    assert s["hook_load"].max() < 144 * 9806.65
    assert s["torque"].max() < 24e3
    assert s["temperature_out"].max() < 81 + 273.15
    assert s["block_position"].max() < 37.7
    assert s["standpipe_pressure"][drilling].min() > 8.5e6
    off = (s["flow_out"] - s["flow_in_measured"])[drilling] * 6e4
    assert np.abs(np.convolve(off, np.ones(10) / 10, "valid")).max() < 500
    gain = s["pit_volume"][drilling] - s["pit_volume"][:60].mean()
    assert gain.min() > -6
    assert gain.max() < 1.0


def test_the_demo_goes_on_for_twelve_hours_with_more_to_see(run: Run) -> None:
    rig, chunk = run("demo", DEMO_HISTORY + 12 * 3600, 1)
    kinds = [e.kind for e in rig.events]
    assert {"pack-off", "loss", "hot", "washout", "addition"} <= set(kinds)
    assert kinds.count("hot") == 2
    assert len(rig.connections) >= 7
    live = slice(int(DEMO_HISTORY), None)
    drilling = chunk.truth["rig_state"][live] == RigState.DRILLING_ROTARY
    assert drilling.mean() > 0.7
    assert chunk.sensors["temperature_out"][live].max() > 83 + 273.15
    assert chunk.sensors["standpipe_pressure"][live][drilling].min() < 8.5e6
    washed = next(e for e in rig.events if e.kind == "washout")
    assert washed.end is not None
    assert chunk.sensors["pit_volume"].min() > 30
