"""Pack-offs, and what looks like them. Signature: common practice, no single source."""

from __future__ import annotations

import numpy as np
import pytest

from tests.standpipe_rows import START, blind, calls, drilling, entries_of, first, ramp
from tests.tables import L_S, NAN

N = 3000


@pytest.mark.parametrize("seed", range(5))
def test_five_per_cent_with_torque_are_called_within_a_minute(seed: int) -> None:
    up = ramp(N, START, 20.0)
    out = calls(drilling(N, seed=seed, noise=0.006, pressure=0.05 * up, torque_by=0.15 * up))
    assert [x[1:] for x in out] == [("pack_off", "warning")]
    assert 0 < out[0][0] - START <= 60


def test_returns_are_as_good_a_witness_as_torque() -> None:
    up = ramp(N, START, 60.0)
    out = calls(drilling(N, pressure=0.08 * up, returns=-0.15 * up))
    assert ("pack_off", "warning") in [x[1:] for x in out]


def test_it_is_critical_above_fifteen_per_cent_and_says_who_speaks() -> None:
    up = ramp(N, START, 120.0)
    rows = drilling(N, pressure=0.4 * up, torque_by=0.5 * up, returns=-0.2 * up)
    out = calls(rows)
    assert first(out, "pack_off", "warning") < first(out, "pack_off", "critical") <= 90
    call = next(e for e in entries_of(rows) if e.id == "pack_off" and e.event == "critical")
    said = call.details["evidence"]
    assert said["rise_percent"] > 14
    assert {"standpipe pressure", "torque"} <= set(said["witnesses"])


def test_the_call_ends_when_the_hole_is_free() -> None:
    up = ramp(N, START, 60.0) - ramp(N, 2300, 60.0)
    out = calls(drilling(N, pressure=0.3 * up, torque_by=0.4 * up))
    assert [x[1:] for x in out] == [
        ("pack_off", "warning"), ("pack_off", "critical"), ("pack_off", "end"),
    ]  # fmt: skip
    assert 2340 < out[-1][0] < 2440


def test_pressure_alone_is_advice_and_a_warning_when_it_is_much() -> None:
    out = calls(drilling(N, pressure=ramp(N, START, 300.0, 0.08)))
    assert [x[1:] for x in out] == [("pack_off", "advice")]
    out = calls(drilling(N, pressure=ramp(N, START, 300.0, 0.25)))
    assert out[-1][1:] == ("pack_off", "warning")


def test_it_is_seen_as_soon_as_the_pumps_run_again() -> None:
    """Cavings settle while the pipe is in the slips."""
    flow = np.full(N, 45 * L_S)
    flow[START:2100] = 0.0
    up = ramp(N, 2000, 1.0)
    out = calls(drilling(N, flow=flow, pressure=0.5 * up, torque_by=0.8 * up))
    assert out[0][1:] == ("pack_off", "critical")
    assert 2100 < out[0][0] <= 2145


@pytest.mark.parametrize("rate", [1.05, 1.2])
def test_more_strokes_are_no_pack_off(rate: float) -> None:
    """The twin: the pumps are sped up while harder rock brings torque."""
    flow = 45 * L_S * (1 + ramp(N, START, 60.0, rate - 1))
    assert calls(drilling(N, flow=flow, torque_by=ramp(N, START, 60.0, 0.25))) == []


def test_torque_alone_is_hard_rock() -> None:
    assert calls(drilling(N, torque_by=ramp(N, START, 120.0, 0.4))) == []


def test_returns_alone_are_a_loss() -> None:
    assert calls(drilling(N, returns=-ramp(N, START, 20.0, 0.3))) == []


def test_a_plugged_nozzle_is_no_pack_off() -> None:
    out = calls(drilling(N, pressure=ramp(N, START, 1.0, 0.2)))
    assert {kind for _, kind, _ in out} == {"nozzle_plugged"}


def test_pressure_that_comes_back_after_a_fall_is_no_pack_off() -> None:
    """A lost nozzle stands; a fifth of what it took comes back while losses take the returns."""
    change = -ramp(N, START, 1.0, 0.2) + ramp(N, 2300, 60.0, 0.05)
    out = calls(drilling(N, pressure=change, returns=-ramp(N, 2300, 20.0, 0.2)))
    assert "pack_off" not in {kind for _, kind, _ in out}


def test_a_bridge_that_opens_at_once_is_no_lost_nozzle() -> None:
    up = ramp(N, START, 120.0, 0.3) - ramp(N, 2300, 1.0, 0.3)
    out = calls(drilling(N, pressure=up, torque_by=up))
    assert {kind for _, kind, _ in out} == {"pack_off"}
    assert out[-1][2] == "end"


def test_a_motor_that_takes_less_off_bottom_is_no_change() -> None:
    """Off bottom 12 % less pressure, on bottom again as before, twice."""
    n = 4200
    on = np.ones(n)
    on[1500:2000] = 0.0
    on[2600:3000] = 0.0
    rows = drilling(n, on_bottom=on, pressure=0.12 * (on - 1), torque_by=0.6 * (on - 1))
    assert [x for x in calls(rows) if x[2] != "advice"] == []


def test_without_torque_and_returns_it_is_blind_and_says_so() -> None:
    rows = drilling(N, torque=NAN, flow_out=NAN)
    assert blind(rows, "pack_off")[-1][1:] == ("blind", "no torque and no flow_out")
    rows = drilling(N, torque=NAN)
    assert blind(rows, "pack_off")[-1][1:] == ("sees", "learning the pressure")
