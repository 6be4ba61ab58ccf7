"""Hook load that goes while the block rises (R-38), and what takes the load off otherwise."""

from __future__ import annotations

import numpy as np
import pytest

from engine.ops.block_motion import BlockSpeed
from tests.string_rows import KLBF, blind, calls, check_splits, trip
from tests.tables import NAN, T0, block_of, table_of

N, AT = 300, 200


def rows(load: np.ndarray, block: np.ndarray, **more: object) -> dict[str, object]:
    rng = np.random.default_rng(3)
    t = T0 + np.arange(load.size)
    columns = {
        "hook_load": load + 2e3 * rng.standard_normal(load.size), "block_position": block,
        "in_slips": 0.0, "on_bottom": 0.0, "gas": 0.0, "expected_hook_load": 180 * KLBF,
        "bit_depth": 1200.0, "rotary": 0.0,
    } | more  # fmt: skip
    return table_of(load.size, **columns) | {"block_speed": BlockSpeed().process(t, block)}


def ramp(at: float, seconds: float, first: float, last: float) -> np.ndarray:
    return np.interp(np.arange(N), [at, at + seconds], [first, last])


def lost(**more: object) -> dict[str, object]:
    """180 to 60 klbf in 2 s, the block up by 6 m."""
    return rows(ramp(AT, 2, 180, 60) * KLBF, ramp(AT, 2, 10.0, 16.1), **more)


def test_it_is_called_within_three_seconds_and_ends_when_it_has_become_usual() -> None:
    (at, kind, event), *more = calls(lost(), "hook_load_lost")
    assert (kind, event, more) == ("hook_load_lost", "critical", [])
    assert AT < at <= AT + 3


@pytest.mark.parametrize("rise", [0.0, -0.3])
def test_slips_and_a_block_that_stands_are_something_else(rise: float) -> None:
    """The twin: the same load goes, but the block was lowered, or stood."""
    table = rows(ramp(AT, 1, 180, 60) * KLBF, ramp(AT - 2, 3, 10.0, 10.0 + rise))
    assert calls(table, "hook_load_lost") == []


def test_a_block_that_goes_up_alone_from_the_slips_is_something_else() -> None:
    slips = (np.arange(N) > AT - 8).astype(float)
    table = rows(ramp(AT - 9, 1, 180, 60) * KLBF, ramp(AT, 20, 10.0, 30.0), in_slips=slips)
    assert calls(table, "hook_load_lost") == []


def test_a_tight_spot_that_lets_go_is_something_else() -> None:
    pulled = np.where(np.arange(N) < 170, 180.0, ramp(170, 20, 180, 260))
    load = np.where(np.arange(N) >= AT, 180.0, pulled) * KLBF
    assert calls(rows(load, ramp(165, 40, 10.0, 22.0)), "hook_load_lost") == []


def test_a_string_that_was_held_for_minutes_and_lets_go_is_something_else() -> None:
    """The load falls to what the well file's string weighs, and not below it."""
    load = np.where(np.arange(N) < AT, 260.0, 180.0) * KLBF
    assert calls(rows(load, ramp(170, 60, 8.0, 26.0)), "hook_load_lost") == []


@pytest.mark.parametrize("mass", [72e3, 200e3])
def test_trips_are_silent(mass: float) -> None:
    assert calls(trip(10, mass=mass), "hook_load_lost") == []
    assert calls(trip(10, mass=mass, down=True), "hook_load_lost") == []


def test_one_wild_reading_is_none() -> None:
    load = np.full(N, 180 * KLBF)
    load[AT + 1] = 60 * KLBF
    assert calls(rows(load, ramp(AT - 10, 40, 10.0, 30.0)), "hook_load_lost") == []


def test_a_call_ends_when_the_load_is_back() -> None:
    back = np.where(np.arange(N) < 240, ramp(AT, 2, 180, 60), 180.0) * KLBF
    out = calls(rows(back, ramp(AT, 2, 10.0, 16.1)), "hook_load_lost")
    assert [event for _, _, event in out] == ["critical", "end"]
    assert 250 <= out[1][0] <= 252


@pytest.mark.parametrize("name", ["hook_load", "block_position", "in_slips"])
def test_it_is_blind_without_what_it_needs(name: str) -> None:
    table = lost()
    gone = table | {name: block_of(table["hook_load"].t, NAN)}  # type: ignore[union-attr]
    assert ("blind", f"no {name}") in blind(gone, "hook_load_lost")


def test_any_split_gives_the_same_lines() -> None:
    assert any(e.id == "hook_load_lost" and e.event == "critical" for e in check_splits(lost()))
