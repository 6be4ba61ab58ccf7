"""Annuli, shut-in casing pressure, and pairs of gauges; K-05, K-14, K-20, R-33, R-39, R-41."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block
from engine.detect.call import Job
from engine.states import RigState
from engine.units import PSI
from tests.pressure_rows import blind, ends, first, ramp, said, watched
from tests.tables import L_S, NAN, T0, table_of, well

ANNULUS, FALL, PAIR = "annulus_pressure", "shut_in_pressure_fall", "paired_pressure_mismatch"
N = 1800
PUMPING, STILL = 45.0, 0.0


def rows(flow: Any = PUMPING, **psi: Any) -> dict[str, Block]:
    n = max([N, *(np.size(column) for column in psi.values())])
    named = {f"{name}_pressure": np.asarray(column) * PSI for name, column in psi.items()}
    return table_of(n, flow_in=np.broadcast_to(flow, n) * L_S, rig_state=11.0, **named)


def test_an_outer_annulus_that_rises_by_twenty_psi_in_two_minutes_is_called() -> None:
    found = watched(rows(annulus_b=ramp(N, (600, 50.0), (715, 75.0))))
    assert 600 < first(said(found, ANNULUS)) < 740
    evidence = next(e for e in found if e.event == "warning").details["evidence"]
    assert evidence["witnesses"] == ["outer annulus"]
    assert evidence["rate_Pa_s"] == pytest.approx(25 / 115 * PSI, rel=0.2)
    slower = ramp(N, (600, 50.0), (1500, 170.0))  # 16 psi in 2 min
    assert said(watched(rows(annulus_b=slower)), ANNULUS, "advice") == []


def test_a_rise_that_stopped_ten_minutes_ago_is_over() -> None:
    found = watched(rows(annulus_b=ramp(N, (600, 50.0), (715, 90.0))))
    assert 715 + 600 <= ends(found, ANNULUS)[0] < 715 + 800


def test_a_level_of_the_well_file_is_critical_whatever_the_rate() -> None:
    config = well(annuli=[
        {"name": "13 3/8", "channel": "annulus_b_pressure", "limit_psi": 100.0},
        {"name": "9 5/8", "channel": "annulus_pressure", "rise_psi": 200.0},
    ])  # fmt: skip
    slow = ramp(N, (0, 60.0), (N, 130.0))
    quick = ramp(N, (600, 0.0), (700, 150.0))
    found = watched(rows(annulus_b=slow, annulus=quick), config)
    assert [what for _, _, what in said(found, ANNULUS)] == ["critical"]
    assert 1000 < first(said(found, ANNULUS)) < 1100


def test_an_annulus_of_the_well_file_without_a_reading_is_blind() -> None:
    config = well(annuli=[{"name": "13 3/8", "channel": "annulus_b_pressure"}])
    assert blind(watched(rows(annulus=0.0), config), ANNULUS)[0][1] == "no annulus_b_pressure"
    assert blind(watched(rows(annulus=0.0)), ANNULUS) == []
    assert blind(watched(rows(standpipe=0.0)), ANNULUS)[0][1] == "no annulus_pressure"


def test_the_casing_pressure_as_the_well_is_shut_in_is_no_rise_of_an_annulus() -> None:
    """Pumps off, the well's own annulus; with the pumps on it is called."""
    casing = ramp(N, (600, 0.0), (780, 600.0))
    assert said(watched(rows(STILL, annulus=casing)), ANNULUS, "advice") == []
    assert said(watched(rows(PUMPING, annulus=casing)), ANNULUS)
    assert said(watched(rows(STILL, annulus_b=casing)), ANNULUS)


def test_a_declared_test_of_a_casing_is_none() -> None:
    jobs = [Job(T0, "pressure_test", T0 + N)]
    found = watched(rows(annulus_b=ramp(N, (600, 0.0), (700, 2000.0))), jobs=jobs)
    assert said(found, ANNULUS, "advice") == []


def falls(psi: float, seconds: float, high: float = 620.0, n: int = 3000, **how: Any) -> Any:
    casing = ramp(n, (200, 0.0), (400, high), (700, high), (700 + seconds, high - psi))
    return watched(rows(how.pop("flow", STILL), annulus=casing), **how)


def test_a_slow_fall_of_fifty_psi_and_a_tenth_is_called() -> None:
    assert said(falls(70, 500), FALL)
    assert said(falls(55, 500), FALL, "advice") == []  # a tenth of 620 psi is more
    assert said(falls(45, 500, 300.0), FALL, "advice") == []
    assert said(falls(60, 500, 300.0), FALL)
    assert said(falls(70, 2000), FALL, "advice") == []  # 21 psi in ten minutes


def test_a_fall_within_a_minute_is_somebody_at_the_choke() -> None:
    assert [what for _, _, what in said(falls(300, 60), FALL, "advice")] == ["advice"]
    assert said(falls(620, 60), FALL) == []


def test_no_fall_is_called_with_the_pumps_on_or_during_a_test() -> None:
    assert said(falls(140, 600, flow=PUMPING), FALL, "advice") == []
    jobs = [Job(T0, "pressure_test", T0 + 3000)]
    assert said(falls(140, 600, jobs=jobs), FALL, "advice") == []


def test_an_open_well_is_not_on_watch_and_no_gauge_is_blind() -> None:
    assert said(falls(80, 600, 90.0), FALL, "advice") == []
    assert blind(falls(80, 600, 90.0), FALL) == []
    flow = np.where(np.arange(N) % 600 < 300, STILL, PUMPING)
    unread = blind(watched(rows(flow, standpipe=0.0)), FALL)
    assert [reason for _, reason in unread] == ["no annulus_pressure"]


def pairs(**more: Any) -> Any:
    pair = {"name": "string and kill line", "limit_psi": 50.0, "connected": ["static"],
            "channels": ["standpipe_pressure", "kill_line_pressure"]}  # fmt: skip
    return well(pressure_pairs=[pair | more])


def apart(psi: float, state: RigState = RigState.STATIC, second: Any = 100.0) -> dict[str, Block]:
    table = rows(STILL, standpipe=ramp(N, (600, 100.0), (601, 100.0 + psi)), kill_line=second)
    return table | {"rig_state": table_of(N, x=float(state))["x"]}


def test_connected_gauges_that_differ_for_a_minute_are_called() -> None:
    found = watched(apart(60.0), pairs())
    assert 655 < first(said(found, PAIR)) <= 680
    evidence = next(e for e in found if e.id == PAIR).details["evidence"]
    assert evidence["pair"] == "string and kill line"
    assert evidence["difference_Pa"] == pytest.approx(60 * PSI, rel=1e-6)
    assert said(watched(apart(45.0), pairs()), PAIR, "advice") == []
    assert [what for _, _, what in said(watched(apart(-160.0), pairs()), PAIR)] == ["critical"]


def test_the_time_of_a_pair_is_its_own() -> None:
    assert 840 < first(said(watched(apart(60.0), pairs(seconds=240.0)), PAIR)) <= 860


def test_gauges_at_different_heights_differ_by_their_offset() -> None:
    """600 m of mud of 1.05 sg between them are 6.2 MPa = 896 psi."""
    table = apart(60.0, second=100.0 - 896.0)
    assert said(watched(table, pairs()), PAIR)[0][0] < 100
    assert first(said(watched(table, pairs(offset_psi=896.0)), PAIR)) > 655


def test_gauges_that_are_not_connected_are_not_compared() -> None:
    for state in (RigState.CIRCULATING, RigState.IN_SLIPS):
        found = watched(apart(500.0, state), pairs())
        assert [e for e in found if e.id == PAIR] == []
    jobs = [Job(T0 + 900, "pressure_test", T0 + N)]
    slips = apart(500.0, RigState.IN_SLIPS)
    assert 955 < first(said(watched(slips, pairs(), jobs), PAIR)) < 980
    assert said(watched(slips, pairs(in_test=False), jobs), PAIR) == []


def test_a_connected_gauge_without_a_reading_is_blind() -> None:
    found = watched(apart(0.0, second=NAN), pairs())
    assert blind(found, PAIR)[0][1] == "no reading of the pair string and kill line"


def test_without_a_pair_there_is_nothing_to_watch() -> None:
    assert [e for e in watched(apart(500.0)) if e.id == PAIR] == []
