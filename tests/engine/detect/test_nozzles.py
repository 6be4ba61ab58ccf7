"""Nozzles lost and plugged, and what looks like them.

Sizes: the loss at a bit goes with the inverse square of its area (A. T. Bourgoyne et al., Applied
Drilling Engineering, SPE, 1986, ch. 4); a lost one of five takes 9 to 19 per cent, a plugged one
gives 17 to 37.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.standpipe_rows import START, calls, drilling, entries_of, ramp
from tests.tables import L_S, NAN

N = 3000


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("size", [0.06, 0.10, 0.14])
def test_a_lost_nozzle_is_called_in_half_a_minute(size: float, seed: int) -> None:
    out = calls(drilling(N, noise=0.006, seed=seed, pressure=-ramp(N, START + seed, 1.0, size)))
    assert [x[1:] for x in out] == [("nozzle_lost", "warning")]
    assert 0 < out[0][0] - START <= 30 + seed


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("size", [0.19, 0.28, 0.50])
def test_a_fall_as_of_a_dead_cylinder_waits_for_the_returns(size: float, seed: int) -> None:
    """One of nine takes 19 per cent at the 1.8th power, one of six 28, two 52."""
    out = calls(drilling(N, noise=0.006, seed=seed, pressure=-ramp(N, START + seed, 1.0, size)))
    assert [x[1:] for x in out] == [("nozzle_lost", "advice"), ("nozzle_lost", "warning")]
    assert 0 < out[0][0] - START <= 30 + seed
    assert 60 < out[1][0] - START <= 120


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("size", [0.10, 0.20, 0.37])
def test_a_plugged_nozzle_is_called_in_half_a_minute(size: float, seed: int) -> None:
    out = calls(drilling(N, noise=0.006, seed=seed, pressure=ramp(N, START + seed, 1.0, size)))
    assert [x[1:] for x in out] == [("nozzle_plugged", "warning")]
    assert 0 < out[0][0] - START <= 30 + seed


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("size", [0.06, 0.075])
def test_a_slight_rise_is_called_when_it_has_lain_flat(size: float, seed: int) -> None:
    out = calls(drilling(N, pressure=ramp(N, START + seed, 1.0, size), seed=seed))
    assert [x[1:] for x in out] == [("nozzle_plugged", "advice"), ("nozzle_plugged", "warning")]
    assert 10 <= out[1][0] - out[0][0] <= 20
    assert 0 < out[1][0] - START <= 45 + seed


@pytest.mark.parametrize("later", [15, 18, 20])
def test_a_slight_rise_that_grows_is_no_nozzle(later: int) -> None:
    """A pack-off that begins with a step, with neither torque nor returns to tell it."""
    change = ramp(N, START, 1.0, 0.065) + ramp(N, START + later, 60.0, 0.1)
    out = calls(drilling(N, pressure=change, torque=NAN, flow_out=NAN))
    assert [x[1:] for x in out[:2]] == [("nozzle_plugged", "advice"), ("nozzle_plugged", "end")]
    assert ("nozzle_plugged", "warning") not in {x[1:] for x in out}


def test_the_call_tells_the_step_and_when_it_began() -> None:
    entries = entries_of(drilling(N, pressure=ramp(N, START, 1.0, 0.2)))
    said = next(e for e in entries if e.id == "nozzle_plugged" and e.kind == "event").details
    assert said["evidence"]["step_percent"] == pytest.approx(20, abs=2.5)
    assert said["evidence"]["onset"] == pytest.approx(entries[-1].at - 20, abs=15)
    assert said["evidence"]["witnesses"] == ["standpipe pressure"]


@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_a_nozzle_that_comes_right_again_ends_the_call(sign: float) -> None:
    change = sign * (ramp(N, START, 1.0, 0.2) - ramp(N, 2400, 1.0, 0.2))
    out = calls(drilling(N, pressure=change))
    kind = "nozzle_plugged" if sign > 0 else "nozzle_lost"
    assert out[-1][1:] == (kind, "end")
    assert 2400 < out[-1][0] < 2440
    assert {k for _, k, _ in out} == {kind}


def test_a_washout_after_a_lost_nozzle_is_seen() -> None:
    change = -ramp(N, START, 1.0, 0.1) - ramp(N, 2200, 600.0, 0.05)
    out = calls(drilling(N, pressure=change))
    assert 2200 < next(t for t, k, _ in out if k == "washout") < 2500


@pytest.mark.parametrize("rate", [0.95, 0.97, 1.06, 1.15])
def test_another_pump_rate_is_no_nozzle(rate: float) -> None:
    """The twin: strokes change at once, the pressure goes with them."""
    flow = np.where(np.arange(N) < START, 45 * L_S, rate * 45 * L_S)
    assert calls(drilling(N, flow=flow)) == []


def test_a_washout_grows_and_is_no_step() -> None:
    out = calls(drilling(N, pressure=-ramp(N, START, 300.0, 0.1)))
    assert {kind for _, kind, _ in out} == {"washout"}


def test_a_pack_off_grows_and_is_no_step() -> None:
    """Even with neither torque nor returns to tell it."""
    rows = drilling(N, pressure=ramp(N, START, 300.0, 0.4), torque=NAN, flow_out=NAN)
    assert "nozzle_plugged" not in {kind for _, kind, _ in calls(rows)}


def test_a_step_with_torque_is_a_pack_off() -> None:
    up = ramp(N, START, 1.0, 0.2)
    assert {kind for _, kind, _ in calls(drilling(N, pressure=up, torque_by=up))} == {"pack_off"}


def test_torque_that_follows_a_step_makes_it_a_pack_off() -> None:
    out = calls(
        drilling(N, pressure=ramp(N, START, 1.0, 0.2), torque_by=ramp(N, START + 60, 5.0, 0.3))
    )
    assert ("nozzle_plugged", "end") in [x[1:] for x in out]
    assert out[-1][1] in ("pack_off", "nozzle_plugged")
    assert ("pack_off", "critical") in [x[1:] for x in out]


def test_one_wild_reading_is_no_step() -> None:
    wild = np.zeros(N)
    pressure = drilling(N)["standpipe_pressure"].value
    wild[START] = 1.0
    assert calls(drilling(N, standpipe_pressure=pressure * (1 + wild))) == []


@pytest.mark.parametrize(("size", "word"), [(0.08, "warning"), (0.25, "advice")])
def test_a_fall_that_the_returns_follow_is_no_nozzle_for_long(size: float, word: str) -> None:
    """The pressure falls at once; that nothing comes back shows later."""
    rows = drilling(N, pressure=-ramp(N, START, 1.0, size), returns=-ramp(N, START + 40, 5.0))
    out = [x for x in calls(rows) if x[1] == "nozzle_lost"]
    assert [x[2] for x in out] == [word, "end"]
    assert out[1][0] - START < 90
