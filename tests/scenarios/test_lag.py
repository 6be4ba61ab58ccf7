"""Lagged depth against the synthetic rig's tracer: stops, connections, trips, losses, a restart."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from engine.block import Block, FloatArray, Quality
from engine.ops.lag import Lag
from engine.pipeline import Pipeline
from engine.sim.jobs import Plan
from engine.sim.rig import Rig
from engine.sim.scenarios import Scenario, scenario
from tests.tables import T0, cut, has, raw_of, well

STOPS = Plan(left=25.0, stops=((2400.0, 600.0), (4000.0, 900.0), (5200.0, 60.0)))
"""Pumps off for ten minutes, a quarter of an hour and a minute, off bottom."""
CASES: dict[str, Scenario] = {
    "quiet": scenario("quiet"),
    "quiet-soft": scenario("quiet-soft"),
    "stops": replace(scenario("quiet-soft"), name="stops", plan=STOPS),
}


@cache
def run(what: Scenario, seed: int, hours: float) -> tuple[dict[str, Block], FloatArray]:
    """Return all channels and the true lagged depth of each row."""
    chunk = Rig(well(), what, seed, T0).advance(hours * 3600.0)
    return Pipeline(well()).process(raw_of(chunk)), chunk.truth["lagged_depth"][chunk.sent]


def without_counter(table: dict[str, Block]) -> dict[str, Block]:
    return {name: block for name, block in table.items() if name != "pump_strokes"}


@pytest.mark.parametrize("counter", [True, False])
@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("name", CASES)
def test_lagged_depth_is_within_half_a_metre_once_known(
    name: str, seed: int, counter: bool
) -> None:
    """Through pump stops and connections; known after one bottoms-up and for good."""
    table, truth = run(CASES[name], seed, 6.0)
    block = Lag(well()).process(table if counter else without_counter(table))["lagged_depth"]
    known = ~np.isnan(block.value)
    first = int(np.flatnonzero(known)[0])
    assert first < 1800  # one bottoms-up and at most one connection
    assert known[first:].all()
    assert np.abs(block.value - truth)[known].max() <= 0.5
    assert np.diff(block.value[first:]).min() >= 0


def test_while_the_pumps_stand_it_stands() -> None:
    """Case G18 on the synthetic rig; the true one stands as well."""
    table, truth = run(CASES["stops"], 1, 6.0)
    still = table["flow_in"].value == 0
    begins = np.flatnonzero(still & ~np.r_[False, still[:-1]])
    ends = np.flatnonzero(still & ~np.r_[still[1:], False])
    lagged = table["lagged_depth"].value
    assert (ends - begins > 500).sum() == 2
    for a, b in zip(begins, ends, strict=True):
        assert lagged[a] == lagged[b]
        assert abs(truth[b] - truth[a]) < 0.05


def test_a_restart_half_way_gives_the_same() -> None:
    """A new operator with the state of the old one, at four places, one of them in a stop."""
    table, _ = run(CASES["stops"], 1, 6.0)
    n = len(table["flow_in"])
    whole = Lag(well()).process(table)["lagged_depth"]
    parts, state = [], Lag(well()).state
    for a, b in [(0, 700), (700, 2900), (2900, 2901), (2901, 11_000), (11_000, n)]:
        op = Lag(well(), state)
        parts.append(op.process(cut(table, a, b))["lagged_depth"])
        state = op.state
    assert np.concatenate([p.value for p in parts]).tobytes() == whole.value.tobytes()
    assert np.concatenate([p.quality for p in parts]).tobytes() == whole.quality.tobytes()


def test_after_a_round_trip_it_is_unknown_until_one_bottoms_up() -> None:
    """Case G19."""
    table, truth = run(scenario("trip-in"), 1, 4.0)
    block, bit, hole = table["lagged_depth"], table["bit_depth"].value, table["hole_depth"].value
    known = np.flatnonzero(~np.isnan(block.value))
    out = int(np.nanargmax(hole - bit))
    back = out + int(np.flatnonzero(hole[out:] - bit[out:] < 28.5)[0])
    strokes = table["strokes"].value
    pumped = strokes[known[0]] - strokes[back]
    assert pumped == pytest.approx(table["lag_strokes"].value[known[0]], rel=0.01)
    assert np.abs(block.value - truth)[known].max() <= 0.5


@pytest.mark.parametrize("name", ["partial-loss", "total-loss", "demo"])
def test_where_losses_put_it_out_by_more_than_half_a_metre_it_says_so(name: str) -> None:
    """It counts what is pumped; what is lost lifts nothing."""
    table, truth = run(scenario(name), 1, 4.0)
    block = table["lagged_depth"]
    wrong = np.abs(block.value - truth) > 0.5
    marked = np.array(has(block, Quality.CONFLICT))
    assert not (wrong & ~marked).any()
    assert np.abs(block.value - truth)[~np.isnan(block.value)].max() <= 1.5


def test_a_dropout_of_the_feed_is_bridged_by_the_counter_only() -> None:
    table, truth = run(scenario("feed-dropout"), 1, 2.0)
    for counter in (True, False):
        block = Lag(well()).process(table if counter else without_counter(table))["lagged_depth"]
        known = ~np.isnan(block.value)
        assert np.abs(block.value - truth)[known].max() <= 0.5
        assert known[2900]
        assert known[3100:3900].all() == counter
