"""Total loss: nothing returns for 20 s and the pits say so. Common practice, no source."""

from __future__ import annotations

import numpy as np

from tests.tables import NAN, splits
from tests.volume_rows import AT, FLOW, blind, calls, ended, first, rows, watched

N = 4800


def lost(back: float = float("inf"), pits: bool = True, out: float = 0.0) -> dict:  # type: ignore[type-arg]
    t = np.arange(N)
    gone = (t > AT) & (t < back)
    level = 60.0 - FLOW * np.cumsum(gone) * pits
    return rows(n=N, flow_out=np.where(gone, out, FLOW), pit_volume=level)


def test_it_is_called_within_twenty_seconds_and_a_bin() -> None:
    assert AT + 15 <= first(watched(lost()), "total_loss", "critical") <= AT + 30


def test_full_pits_and_a_dead_gauge_are_none() -> None:
    assert calls(watched(lost(pits=False)), "total_loss") == []


def test_a_tenth_of_the_returns_is_a_loss_but_not_total() -> None:
    found = watched(lost(out=0.1 * FLOW))
    assert calls(found, "total_loss") == []
    assert calls(found, "loss")


def test_it_ends_when_returns_come_again() -> None:
    found = watched(lost(back=AT + 900))
    assert AT + 900 < ended(found, "total_loss") <= AT + 920


def test_a_stop_of_the_pumps_is_none() -> None:
    flow = np.where((np.arange(N) > AT) & (np.arange(N) < AT + 400), 0.0, FLOW)
    assert calls(watched(rows(n=N, flow_in=flow, flow_out=flow)), "total_loss") == []


def test_without_pits_the_gauge_alone_calls_it() -> None:
    table = lost()
    table = rows(n=N, flow_out=table["flow_out"].value, pit_volume=NAN)
    (call,) = calls(watched(table), "total_loss")
    assert call.details["evidence"]["witnesses"] == ["return flow"]


def test_it_is_blind_without_a_return_gauge() -> None:
    assert list(blind(watched(rows(n=600, flow_out=NAN)), "total_loss")) == ["no flow_out"]


def test_any_split_makes_the_same_calls() -> None:
    table = lost(back=AT + 900)
    whole = watched(table)
    for edges in splits(N):
        assert watched(table, edges) == whole
