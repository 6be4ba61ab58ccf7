"""A parted string, and what looks like one. Signature: common practice, no single source."""

from __future__ import annotations

from copy import deepcopy

import numpy as np
import pytest

from tests.standpipe_rows import START, blind, board_of, calls, drilling, first, ramp
from tests.tables import L_S, NAN

N = 3000
AT_ONCE = ramp(N, START, 1.0)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("pressure", "hook"), [(0.08, 0.08), (0.2, 0.1), (0.4, 0.3)])
def test_it_is_called_critical_in_half_a_minute(pressure: float, hook: float, seed: int) -> None:
    rows = drilling(
        N, noise=0.006, seed=seed, pressure=-pressure * AT_ONCE, hook_by=-hook * AT_ONCE,
        torque_by=-0.7 * AT_ONCE,
    )  # fmt: skip
    out = calls(rows)
    assert [x[1:] for x in out] == [("twist_off", "critical")]
    assert 0 < first(out, "twist_off", "critical") <= 30


def test_a_lost_nozzle_leaves_the_hook_load() -> None:
    out = calls(drilling(N, pressure=-0.2 * AT_ONCE))
    assert {kind for _, kind, _ in out} == {"nozzle_lost"}


def test_weight_put_on_the_bit_leaves_the_pressure() -> None:
    assert calls(drilling(N, hook_by=-0.15 * AT_ONCE, torque_by=0.3 * AT_ONCE)) == []


def test_fewer_strokes_and_more_weight_are_no_twist_off() -> None:
    """The twin: the driller slows the pumps and slacks off at the same moment."""
    flow = 45 * L_S * (1 - ramp(N, START, 10.0, 0.2))
    assert calls(drilling(N, flow=flow, hook_by=-0.1 * ramp(N, START, 10.0))) == []


def test_pumps_off_into_the_slips_are_no_twist_off() -> None:
    flow = np.full(N, 45 * L_S)
    flow[START:2400] = 0.0
    hook = -0.7 * (ramp(N, START + 20, 1.0) - ramp(N, 2390, 1.0))
    rows = drilling(N, flow=flow, hook_by=hook, torque_by=hook / 0.7, on_bottom=1.0)
    assert calls(rows) == []


def test_torque_that_stays_speaks_against_it() -> None:
    out = calls(drilling(N, pressure=-0.2 * AT_ONCE, hook_by=-0.1 * AT_ONCE))
    assert {kind for _, kind, _ in out} == {"nozzle_lost"}


def test_off_bottom_there_is_no_torque_of_the_bit_to_lose() -> None:
    rows = drilling(N, pressure=-0.3 * AT_ONCE, hook_by=-0.2 * AT_ONCE, torque_by=-0.28 * AT_ONCE)
    assert [x[1:] for x in calls(rows)] == [("twist_off", "critical")]


def test_without_torque_two_witnesses_do() -> None:
    rows = drilling(N, torque=NAN, pressure=-0.2 * AT_ONCE, hook_by=-0.1 * AT_ONCE)
    assert [x[1:] for x in calls(rows)] == [("twist_off", "critical")]


def test_without_hook_load_it_is_blind_and_says_so() -> None:
    rows = drilling(N, hook_load=NAN, pressure=-0.2 * AT_ONCE, torque_by=-0.7 * AT_ONCE)
    assert blind(rows, "twist_off")[-1][1:] == ("blind", "no hook_load")
    assert "twist_off" not in {kind for _, kind, _ in calls(rows)}


@pytest.mark.parametrize("seed", range(4))
def test_a_string_that_parts_at_the_bit_keeps_its_hook_load(seed: int) -> None:
    """The bit gives back as much weight as is lost, so pressure and torque must do."""
    gone = ramp(N, START, 1.0)
    out = calls(drilling(N, seed=seed, pressure=-0.36 * gone, torque_by=-0.63 * gone))
    assert [x[1:] for x in out] == [("twist_off", "critical")]
    assert 0 < out[0][0] - START <= 30


@pytest.mark.parametrize(("pressure", "torque"), [(-0.25, -0.63), (-0.36, -0.3), (-0.36, 0.0)])
def test_a_motor_off_bottom_and_lost_nozzles_are_no_parted_string(
    pressure: float, torque: float
) -> None:
    gone = ramp(N, START, 1.0)
    out = calls(drilling(N, pressure=pressure * gone, torque_by=torque * gone))
    assert "twist_off" not in {kind for _, kind, _ in out}


def test_a_string_that_no_longer_turns_has_been_stopped_and_not_lost() -> None:
    """Pumps and rotation stop, and the strokes come half a minute late."""
    gone = ramp(N, START, 1.0)
    rotary = np.where(np.arange(N) < START + 2, 7.3, 0.0)
    out = calls(drilling(N, pressure=-0.9 * gone, torque_by=-0.95 * gone, rotary=rotary))
    assert "twist_off" not in {kind for _, kind, _ in out}


def test_a_copy_of_the_detectors_calls_no_more_than_they_do() -> None:
    """As a tool that tries something out does: nothing hangs on which object it is."""
    assert [e for e in deepcopy(board_of()).process(drilling(N))[2] if e.kind == "event"] == []
