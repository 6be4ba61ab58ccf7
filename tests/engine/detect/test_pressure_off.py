"""Pressure that rises, is bled and comes back while nobody pumps; R-23, R-24.

Look-alikes: a string that warms up, pumps that start, trapped pressure that is bled, wild
readings, declared work. Sizes are common practice, no source.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block
from engine.detect.call import Job
from engine.units import PSI
from tests.pressure_rows import blind, ends, first, noise, ramp, said, watched
from tests.tables import L_S, NAN, T0, splits, table_of

RISE, REBUILD = "pressure_rise_pumps_off", "bleed_rebuild"


def rows(psi: Any, flow_l_s: Any = 0.0, **more: Any) -> dict[str, Block]:
    return table_of(
        standpipe_pressure=np.asarray(psi) * PSI, flow_in=np.asarray(flow_l_s) * L_S, **more
    )


def climb(psi: float, seconds: float, n: int = 900, start: float = 300.0) -> np.ndarray:
    return ramp(n, (300, start), (300 + seconds, start + psi))


@pytest.mark.parametrize("psi", [56, 90, 200])
def test_a_rise_above_fifty_psi_in_two_minutes_is_called(psi: float) -> None:
    assert 300 < first(said(watched(rows(climb(psi, 115.0))), RISE)) <= 430


def test_a_rise_below_it_is_not_called() -> None:
    assert said(watched(rows(climb(47, 115.0))), RISE, "advice") == []


def test_twice_the_rise_is_critical_wherever_it_began() -> None:
    found = said(watched(rows(climb(110, 230.0))), RISE)
    assert [what for _, _, what in found] == ["warning", "critical"]


def test_a_string_that_warms_up_is_advice_only() -> None:
    """12 psi in 2 min; it comes to 90 psi in a quarter of an hour."""
    found = watched(rows(climb(90, 900.0, 1300)))
    assert said(found, RISE) == []
    assert 700 < first(said(found, RISE, "advice")) < 1000


def test_pressure_that_comes_just_before_the_first_strokes_is_none() -> None:
    """A stroke counter needs two strokes to know a rate."""
    psi = ramp(600, (300, 0.0), (320, 1500.0))
    flow = np.where(np.arange(600) < 307, 0.0, 40.0)
    assert said(watched(rows(psi, flow)), RISE, "advice") == []


def test_the_fall_as_the_pumps_stop_is_no_rise_and_no_bleed() -> None:
    """Then 40 psi come back slowly: nothing."""
    psi = ramp(1500, (300, 2500.0), (330, 900.0), (400, 300.0), (1500, 340.0))
    flow = np.where(np.arange(1500) < 300, 40.0, 0.0)
    assert said(watched(rows(psi, flow)), least="advice") == []


def test_a_pressure_wave_as_the_pumps_stop_is_none() -> None:
    """It swings below what the closed string holds and comes back within ten seconds."""
    psi = ramp(900, (300, 2500.0), (301, 0.0), (309, 0.0), (310, 150.0), (900, 140.0))
    flow = np.where(np.arange(900) < 300, 40.0, 0.0)
    assert said(watched(rows(psi, flow)), RISE, "advice") == []


@pytest.mark.parametrize("seed", range(6))
def test_two_hours_of_a_poor_gauge_are_none(seed: int) -> None:
    """2.2 % of 1,000 psi that a closed string holds; usual gauges have 0.3 to 1 %."""
    table = rows(1000 + noise(seed, 7200, 22.0))
    assert said(watched(table), least="warning") == []


def test_one_wild_reading_is_none() -> None:
    psi = np.full(900, 300.0)
    psi[[400, 500, 640]] = 900.0
    assert said(watched(rows(psi)), RISE, "advice") == []


def test_any_rig_state_is_watched() -> None:
    for state in range(12):
        assert said(watched(rows(climb(90, 115.0), rig_state=float(state))), RISE)


@pytest.mark.parametrize("job", ["cementing", "pressure_test"])
def test_declared_work_is_not_watched_while_it_lasts(job: str) -> None:
    psi = climb(400, 400.0)
    assert said(watched(rows(psi), jobs=[Job(T0, job, T0 + 900)]), RISE, "advice") == []
    late = watched(rows(psi), jobs=[Job(T0, job, T0 + 500)])
    assert first(said(late, RISE)) > 540  # what rose before is no part of it


def test_returns_past_the_gauge_do_not_stop_the_watch() -> None:
    jobs = [Job(T0, "returns_bypassed", T0 + 900)]
    assert said(watched(rows(climb(90, 115.0)), jobs=jobs), RISE)


def test_a_call_ends_when_the_pressure_is_gone_and_begins_anew() -> None:
    psi = ramp(1200, (300, 0.0), (400, 100.0), (500, 100.0), (510, 5.0), (700, 5.0), (800, 90.0))
    found = watched(rows(psi))
    assert len(ends(found, RISE)) == 1
    assert 505 < ends(found, RISE)[0] < 530
    assert [what for _, _, what in said(found, RISE)].count("warning") == 2


def test_a_call_stands_while_the_pressure_does_and_ends_with_the_pumps() -> None:
    flow = np.where(np.arange(3000) < 2500, 0.0, 40.0)
    found = watched(rows(climb(90, 115.0, 3000), flow))
    assert len(said(found, RISE)) == 1
    assert 2500 < ends(found, RISE)[0] <= 2510


def test_unknown_flow_in_is_blind_and_ends_no_call() -> None:
    flow = np.zeros(1200)
    flow[600:] = NAN
    found = watched(rows(climb(90, 115.0, 1200), flow))
    assert [reason for _, reason in blind(found, RISE)] == ["no flow_in"]
    assert ends(found, RISE) == []


def test_nothing_is_compared_across_a_time_in_which_the_pumps_may_have_run() -> None:
    flow, psi = np.zeros(900), np.zeros(900)
    flow[300:360], psi[330:] = NAN, 800.0
    assert said(watched(rows(psi, flow)), RISE, "advice") == []


def test_unknown_pressure_is_blind_with_the_pumps_off() -> None:
    psi = np.full(600, 300.0)
    psi[300:] = NAN
    assert blind(watched(rows(psi)), RISE)[0][1] == "no standpipe_pressure"


def bled(*points: tuple[float, float], n: int = 1500) -> list[tuple[float, str, str]]:
    """Return the calls of a rebuild; 800 psi stand until 500 s, then `points`."""
    psi = ramp(n, (0, 800.0), (500, 800.0), *points)
    return said(watched(rows(psi)), REBUILD, "advice")


def test_pressure_that_was_bled_and_comes_back_is_called() -> None:
    found = bled((550, 300.0), (650, 300.0), (710, 400.0))
    assert 680 < first(found, "warning") <= 710
    assert first(found, "critical") <= 725


def test_trapped_pressure_that_is_bled_and_stays_away_is_none() -> None:
    assert bled((550, 0.0), (1500, 0.0)) == []


def test_a_slow_rebuild_is_advice() -> None:
    assert [what for _, _, what in bled((550, 300.0), (1450, 390.0))] == ["advice"]


def test_a_rebuild_after_the_second_bleed_is_critical_at_once() -> None:
    found = bled((530, 300.0), (600, 300.0), (660, 370.0), (700, 370.0), (730, 100.0),
                 (800, 100.0), (900, 175.0))  # fmt: skip
    assert [what for at, _, what in found if at < 760] == ["warning"]
    assert first(found, "critical") < 900


def test_the_casing_is_watched_too() -> None:
    casing = ramp(1500, (500, 800.0), (550, 300.0), (700, 300.0), (760, 400.0)) * PSI
    found = watched(rows(np.zeros(1500), annulus_pressure=casing))
    assert said(found, REBUILD)
    evidence = next(e for e in found if e.id == REBUILD and e.event == "warning").details
    assert evidence["evidence"]["witnesses"] == ["annulus pressure"]


def test_any_split_gives_the_same_calls() -> None:
    psi = ramp(1500, (300, 2500.0), (330, 300.0), (500, 300.0), (620, 420.0), (700, 420.0),
               (730, 60.0), (800, 60.0), (900, 200.0), (1400, 230.0))  # fmt: skip
    flow = np.where(np.arange(1500) < 300, 40.0, 0.0)
    flow[1000:1010] = NAN
    casing = ramp(1500, (400, 0.0), (500, 600.0), (1100, 480.0)) * PSI
    table = rows(psi, flow, annulus_pressure=casing, annulus_b_pressure=casing,
                 flow_out=flow * L_S, pit_volume=60.0)  # fmt: skip
    whole = watched(table)
    assert {e.id for e in whole if e.kind == "event"} >= {RISE, REBUILD, "annulus_pressure"}
    for edges in splits(1500):
        assert watched(table, edges=edges) == whole
