"""Transfers without a word, and declarations that do not hold: K-01, R-30.

A transfer pump moves 2 to 10 bbl/min in a straight line: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.call import Declared
from engine.detect.settings import BalanceSettings
from engine.detect.settings_connections import TransferSettings
from engine.detect.transfer import Transfers
from engine.records.journal import Entry
from engine.units import BBL
from tests.tables import L_S, NAN, T0, cut, splits, table_of, well

FLOW = 45 * L_S
N, START = 3000, 1200
BPM = BBL / 60


def ramp(rate: float, seconds: int, start: int = START) -> np.ndarray:
    return rate * np.clip(np.arange(N) - start, 0, seconds)


def board() -> Board:
    return Board([Transfers(TransferSettings())], Balance(well(), BalanceSettings()))


def run(declared: tuple[Declared, ...] = (), n: float = 0.2, **columns: Any) -> list[Entry]:
    rng = np.random.default_rng(3)
    table: dict[str, Any] = {"flow_in": FLOW, "flow_out": FLOW * (1 + 0.02 * rng.normal(size=N))}
    table |= columns
    table["pit_volume"] = table["pit_volume"] + n * BBL * rng.normal(size=N)
    one = board()
    one.declared = declared
    return [e for e in one.process(table_of(**table))[2] if e.kind == "event"]


@pytest.mark.parametrize("rate", [2.5, 10.0, -3.0])
def test_a_straight_ramp_that_the_return_flow_does_not_show_is_asked_about(rate: float) -> None:
    entries = run(pit_volume=60 + ramp(rate * BPM, 600))
    assert [e.event for e in entries] == ["advice", "end"]
    assert entries[0].at - T0 < START + 150
    evidence = entries[0].details["evidence"]
    assert evidence["question"].startswith("undeclared transfer?")
    assert evidence["rate_m3_s"] == pytest.approx(rate * BPM, rel=0.3)
    assert entries[1].at - T0 == pytest.approx(START + 600 + 100, abs=60)


def test_an_influx_shows_in_the_return_flow_and_is_no_transfer() -> None:
    out = FLOW + np.where((np.arange(N) > START) & (np.arange(N) < START + 600), 4 * BPM, 0)
    assert run(pit_volume=60 + ramp(4 * BPM, 600), flow_out=out) == []


def test_a_slow_gain_is_left_to_the_influx_detector() -> None:
    assert run(pit_volume=60 + ramp(1 * BPM, 1200)) == []


def test_what_moves_between_measured_tanks_is_flat() -> None:
    move = ramp(8 * BPM, 600)
    assert run(pit_volume=60 + move, reserve_volume=200 - move) == []


def test_a_declared_transfer_is_not_asked_about() -> None:
    said = (Declared(T0 + START - 20, "reserve", 40 * BBL, 4 * BPM, T0 + 2900),)
    assert run(said, pit_volume=60 + ramp(4 * BPM, 600)) == []


def test_a_declared_one_that_overruns_is_a_warning_that_names_both_volumes() -> None:
    """R-30: declared 60 bbl, actual 75."""
    said = (Declared(T0 + START - 20, "reserve to active", 60 * BBL, 5 * BPM, T0 + 2700),)
    entries = run(said, pit_volume=60 + ramp(5 * BPM, 900))
    first = next(e for e in entries if e.event == "warning")
    assert START + 720 < first.at - T0 < START + 900
    evidence = first.details["evidence"]
    assert evidence["declaration"] == "overrun"
    assert evidence["planned_m3"] == pytest.approx(60 * BBL, rel=1e-4)
    assert 66 * BBL < evidence["actual_m3"] < 72 * BBL


def test_an_overrun_between_two_measured_tanks_is_told_as_well() -> None:
    """R-30: the sum is flat, and yet more came into the active pits than was said."""
    said = (Declared(T0 + START - 20, "reserve to active", 60 * BBL, 5 * BPM, T0 + 2700),)
    move = ramp(5 * BPM, 900)
    entries = run(said, pit_volume=60 + move, reserve_volume=200 - move)
    assert "overrun" in {e.details["evidence"].get("declaration") for e in entries}


def test_mud_that_goes_the_other_way_is_a_warning() -> None:
    """R-30: wrong tank."""
    said = (Declared(T0 + START - 20, "reserve to active", 30 * BBL, 5 * BPM, T0 + 2700),)
    entries = run(said, pit_volume=60 + ramp(-5 * BPM, 300))
    words = {e.details["evidence"].get("declaration") for e in entries if e.event == "warning"}
    assert words == {"the other way"}


def test_what_was_declared_and_never_came_is_told_when_it_is_over() -> None:
    said = (Declared(T0 + START, "reserve to active", 30 * BBL, 5 * BPM, T0 + 2000),)
    entries = run(said, pit_volume=np.full(N, 60.0))
    assert [(e.event, e.details["evidence"].get("declaration")) for e in entries] == [
        ("advice", "did not come"), ("end", None),
    ]  # fmt: skip
    assert entries[0].at - T0 == pytest.approx(2005, abs=10)


def test_declarations_that_overlap_are_not_judged_one_by_one() -> None:
    """Out to the reserve and, before that is done, to the trip tank: both go as they were said."""
    said = (
        Declared(T0 + START - 20, "active to reserve", -15 * BBL, 2 * BPM, T0 + START + 650),
        Declared(T0 + START + 300, "active to tank", -8 * BBL, 2 * BPM, T0 + START + 760),
    )
    pit = 60 - ramp(2 * BPM, 450) - ramp(2 * BPM, 240, START + 320)
    assert run(said, pit_volume=pit) == []


@pytest.mark.parametrize("lost", ["pit_volume", "flow_out"])
def test_without_pits_or_return_gauge_it_is_blind(lost: str) -> None:
    """R-32: without the gauge a ramp cannot be told from an influx."""
    rows = {"pit_volume": 60 + ramp(4 * BPM, 600), "flow_in": FLOW, "flow_out": FLOW, lost: NAN}
    entries = board().process(table_of(N, **rows))[2]
    assert [(e.event, e.details.get("reason")) for e in entries] == [("blind", f"no {lost}")]


def test_any_split_gives_the_same_calls() -> None:
    rng = np.random.default_rng(4)
    said = (Declared(T0 + 2000.0, "reserve", 10 * BBL, 5 * BPM, T0 + 2900),)
    table = table_of(
        pit_volume=60 + ramp(4 * BPM, 400) + ramp(5 * BPM, 250, 2050) + 0.03 * rng.normal(size=N),
        flow_in=FLOW, flow_out=FLOW,
    )  # fmt: skip
    whole_board = board()
    whole_board.declared = said
    whole = whole_board.process(table)[2]
    assert {e.event for e in whole} >= {"advice", "warning", "end"}
    for edges in splits(N):
        one = board()
        one.declared = said
        parts = [one.process(cut(table, a, b))[2] for a, b in pairwise(edges)]
        assert [e for part in parts for e in part] == whole
