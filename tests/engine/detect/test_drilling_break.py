"""Drilling breaks, and faster drilling that is none.

1.5 to 2 times the rate over half a metre to a metre: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.units import FT, HOUR
from tests.string_rows import blind, calls, check_splits, evidence, rock
from tests.tables import NAN, block_of

M_H = 1 / HOUR


def faster(times: float, *, before: float = 8.0, at: int = 3600, n: int = 5400) -> np.ndarray:
    return before * M_H * np.where(np.arange(n) < at, 1.0, times)


@pytest.mark.parametrize("before", [4.0, 8.0, 25.0, 60.0])
@pytest.mark.parametrize("seed", range(3))
def test_a_break_is_called_before_five_feet_of_it_are_drilled(before: float, seed: int) -> None:
    """R-34."""
    rate = faster(1.8, before=before)
    (at, kind, event), *_ = calls(rock(rate, seed=seed), "drilling_break")
    assert (kind, event) == ("drilling_break", "warning")
    assert 0 < rate[3600 : round(at)].sum() < 5 * FT


def test_the_note_says_at_what_depth_and_how_much_faster() -> None:
    said = evidence(rock(faster(2.0)), "drilling_break", "warning")
    assert said["from_hole_depth_m"] == pytest.approx(2408.0, abs=0.25)
    assert said["rop_before_m_s"] == pytest.approx(8 * M_H, rel=0.1)
    assert said["times"] == pytest.approx(2.0, rel=0.15)
    depth = f"{said['from_hole_depth_m']:.1f}"
    assert said["note"] == f"drilling break at {depth} m: {said['times']:.1f} times as fast"


def test_a_call_ends_when_three_metres_are_drilled() -> None:
    out = calls(rock(faster(2.0)), "drilling_break")
    assert [event for _, _, event in out] == ["warning", "end"]
    assert 3.0 < (out[1][0] - 3600) * 16 * M_H < 3.6


@pytest.mark.parametrize("seed", range(6))
def test_steady_rock_and_rock_that_changes_by_a_fifth_are_silent(seed: int) -> None:
    n = 4 * 3600
    wander = 1 + 0.2 * np.sin(np.arange(n) / 900.0)
    assert calls(rock(8 * M_H * wander, seed=seed), "drilling_break") == []


def test_slower_drilling_is_none() -> None:
    assert calls(rock(faster(0.5)), "drilling_break") == []


@pytest.mark.parametrize("what", ["weight", "rotary"])
def test_more_weight_or_more_turns_are_none(what: str) -> None:
    """The twin: 1.8 times the rate because the driller asked for it."""
    more = np.where(np.arange(5400) < 3600, 1.0, 1.5)
    asked = {"weight": {"weight": 150e3 * more}, "rotary": {"rotary": 7.3 * more}}[what]
    assert calls(rock(faster(1.8), **asked), "drilling_break") == []


def test_a_connection_and_a_corrected_depth_are_none() -> None:
    table = rock(faster(1.0))
    away = (np.arange(5400) > 3000) & (np.arange(5400) < 3400)
    hole = table["hole_depth"].value.copy()
    hole[away] = hole[3000]
    hole[3400:] += 2.0
    changed = {
        "on_bottom": block_of(table["hole_depth"].t, np.where(away, 0.0, 1.0)),
        "hole_depth": block_of(table["hole_depth"].t, hole),
    }
    assert calls(table | changed, "drilling_break") == []


@pytest.mark.parametrize("name", ["hole_depth", "on_bottom", "weight_on_bit", "rotary"])
def test_it_is_blind_without_what_it_needs(name: str) -> None:
    table = rock(faster(2.0))
    lost = table | {name: block_of(table[name].t, NAN)}
    assert blind(lost, "drilling_break") == [("blind", f"no {name}")]
    assert calls(lost, "drilling_break") == []


def test_it_says_that_it_needs_a_metre_first() -> None:
    said = blind(rock(faster(1.0)), "drilling_break")
    assert [event for event, _ in said] == ["blind", "sees"]
    assert said[0][1] == "less than a metre was drilled to compare with"


def test_any_split_gives_the_same_lines() -> None:
    assert any(e.event == "warning" for e in check_splits(rock(faster(2.0))))
