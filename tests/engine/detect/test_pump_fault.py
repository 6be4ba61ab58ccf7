"""A lame pump, and what looks like one.

One dead cylinder of six: 17 per cent of the flow; with the 1.8th power of turbulent friction (A. T.
Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4) 28 per cent of the pressure.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.standpipe_rows import START, blind, calls, drilling, first, ramp
from tests.tables import L_S, NAN

N = 3000
GONE = ramp(N, START, 1.0, 1 / 6)


@pytest.mark.parametrize("seed", range(4))
def test_a_dead_cylinder_is_called_a_pump_and_nothing_graver(seed: int) -> None:
    out = calls(drilling(N, seed=seed, pressure=(1 - GONE) ** 1.8 - 1, returns=-GONE))
    assert 0 < first(out, "pump_fault", "warning") <= 120
    graver = [x for x in out if x[1] != "pump_fault" and x[2] in ("warning", "critical")]
    assert graver == []
    assert out[-1][1:] == ("pump_fault", "warning")


def test_the_call_ends_when_the_valve_is_changed() -> None:
    gone = GONE - ramp(N, 2400, 1.0, 1 / 6)
    out = calls(drilling(N, pressure=(1 - gone) ** 1.8 - 1, returns=-gone))
    assert out[-1][1:] == ("pump_fault", "end")
    assert 2400 < out[-1][0] < 2460


def test_fewer_strokes_are_no_fault() -> None:
    """The twin: the strokes go down as well."""
    flow = 45 * L_S * (1 - ramp(N, START, 10.0, 1 / 6))
    assert calls(drilling(N, flow=flow)) == []


def test_a_loss_leaves_the_pressure_alone() -> None:
    assert calls(drilling(N, returns=-ramp(N, START, 20.0, 0.25))) == []


def test_a_lost_nozzle_leaves_the_returns_alone() -> None:
    out = calls(drilling(N, pressure=(1 - GONE) ** 1.8 - 1))
    assert {kind for _, kind, _ in out} == {"nozzle_lost"}


def test_total_loss_is_no_pump_fault() -> None:
    """Far more of the returns is missing than so little pressure can mean."""
    rows = drilling(N, pressure=-ramp(N, START, 300.0, 0.1), returns=-ramp(N, START, 5.0))
    assert "pump_fault" not in {kind for _, kind, _ in calls(rows)}


def test_without_a_return_gauge_it_is_blind_and_says_so() -> None:
    rows = drilling(N, flow_out=NAN, pressure=(1 - GONE) ** 1.8 - 1)
    assert blind(rows, "pump_fault")[-1][1:] == ("blind", "no flow_out")
    assert "pump_fault" not in {kind for _, kind, _ in calls(rows)}


def test_a_gauge_that_is_off_from_the_start_is_learnt() -> None:
    out_of = np.full(N, 45 * L_S * 0.9)
    rows = drilling(N, flow_out=out_of, pressure=-ramp(N, START, 600.0, 0.06))
    assert "pump_fault" not in {kind for _, kind, _ in calls(rows)}
