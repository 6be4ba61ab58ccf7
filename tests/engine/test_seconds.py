"""Work once per second of data: what is fresh, what is repeated, what it costs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.block import Block, Quality, Table
from engine.ops.hydraulics import Hydraulics
from engine.ops.seconds import Seconds
from tests.tables import L_S, T0, check_splits, has, table_of, well

EVERY = [0.02, 0.1, 0.2, 1 / 3, 0.5]


class Counted:
    """Square of a channel, and how many rows it was worked out for."""

    def __init__(self) -> None:
        self.rows = 0
        self._seconds = Seconds()

    def process(self, table: Table) -> dict[str, Block]:
        return self._seconds.process(table, self._work)

    def _work(self, table: Table) -> dict[str, Block]:
        block = table["flow_in"]
        self.rows += block.t.size
        return {"square": Block(block.t, block.value**2, block.quality)}

    @property
    def state(self) -> object:
        return self._seconds.state


def at(t: np.ndarray) -> dict[str, Block]:
    return {"flow_in": Block(t, np.arange(1.0, t.size + 1), np.zeros(t.size, np.uint16))}


@pytest.mark.parametrize("step", EVERY)
def test_fast_rows_are_worked_out_once_a_second(step: float) -> None:
    """The model runs at most once per second of data, whatever the rate of the rows."""
    n = round(60 / step)
    op = Counted()
    out = op.process(at(T0 + step * np.arange(n)))["square"]
    assert op.rows == 60
    fresh = ~np.array(has(out, Quality.HELD))
    assert fresh.sum() == 60
    assert (np.diff(out.t[fresh]) < 1 + step + 1e-6).all()
    assert out.value[fresh].tolist() == [(i + 1.0) ** 2 for i in np.flatnonzero(fresh)]


@given(
    st.lists(st.floats(-0.19, 0.19), min_size=2, max_size=60),
    st.floats(0, 1),
)
def test_rows_a_second_apart_are_all_fresh_whatever_their_jitter(
    jitter: list[float], phase: float
) -> None:
    """A fifth of a second either way, anywhere in the second."""
    t = T0 + phase + np.arange(len(jitter)) + np.array(jitter)
    op = Counted()
    assert not any(has(op.process(at(t))["square"], Quality.HELD))
    assert op.rows == t.size


def test_a_row_that_is_repeated_is_never_older_than_its_second() -> None:
    rng = np.random.default_rng(2)
    t = T0 + rng.choice([0.05, 0.3, 0.7, 5.0], 2000, p=[0.6, 0.2, 0.15, 0.05]).cumsum()
    out = Counted().process(at(t))["square"]
    fresh = ~np.array(has(out, Quality.HELD))
    newest = np.maximum.accumulate(np.where(fresh, t, 0.0))
    assert (t - newest).max() < 1.0
    assert out.value.tolist() == [(i + 1.0) ** 2 for i in np.searchsorted(t, newest)]


@pytest.mark.parametrize("step", [*EVERY, 0.61, 1.0])
def test_any_split_gives_the_same(step: float) -> None:
    rng = np.random.default_rng(3)
    t = T0 + (step * rng.uniform(0.7, 1.3, 300)).cumsum()
    check_splits(Counted, at(t))


def test_hydraulics_of_rows_faster_than_a_second_repeat_and_say_so() -> None:
    flow = np.linspace(40 * L_S, 45 * L_S, 40)
    table = table_of(40, 0.1, flow_in=flow, bit_depth=2400.0)
    out = Hydraulics(well()).process(table)["expected_pressure"]
    assert has(out, Quality.HELD) == ([False] + [True] * 9) * 4
    slow = Hydraulics(well()).process(table_of(40, flow_in=flow, bit_depth=2400.0))
    assert out.value[::10].tolist() == slow["expected_pressure"].value[::10].tolist()
