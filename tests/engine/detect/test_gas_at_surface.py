"""Gas at the surface, and when that of a trip or a connection is due (R-35)."""

from __future__ import annotations

import numpy as np
import pytest

from tests.string_rows import blind, calls, check_splits, evidence, returns
from tests.tables import NAN, block_of

N, AT, LAG = 9000, 6000, 1500.0
S = np.arange(N)


def rows(gas: object, *, stop: tuple[int, int] = (3000, 3300), **more: object) -> dict[str, object]:
    flow = np.where((stop[0] <= S) & (stop[1] > S), 0.0, 0.045)
    return returns(flow, lag_s=LAG, gas=gas, **more)


def gas_of(calls_: list[tuple[float, str, str]]) -> list[tuple[float, str]]:
    return [(t, e) for t, k, e in calls_ if k == "gas_at_surface"]


def test_three_times_the_background_is_called_in_twenty_seconds() -> None:
    (at, event), *_ = gas_of(calls(rows(np.where(S < AT, 0.004, 0.02))))
    assert event == "warning"
    assert 0 < at - AT <= 20


@pytest.mark.parametrize("much", [0.008, 0.011])
def test_twice_the_background_is_not(much: float) -> None:
    assert gas_of(calls(rows(np.where(S < AT, 0.004, much)))) == []


def test_next_to_nothing_is_not_called_and_a_wild_reading_neither() -> None:
    assert gas_of(calls(rows(np.where(S < AT, 0.0002, 0.002)))) == []
    assert gas_of(calls(rows(np.where(abs(S - AT - 2) < 3, 0.5, 0.004)))) == []


def test_gas_with_more_returns_is_critical() -> None:
    """Both rise by themselves: gas to five times, returns by 12 per cent."""
    share = 0.12 * (S >= AT)
    table = rows(np.where(S < AT, 0.004, 0.02), share=share)
    at = next(t for t, e in gas_of(calls(table)) if e == "critical")
    assert at - AT <= 60
    assert evidence(table, "gas_at_surface", "critical")["witnesses"] == ["gas", "return flow"]
    assert gas_of(calls(rows(0.004, share=share))) == []


def test_connection_gas_is_announced_and_an_advice() -> None:
    """Lag 25 min after pumps on at 3300 s: due at 4800, announced 3 min before, over at 4950."""
    due = 3300 + LAG
    table = rows(np.where(abs(due + 20 - S) < 60, 0.02, 0.004))
    out = calls(table)
    announced = [(t, e) for t, k, e in out if k == "bottoms_up_due"]
    assert [e for _, e in announced] == ["advice", "end"]
    assert announced[0][0] == pytest.approx(due - 180, abs=10)
    assert announced[1][0] == pytest.approx(due + 150, abs=10)
    assert evidence(table, "bottoms_up_due", "advice")["note"] == "connection gas due in 3 min"
    assert {e for _, e in gas_of(out)} == {"advice", "end"}
    said = evidence(table, "gas_at_surface", "advice")
    assert said["witnesses"] == ["gas", "lag since the connection"]


def test_a_stop_on_the_way_moves_what_is_due_by_as_long() -> None:
    """Followed by strokes, not by minutes."""
    flow = np.where(((S >= 3000) & (S < 3300)) | ((S >= 3600) & (S < 4200)), 0.0, 0.045)
    out = calls(returns(flow, lag_s=LAG))
    first = next(t for t, k, _ in out if k == "bottoms_up_due")
    assert first == pytest.approx(3300 + LAG + 600 - 180, abs=10)


def test_after_a_trip_it_is_announced_twelve_minutes_before() -> None:
    away = np.interp(S, [1000, 2000, 4000, 5000], [0, 800, 800, 0])
    table = rows(0.004, stop=(1000, 5100), off=away)
    (at, _, _), *_ = [c for c in calls(table) if c[1] == "bottoms_up_due"]
    assert at == pytest.approx(5100 + LAG - 720, abs=10)
    assert evidence(table, "bottoms_up_due", "advice")["note"] == "trip gas due in 12 min"


@pytest.mark.parametrize("name", ["gas", "flow_in"])
def test_it_is_blind_without_what_it_needs(name: str) -> None:
    table = rows(0.004)
    lost = table | {name: block_of(table["flow_in"].t, NAN)}  # type: ignore[union-attr]
    assert ("blind", f"no {name}") in blind(lost, "gas_at_surface")


@pytest.mark.parametrize("name", ["strokes", "lag_strokes", "hole_depth"])
def test_it_cannot_tell_what_is_due_without_strokes_and_depth(name: str) -> None:
    table = rows(np.where(S < AT, 0.004, 0.02))
    lost = table | {name: block_of(table["flow_in"].t, NAN)}  # type: ignore[union-attr]
    assert ("blind", f"no {name}") in blind(lost, "bottoms_up_due")
    assert [e for _, e in gas_of(calls(lost))][:1] == ["warning"]


def test_any_split_gives_the_same_lines() -> None:
    entries = check_splits(rows(np.where(S < AT, 0.004, 0.02)))
    assert {e.id for e in entries} >= {"gas_at_surface", "bottoms_up_due"}
