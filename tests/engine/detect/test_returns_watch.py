"""The return gauge that measures nothing, and what looks like it; K-03, K-15, R-31."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.detect.call import Job
from engine.units import PSI
from tests.pressure_rows import blind, ends, first, said, watched
from tests.tables import L_S, NAN, T0, splits, table_of, with_bits

KIND = "return_flow_not_measured"
N, AT = 1500, 900


def rows(flow: Any = 45.0, out: Any = 45.0, n: int = N, **more: Any) -> dict[str, Block]:
    more = {"pit_volume": 60.0} | more
    return table_of(
        n, flow_in=np.broadcast_to(flow, n) * L_S, flow_out=np.broadcast_to(out, n) * L_S,
        standpipe_pressure=300 * PSI, **more,
    )  # fmt: skip


def since(before: float, after: float, at: int = AT, n: int = N) -> np.ndarray:
    return np.where(np.arange(n) < at, before, after)


def test_a_gauge_that_reads_nothing_with_full_pits_is_called_in_twenty_seconds() -> None:
    found = said(watched(rows(out=since(45, 0.2))))
    assert [(kind, what) for _, kind, what in found] == [(KIND, "critical")]
    assert AT + 10 <= first(found) <= AT + 20


@pytest.mark.parametrize("late", range(5))
def test_it_is_in_time_wherever_the_bins_begin(late: int) -> None:
    found = watched(rows(out=since(45, 0.2, AT + late)))
    assert first(said(found, KIND)) <= AT + late + 20


def test_returns_that_go_while_the_pits_fall_are_a_loss() -> None:
    """The gauge is right; three tenths of what is pumped decide."""
    t = np.arange(N)
    pits = 60 - 0.045 * np.clip(t - AT, 0, 300)
    found = watched(rows(out=since(45, 0.0), pit_volume=pits))
    assert {kind for _, kind, _ in said(found, least="advice")} == {"total_loss"}
    slow = 60 - 0.1 * 0.045 * np.maximum(t - AT, 0)
    assert said(watched(rows(out=since(45, 0.0), pit_volume=slow)), KIND)


def test_a_loss_that_is_topped_up_stays_a_loss() -> None:
    """Blind drilling: water is added faster than it goes."""
    t = np.arange(4000)
    pits = 60 - 0.045 * np.clip(t - AT, 0, 200) + 0.09 * np.clip(t - AT - 200, 0, 100)
    assert said(watched(rows(out=since(45, 0.0, n=4000), n=4000, pit_volume=pits)), KIND) == []


def test_a_loss_stays_one_over_a_connection() -> None:
    """Mud is added while the pumps stand and after; only returns can take the loss back."""
    t = np.arange(2400)
    flow = np.where((t > 1200) & (t < 1400), 0.0, 45.0)
    pits = 60 - 0.045 * np.clip(t - AT, 0, 300) + 0.03 * np.maximum(t - 1200, 0)
    out = since(45, 0.0, n=2400)
    out[1250:1270] = 0.8  # a tenth of the least flow: noise of a poor gauge
    found = watched(rows(flow, out, 2400, pit_volume=pits))
    assert said(found, "total_loss")
    assert said(found, KIND) == []


def test_without_pits_it_cannot_be_told_from_a_loss() -> None:
    found = watched(rows(out=since(45, 0.0), pit_volume=NAN))
    assert {kind for _, kind, _ in said(found)} == {"total_loss"}


@pytest.mark.parametrize("flow", [0.0, 8.0])
def test_below_a_fifth_of_the_usual_flow_nothing_is_asked(flow: float) -> None:
    """45 L/s are usual by the well file."""
    assert said(watched(rows(flow=flow, out=0.0)), KIND, "advice") == []
    assert said(watched(rows(flow=10.0, out=0.0)), KIND)


def test_the_flow_line_has_time_to_fill() -> None:
    flow = since(0, 45)
    assert said(watched(rows(flow=flow, out=since(0, 45, AT + 80))), KIND, "advice") == []
    late = first(said(watched(rows(flow=flow, out=0.0)), KIND))
    assert AT + 90 < late < AT + 120


def test_a_short_fall_of_the_reading_is_none() -> None:
    out = np.full(N, 45.0)
    out[AT : AT + 8] = 0.0
    assert said(watched(rows(out=out)), KIND, "advice") == []


def test_it_stands_with_the_pumps_off_until_the_gauge_shows_returns() -> None:
    t = np.arange(N)
    flow = np.where((t > 1000) & (t < 1150), 0.0, 45.0)
    found = watched(rows(flow=flow, out=np.where((t > AT) & (t < 1300), 0.0, 45.0)))
    assert len(said(found, KIND)) == 1
    assert 1305 <= ends(found, KIND)[0] <= 1315


def test_one_bin_of_returns_does_not_end_it() -> None:
    out = since(45, 0.2)
    out[1200:1205] = 45.0
    found = watched(rows(out=out))
    assert (len(said(found, KIND)), ends(found, KIND)) == (1, [])


def frozen(table: dict[str, Block], bit: Quality = Quality.FROZEN) -> dict[str, Block]:
    where = np.arange(N) >= AT
    return table | {"flow_out": with_bits(table["flow_out"], bit, where)}


def test_a_frozen_gauge_is_a_warning_while_pumping() -> None:
    found = watched(frozen(rows()))
    assert [what for _, _, what in said(found, KIND)] == ["warning"]
    assert first(said(found, KIND)) <= AT + 5
    assert said(watched(frozen(rows(flow=0.0))), KIND, "advice") == []


def test_a_gauge_that_falls_silent_is_blind_and_after_two_minutes_a_warning() -> None:
    found = watched(rows(out=since(45, NAN)))
    assert blind(found, KIND) == [(AT + 5, "no flow_out")]
    assert AT + 115 <= first(said(found, KIND), "warning") <= AT + 130
    gap = np.where((np.arange(N) >= AT) & (np.arange(N) < AT + 60), NAN, 45.0)
    assert said(watched(rows(out=gap)), KIND, "advice") == []


def test_a_gauge_that_was_never_there_is_blind_and_no_call() -> None:
    found = watched(rows(out=NAN))
    assert said(found, KIND, "advice") == []
    assert blind(found, KIND) == [(5, "no flow_out")]  # T0 is the begin of a bin


def test_unknown_flow_in_is_blind() -> None:
    assert blind(watched(rows(flow=since(45, NAN))), KIND) == [(AT + 5, "no flow_in")]


def test_returns_declared_as_bypassed_are_advice_but_a_reading_out_of_range_is_critical() -> None:
    jobs = [Job(T0, "returns_bypassed", T0 + N)]
    found = watched(rows(out=since(45, 0.2)), jobs=jobs)
    assert [what for _, _, what in said(found, KIND, "advice")] == ["advice"]
    wild = watched(frozen(rows(), Quality.OUT_OF_RANGE), jobs=jobs)
    assert [what for _, _, what in said(wild, KIND)] == ["critical"]


def test_out_of_range_is_critical_at_once_in_any_state_and_keeps_its_number() -> None:
    for flow in (0.0, 45.0):
        found = watched(frozen(rows(flow=flow, out=since(45, 190)), Quality.OUT_OF_RANGE))
        assert said(found, KIND, "advice") == [(AT + 1, KIND, "critical")]
        evidence = next(e for e in found if e.kind == "event").details["evidence"]
        assert (evidence["why"], evidence["reading"]) == ("out of range", 0.19)


def test_a_single_sample_out_of_range_is_a_spike() -> None:
    table = rows()
    where = np.arange(N) == AT
    table["flow_out"] = with_bits(table["flow_out"], Quality.OUT_OF_RANGE, where)
    assert said(watched(table), KIND, "advice") == []


def test_a_gauge_of_a_share_of_a_full_line_stands_in() -> None:
    table = rows(out=NAN, flow_out_share=since(0.4, 0.0))
    found = watched(table)
    assert AT + 10 <= first(said(found, KIND)) <= AT + 20
    assert blind(found, KIND) == []


def test_any_split_gives_the_same_calls() -> None:
    out = since(45, 0.2)
    out[1200:1230], out[1230:] = 190.0, 45.0
    table = rows(out=out)
    over = (np.arange(N) >= 1200) & (np.arange(N) < 1230)
    table["flow_out"] = with_bits(table["flow_out"], Quality.OUT_OF_RANGE, over)
    whole = watched(table)
    assert len(said(whole, KIND)) == 2
    for edges in splits(N):
        assert watched(table, edges=edges) == whole
