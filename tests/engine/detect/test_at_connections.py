"""What is called while the pumps stand.

Rows are made by hand: 45 L/s, a flow line that empties with a time constant of 30 s, and eight
connections of five minutes before the one that matters. Deviation of a volume from the median of
the newest eight, two marks running: own trials; drain-back, flow with the pumps off: R-22, K-02.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from engine.block import Block
from engine.detect.at_connections import AtConnections
from engine.detect.balance import Balance
from engine.detect.ballooning import Evidence, question
from engine.detect.board import Board
from engine.detect.call import Declared
from engine.detect.settings import BalanceSettings
from engine.detect.settings_connections import ConnectionSettings
from engine.records.journal import Entry
from engine.units import BBL
from tests.tables import L_S, NAN, T0, cut, splits, table_of, well

FLOW = 45 * L_S
ON, OFF = 1500, 300
PUMPING = 30.0
"""Time constant of the flow line. [s]"""


def stops(n: int, off: int = OFF, on: int = ON) -> np.ndarray:
    """Return flow-in of `n` connections of `off` seconds each, and `on` of pumping after. [m3/s]"""
    return np.concatenate([np.full(on, FLOW)] + [np.repeat([0.0, FLOW], [off, on])] * n)


def rows(
    flow: np.ndarray, influx: np.ndarray | float = 0.0, noise: float = 0.2 * BBL, seed: int = 1,
    gauge: float = 0.02,
) -> dict[str, Any]:  # fmt: skip
    """Return pits and return gauge of a rig that pumps `flow` while `influx` comes. [m3/s]"""
    rng = np.random.default_rng(seed)
    n = flow.size
    into = np.broadcast_to(np.asarray(influx, float), n)
    line, pit, out = FLOW * PUMPING, np.zeros(n), np.zeros(n)
    level = 60.0
    for i in range(n):
        out[i] = line / PUMPING
        line += flow[i] + into[i] - out[i]
        level += out[i] - flow[i]
        pit[i] = level
    wave = np.zeros(n)
    for i in range(1, n):
        wave[i] = wave[i - 1] * np.exp(-1 / 6) + noise * rng.normal() * np.sqrt(1 - np.exp(-1 / 3))
    read = out * (1 + gauge * rng.normal(size=n))
    return {"pit_volume": pit + wave, "flow_in": flow, "flow_out": read, "rig_state": 1.0,
            "bit_depth": 2400.0}  # fmt: skip


def during_last(flow: np.ndarray, rate: float, after: int = 0) -> np.ndarray:
    """Return an influx of `rate` that runs in the last stop of `flow` from `after` seconds on."""
    at = int(np.flatnonzero(np.diff(flow) < 0)[-1]) + 1
    out = np.zeros(flow.size)
    out[at + after : at + OFF] = rate
    return out


def board() -> Board:
    return Board([AtConnections(ConnectionSettings(), 180.0)], Balance(well(), BalanceSettings()))


def run(declared: tuple[Declared, ...] = (), **columns: Any) -> list[Entry]:
    one = board()
    one.declared = declared
    return one.process(table_of(**columns))[2]


def said(entries: list[Entry], kind: str) -> list[tuple[float, str]]:
    """Return when (seconds after the last stop began is for the caller) and what was said."""
    return [(e.at - T0, e.event) for e in entries if e.id == kind and e.kind == "event"]


def start_of_last(flow: np.ndarray) -> int:
    return int(np.flatnonzero(np.diff(flow) < 0)[-1]) + 1


@pytest.mark.parametrize("noise", [0.1, 0.25, 0.6])
def test_ten_clean_connections_give_no_call(noise: float) -> None:
    """R-22: ten clean connections, none of them called."""
    entries = run(**rows(stops(10), noise=noise * BBL, seed=5))
    assert [e for e in entries if e.kind == "event"] == []


def test_an_influx_at_a_connection_is_called_by_volume_and_flow_within_three_minutes() -> None:
    flow = stops(9)
    entries = run(**rows(flow, during_last(flow, 2 * BBL / 60)))
    at = start_of_last(flow)
    volume = said(entries, "influx_at_connection")
    assert volume[0][1] in ("warning", "critical")
    assert volume[0][0] - at < 185
    gauge = said(entries, "flow_pumps_off")
    assert gauge[0][0] - at < 100
    assert [event for _, event in gauge][-2:] == ["critical", "end"]
    evidence = next(
        e for e in entries if e.id == "influx_at_connection" and e.event == "critical"
    ).details["evidence"]
    assert evidence["witnesses"] == ["pit volume", "return flow"]
    assert evidence["volume_m3"] > 1.5 * BBL


def test_half_a_barrel_a_minute_is_called_in_one_connection_by_gauge_and_by_pits_alone() -> None:
    """Detection targets: 0.5 bbl/min in one connection; quiet pits, 3 % of noise in the gauge."""
    flow = stops(9)
    columns = rows(flow, during_last(flow, 0.5 * BBL / 60), noise=0.1 * BBL, gauge=0.03)
    by_gauge = said(run(**columns | {"pit_volume": NAN}), "flow_pumps_off")
    assert by_gauge[0][1] == "warning"
    assert by_gauge[0][0] - start_of_last(flow) < 150
    by_pits = said(run(**columns | {"flow_out": NAN}), "influx_at_connection")
    assert by_pits[0][1] == "warning"
    assert by_pits[0][0] - start_of_last(flow) < 245


@pytest.mark.parametrize("zero", [0.0, 0.03])
def test_at_the_first_connection_the_pits_must_bear_out_a_gauge_whose_zero_nobody_has_seen(
    zero: float,
) -> None:
    """Half a barrel a minute is 3 % of the flow; so is the zero of a gauge that never reads 0."""
    flow = stops(1, off=400)
    into = during_last(flow, 0.0 if zero else 0.5 * BBL / 60)
    columns = rows(flow, into, noise=0.1 * BBL)
    entries = run(**columns | {"flow_out": columns["flow_out"] + zero * FLOW})
    called = said(entries, "flow_pumps_off")
    if zero:
        assert called == []
    else:
        assert called[0][1] == "warning"
        assert 180 <= called[0][0] - start_of_last(flow) < 300
    without = run(**columns | {"pit_volume": NAN})
    assert said(without, "flow_pumps_off") == []


def test_it_works_without_the_return_gauge() -> None:
    """R-22: by the pits alone."""
    flow = stops(9)
    columns = rows(flow, during_last(flow, 2 * BBL / 60)) | {"flow_out": NAN}
    entries = run(**columns)
    for kind in ("influx_at_connection", "flow_pumps_off"):
        assert said(entries, kind)[0][0] - start_of_last(flow) < 185
    found = next(e for e in entries if e.id == "flow_pumps_off").details["evidence"]
    assert found["witnesses"] == ["pit volume"]


def test_it_works_without_the_pits() -> None:
    """R-22: by the return gauge alone."""
    flow = stops(9)
    columns = rows(flow, during_last(flow, 4 * BBL / 60)) | {"pit_volume": NAN}
    entries = run(**columns)
    assert said(entries, "flow_pumps_off")[0][0] - start_of_last(flow) < 100
    assert said(entries, "influx_at_connection") == []
    reasons = {e.details["reason"] for e in entries if e.event == "blind"}
    assert reasons == {"no pit_volume"}


def test_without_pits_and_gauge_it_is_blind_while_the_pumps_stand() -> None:
    """R-32."""
    columns = rows(stops(2)) | {"pit_volume": NAN, "flow_out": NAN}
    entries = run(**columns)
    blind = [e for e in entries if e.id == "flow_pumps_off"]
    assert [e.event for e in blind] == ["blind", "sees"] * 2
    assert blind[0].details["reason"] == "no flow_out and no pit_volume"


def test_a_call_ends_once_the_pumps_have_settled_again() -> None:
    flow = stops(9)
    entries = run(**rows(flow, during_last(flow, 2 * BBL / 60)))
    ends = [e.at - T0 for e in entries if e.event == "end" and e.id == "influx_at_connection"]
    assert ends == [pytest.approx(start_of_last(flow) + OFF + 180, abs=10)]


def test_before_three_connections_are_known_the_reason_is_told_and_a_late_gain_is_still_called(
) -> None:  # fmt: skip
    flow = stops(1, off=900)
    at = start_of_last(flow)
    into = np.zeros(flow.size)
    into[at : at + 900] = 1 * BBL / 60
    entries = run(**rows(flow, into, gauge=0.03) | {"flow_out": NAN})
    told = [(e.event, e.details.get("reason")) for e in entries if e.kind == "detector"]
    assert ("blind", "too few connections are known") in told
    called = said(entries, "influx_at_connection")
    assert called[0][1] == "warning"
    assert called[0][0] - at < 600


def test_three_small_excesses_running_are_a_trend() -> None:
    """Carried from connection to connection: 0.2 bbl/min each time is not seen in one."""
    flow = stops(9)
    into = np.zeros(flow.size)
    for at in (np.flatnonzero(np.diff(flow) < 0) + 1)[-3:]:
        into[at : at + OFF] = 0.16 * BBL / 60
    entries = run(**rows(flow, into, noise=0.05 * BBL))
    last = [e for e in entries if e.id == "influx_at_connection" and e.kind == "event"]
    assert last[0].event == "advice"
    assert last[0].at - T0 > start_of_last(flow)
    assert "3 connections" in last[0].details["evidence"]["trend"]
    assert not [e for e in last if e.event in ("warning", "critical")]


def test_pipe_that_is_lowered_pushes_mud_out_and_is_not_called() -> None:
    flow = stops(9)
    at = start_of_last(flow)
    t = np.arange(flow.size)
    down = 25.0 * np.clip((t - at - 100) / 60, 0, 1)
    area = 31.9 / 7850 + np.pi / 4 * (4.276 * 0.0254) ** 2
    pushed = np.diff(area * down, prepend=0.0)
    columns = rows(flow, pushed) | {"bit_depth": 2300 + down, "hole_depth": 2400.0}
    assert [e for e in run(**columns) if e.kind == "event"] == []


def test_mud_that_was_declared_is_no_flow_of_the_well() -> None:
    """R-30: a transfer during a connection; its twin, undeclared, is called by volume."""
    flow = stops(9)
    at = start_of_last(flow)
    columns = rows(flow)
    t = np.arange(flow.size)
    columns["pit_volume"] = columns["pit_volume"] + 4.0 * np.clip((t - at - 20) / 240, 0, 1)
    one = (Declared(T0 + at, "reserve to active", 4.0, 4.0 / 240, T0 + at + 600),)
    assert said(run(one, **columns), "influx_at_connection") == []
    assert said(run(**columns), "influx_at_connection") != []


def test_a_trip_is_left_to_the_trip_sheet() -> None:
    flow = stops(9)
    at = start_of_last(flow)
    state = np.where(np.arange(flow.size) < at + 40, 1.0, 10.0)
    entries = run(**rows(flow, during_last(flow, 4 * BBL / 60)) | {"rig_state": state})
    assert said(entries, "influx_at_connection") == []


@pytest.mark.parametrize("decays", [True, False])
def test_flowback_is_asked_about_beside_the_call_and_never_in_its_place(decays: bool) -> None:
    """Ballooning: a rate that decays in 6 min after losses, against a constant one; K-02."""
    flow = stops(9, off=900, on=1500)
    at = start_of_last(flow)
    into = np.zeros(flow.size)
    since = np.arange(900)
    into[at : at + 900] = 2.0 * BBL / 60 * (np.exp(-since / 360) if decays else 1.0)
    if decays:
        into[at - 900 : at] = -1.2 * BBL / 60
    entries = run(**rows(flow, into))
    asked = [e for e in entries if e.id == "ballooning" and e.event == "advice"]
    assert {e.event for e in entries if e.id == "ballooning"} == {"advice", "end"}
    assert "critical" in {e.event for e in entries if e.id == "influx_at_connection"}
    assert "warning" in {e.event for e in entries if e.id == "flow_pumps_off"}
    evidence = asked[-1].details["evidence"]
    assert evidence["question"].startswith("ballooning or influx?")
    ratio = evidence["second_half_over_first"]
    assert ratio < 0.6 if decays else ratio > 0.7
    assert (evidence["lost_before_m3"] > 12 * BBL) is decays


def test_the_question_names_every_piece_of_evidence_and_clears_nothing() -> None:
    text = question(Evidence(0.9, 1.5, 0.4, 3))
    assert text == (
        "ballooning or influx? second half runs at 40% of the first; no more than was lost "
        "before; 3 stops before gave as much; treat it as an influx"
    )
    unknown = question(Evidence(0.9, NAN, NAN, 0))
    assert "rate not told; what was lost is not known; no stop before" in unknown


def test_any_split_gives_the_same_calls() -> None:
    flow = stops(4, on=400)
    table = table_of(**rows(flow, during_last(flow, 2 * BBL / 60)))
    gap = (np.arange(flow.size) > 900) & (np.arange(flow.size) < 960)
    bits = np.where(gap, 2, 0).astype(np.uint16)
    pit = table["pit_volume"]
    table["pit_volume"] = Block(pit.t, np.where(gap, NAN, pit.value), bits)
    whole = board().process(table)[2]
    assert {e.event for e in whole} >= {"warning", "blind"}
    for edges in splits(flow.size):
        one = board()
        parts = [one.process(cut(table, a, b))[2] for a, b in pairwise(edges)]
        assert [e for part in parts for e in part] == whole
