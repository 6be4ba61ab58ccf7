"""What each event in string, bit, pumps and gauges does, and what its twin does not.

Every event begins at 1500 s, when the first connection is long over. Numbers are by hand.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from engine.block import FloatArray
from engine.sim.events import event
from engine.sim.fluid import bit_pressure_drop
from engine.sim.recipes_rig import TIGHT
from engine.sim.rig import Chunk, Rig
from engine.sim.rigs import rig_model
from engine.sim.sensor_events import FAULT_NAMES
from engine.states import RigState

Pair = Callable[..., tuple[tuple[Rig, Chunk], ...]]
AT = 1500
BEFORE = slice(AT - 300, AT)


def ratio(chunk: Chunk, channel: str, first: int, last: int) -> float:
    """Return the mean of a span over that of the five minutes before the event."""
    values = chunk.sensors[channel]
    return float(np.nanmean(values[AT + first : AT + last]) / np.nanmean(values[BEFORE]))


@pytest.mark.parametrize("share", [0.03, 0.1])
def test_a_washout_takes_pressure_at_the_same_strokes_slow_pumps_take_both(
    pair: Pair, share: float
) -> None:
    (rig, out), (_, twin) = pair("washout", 4500.0, at=AT, severity=share)
    end = (1600, 2600)
    assert ratio(out, "standpipe_pressure", *end) == pytest.approx(1 - share, abs=0.35 * share)
    assert ratio(out, "standpipe_pressure", 600, 800) > 1 - 0.7 * share  # slow, not a step
    assert ratio(out, "pump_1_rate", *end) == pytest.approx(1.0, abs=0.005)
    for same in ("flow_out", "flow_in"):
        assert out.truth[same][AT : AT + 2600] == pytest.approx(out.truth[same][AT], abs=5e-5)
    assert ratio(twin, "standpipe_pressure", *end) == pytest.approx(1 - share, abs=0.35 * share)
    assert ratio(twin, "pump_1_rate", *end) == pytest.approx(1 - share / 1.8, abs=0.01)
    assert rig.fluid.influx == rig.fluid.loss == 0.0


def test_a_plugged_nozzle_is_a_step_by_the_bit_formula(pair: Pair) -> None:
    """Dp ~ 1 / area2 (Bourgoyne et al., 1986, ch. 4): one of five gone, 1 / 0.8^2."""
    (rig, plugged), (_, twin) = pair("nozzle-plugged", 3600.0, at=AT)
    area = rig.fluid._nozzles
    bit = bit_pressure_drop(1050, rig.fluid.usual, area, 0.95)
    step = np.mean(plugged.sensors["standpipe_pressure"][AT + 30 : AT + 90])
    step -= np.mean(plugged.sensors["standpipe_pressure"][AT - 60 : AT])
    assert step == pytest.approx(bit * (1 / 0.8**2 - 1), rel=0.1)
    assert ratio(plugged, "pump_1_rate", 60, 900) == pytest.approx(1.0, abs=0.01)
    assert ratio(twin, "pump_1_rate", 60, 900) == pytest.approx(1.06, abs=0.01)
    assert ratio(twin, "standpipe_pressure", 60, 900) > 1.07


def test_a_lost_nozzle_is_a_step_down(pair: Pair) -> None:
    """One of five 15/32 seats now 20/32 wide: area 1.156, dp 0.749 of the bit's."""
    (rig, lost), (_, twin) = pair("nozzle-lost", 3600.0, at=AT)
    bit = bit_pressure_drop(1050, rig.fluid.usual, rig.fluid._nozzles, 0.95)
    step = np.mean(lost.sensors["standpipe_pressure"][AT + 30 : AT + 90])
    step -= np.mean(lost.sensors["standpipe_pressure"][AT - 60 : AT])
    assert step == pytest.approx(bit * (0.749 - 1), rel=0.15)
    assert ratio(twin, "pump_1_rate", 60, 900) == pytest.approx(0.97, abs=0.01)


def test_a_string_that_parts_is_lighter_turns_freely_and_needs_less_pressure(pair: Pair) -> None:
    (rig, parted), (_, twin) = pair("twist-off", 3600.0, at=AT)
    hook = parted.sensors["hook_load"]
    drop = np.mean(hook[AT - 30 : AT]) - np.mean(hook[AT + 10 : AT + 60])
    # 30 % of the buoyed string goes and 11 t of bit weight comes back; the block stays.
    assert 0.08 < drop / np.mean(hook[AT - 30 : AT]) < 0.3
    assert ratio(parted, "standpipe_pressure", 10, 60) < 0.8
    assert ratio(parted, "torque", 10, 60) < 0.6
    assert parted.truth["hole_depth"][-1] == parted.truth["hole_depth"][AT + 5]
    assert twin.truth["hole_depth"][-1] > twin.truth["hole_depth"][AT] + 3
    assert ratio(twin, "torque", 20, 60) > 0.9
    assert rig.events[-1].end is None


def test_a_pack_off_raises_pressure_torque_and_drag_and_takes_returns(pair: Pair) -> None:
    (rig, packed), (_, twin) = pair("pack-off", 3600.0, at=AT)
    span = (200, 800)
    assert ratio(packed, "standpipe_pressure", *span) > 1.25
    assert ratio(packed, "torque", *span) > 1.5
    assert ratio(packed, "flow_out", *span) < 0.95
    assert rig.hoist.grip == 0.0
    assert packed.truth["loss_volume"][-1] > 1.0
    assert ratio(twin, "torque", *span) > 1.15
    assert ratio(twin, "flow_out", *span) > 1.03
    assert not twin.truth["loss_volume"].any()


def test_tight_spots_pull_at_their_depths_and_nowhere_else(pair: Pair) -> None:
    (rig, tight), (twin_rig, twin) = pair("overpull", 3600.0, at=30.0)
    spots = [e for e in rig.events if e.event == "overpull"]
    assert len(spots) >= 3
    start = float(tight.truth["bit_depth"][0])
    above = start - tight.truth["bit_depth"]
    for spot in spots[:3]:
        here = above[int(spot.start) - 1 : int(spot.end or 0) + 1]
        assert min(abs(float(np.min(np.abs(here - t)))) for t in TIGHT) < 1.5
    extra = tight.sensors["hook_load"] - twin.sensors["hook_load"]
    assert extra.max() > 0.5 * 150e3
    far = np.min(np.abs(above[:, None] - np.array(TIGHT)), axis=1) > 5
    assert np.abs(extra[far]).max() < 5e3
    assert not twin_rig.events


def test_a_ledge_takes_weight_on_the_way_in_and_none_on_the_way_out(pair: Pair) -> None:
    (rig, ledge), (_, twin) = pair("take-weight", 4200.0, at=30.0)
    less = twin.sensors["hook_load"] - ledge.sensors["hook_load"]
    down = ledge.truth["rig_state"] == RigState.TRIPPING_IN
    assert less[down].max() > 0.4 * 150e3
    assert np.abs(less[ledge.truth["rig_state"] == RigState.TRIPPING_OUT]).max() < 5e3
    assert {e.event for e in rig.events} == {"take_weight"}


def test_a_string_lost_on_a_trip_leaves_the_hook_light(pair: Pair) -> None:
    """By hand: 70 % of 85 t in mud is gone from one second to the next, the block stays."""
    (_, lost), (_, twin) = pair("hook-load-lost", 3000.0, at=900.0)
    hanging = (lost.truth["in_slips"] == 0) & (lost.second > 905)
    fall = twin.sensors["hook_load"][hanging] - lost.sensors["hook_load"][hanging]
    assert 450e3 < np.median(fall) < 700e3
    assert np.abs(twin.sensors["hook_load"] - lost.sensors["hook_load"])[:899].max() == 0


def swing(torque: FloatArray, step: float, period: float) -> float:
    """Return how much of the variance lies within a tenth of `period`. [-]"""
    torque = torque - torque.mean()
    power = np.abs(np.fft.rfft(torque)) ** 2
    frequency = np.fft.rfftfreq(torque.size, step)
    near = np.abs(frequency * period - 1) < 0.1
    return float(power[near].sum() / power[1:].sum())


def test_stick_slip_is_periodic_where_the_packets_come_often_enough() -> None:
    """Two-disc model: 1 + 1.23 s a kilometre, 5.3 s at 3480 m; 5 s packets cannot show it."""
    what = event("stick-slip", seed=1, at=AT, severity=0.4)
    deep, slim = (rig_model(name) for name in ("deep", "singles"))
    for scenario, low, high in ((what, 0.7, 1.0), (what.twin(), 0.0, 0.2)):
        chunk = deep.rig(scenario, 3, 0.0).advance(AT + 700.0)
        torque = chunk.sensors["torque"][(AT + 100) * 5 : (AT + 600) * 5]
        assert low <= swing(torque, 0.2, 1 + 1.23 * 3.48) <= high
    chunk = slim.rig(what, 3, 0.0).advance(AT + 1800.0)
    torque = chunk.sensors["torque"][(AT + 100) // 5 : (AT + 1700) // 5]
    assert np.std(torque) > 0.1 * np.mean(torque)  # it is there, but without its period
    assert swing(torque, 5.0, 1 + 1.23 * 0.98) == 0.0


def test_easier_rock_drills_faster_at_the_same_weight(pair: Pair) -> None:
    (_, easy), (_, heavy) = pair("drilling-break", 3600.0, at=AT)
    for chunk, weight in ((easy, 1.0), (heavy, 1.8)):
        truth = chunk.truth
        later = slice(AT + 300, AT + 1500)
        drilled = truth["rop"][later].mean() / truth["rop"][BEFORE].mean()
        assert drilled == pytest.approx(1.8, rel=0.2)
        pressed = truth["weight_on_bit"][later].mean() / truth["weight_on_bit"][BEFORE].mean()
        assert pressed == pytest.approx(weight, rel=0.1)


def test_a_pump_that_lost_a_valve_keeps_its_strokes_and_loses_output(pair: Pair) -> None:
    """Pressure ~ q^1.85 by the rig's own friction: (5/6)^1.85 = 0.71; it swings as well."""
    (_, lame), (_, slow) = pair("pump-fault", 3600.0, at=AT)
    span = (120, 1500)
    assert ratio(lame, "pump_1_rate", *span) == pytest.approx(1.0, abs=0.01)
    assert ratio(lame, "flow_out", *span) == pytest.approx(5 / 6, abs=0.02)
    assert ratio(lame, "standpipe_pressure", *span) == pytest.approx(0.72, abs=0.03)
    assert ratio(slow, "pump_1_rate", *span) == pytest.approx(5 / 6, abs=0.01)
    sd = [np.std(c.sensors["standpipe_pressure"][AT + 120 : AT + 1500]) for c in (lame, slow)]
    assert sd[0] > 3 * sd[1]
    assert lame.truth["flow_in"][AT + 300] == pytest.approx(0.045 * 5 / 6, rel=1e-3)


def test_returns_past_the_gauge_are_still_in_the_pits(pair: Pair) -> None:
    (_, past), (_, stop) = pair("return-flow-not-measured", 3600.0, at=AT)
    span = slice(AT + 60, AT + 1700)
    assert np.abs(past.sensors["flow_out"][span]).max() < 0.002
    assert past.truth["flow_out"][span].mean() > 0.04
    gone = past.sensors["pit_volume"][AT + 1500 : AT + 1600].mean()
    assert gone == pytest.approx(past.sensors["pit_volume"][BEFORE].mean(), abs=0.4)
    static = stop.truth["rig_state"][AT:] == RigState.STATIC
    assert static.sum() > 400


@pytest.mark.parametrize("fault", FAULT_NAMES)
def test_a_faulty_gauge_leaves_the_truth_and_the_others_alone(pair: Pair, fault: str) -> None:
    (rig, bad), (_, good) = pair(
        "sensor-fault", 4200.0, at=AT, channel="standpipe_pressure", fault=fault
    )
    for name, values in good.sensors.items():
        if name != "standpipe_pressure":
            assert values.tobytes() == bad.sensors[name].tobytes(), name
    for name, values in good.truth.items():
        assert values.tobytes() == bad.truth[name].tobytes(), name
    span = slice(AT + 2, AT + 1700)
    read, true = bad.sensors["standpipe_pressure"][span], good.sensors["standpipe_pressure"][span]
    assert {
        "stuck": lambda: np.ptp(read) == 0 < np.ptp(true),
        "spikes": lambda: 20 < (read > 2 * true).sum() < 120,
        "drift": lambda: 1.15 < (read / true)[-1] < 1.25 and (read / true)[10] < 1.01,
        "blank": lambda: np.isnan(read).all(),
        "saturated": lambda: read.max() <= 1.15e7 + 1e4 < true.max(),
        "over-range": lambda: (read > 5e7).all(),
        "dead": lambda: not read.any(),
    }[fault]()
    assert rig.events[-1].event == "sensor_fault"
    assert rig.events[-1].channel == "standpipe_pressure"


def test_a_flow_gauge_beyond_its_range_shows_what_it_reads(pair: Pair) -> None:
    (_, wild), (_, twin) = pair("over-range", 2400.0, at=AT)
    span = slice(AT + 5, AT + 110)
    assert (wild.sensors["flow_out"][span] == 0.3).all()
    assert twin.sensors["flow_out"].max() < 0.07
    assert twin.truth["flow_out"][AT + 250] / twin.truth["flow_out"][AT] == pytest.approx(
        1.15, 0.01
    )
