from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engine.block import Block, FloatArray
from tui.connections import Connections
from tui.samples import Samples

NAN = float("nan")


def table(state: list[float], start: int = 0, since: FloatArray | None = None) -> dict[str, Block]:
    """Return rows of slips, one a second, and the time of the last change as the engine dates it.

    The engine knows a change only some rows later and dates it back: here by 0.25 s.
    """
    t = start + np.arange(len(state), dtype=float)
    quality = np.zeros(t.size, np.uint16)
    value = np.array(state)
    if since is None:
        changes = np.concatenate([[0], np.flatnonzero(np.diff(value)) + 1])
        since = t[changes[np.searchsorted(changes, np.arange(t.size), side="right") - 1]] - 0.25
    return {"in_slips": Block(t, value, quality), "slips_since": Block(t, since, quality)}


def past(
    state: list[float], n: int | None = None, most: int = 5
) -> tuple[tuple[float, float], ...]:
    samples, connections = Samples(), Connections()
    samples.append(table(state))
    connections.take(samples)
    return connections.past(len(state) if n is None else n, most)


TWO = [0.0] * 4 + [1.0] * 6 + [0.0] * 5 + [1.0] * 3 + [0.0] * 2


def test_a_stay_in_the_slips_is_timed_from_slips_to_slips() -> None:
    """Counted by hand: in at 4 and 15, out at 10 and 18, all dated back by 0.25 s."""
    assert past(TWO) == ((17.75, 3.0), (9.75, 6.0))
    assert past(TWO, most=1) == ((17.75, 3.0),)


def test_a_replay_knows_only_what_was_over_by_then() -> None:
    assert past(TWO, n=10) == ()
    assert past(TWO, n=11) == ((9.75, 6.0),)
    assert past(TWO, n=18) == ((9.75, 6.0),)


def test_a_stay_whose_beginning_or_end_was_not_seen_is_not_timed() -> None:
    assert past([1.0] * 5 + [0.0] * 5) == ()
    assert past([0.0] * 5 + [1.0] * 5) == ()
    assert past([0.0] * 3 + [NAN] * 2 + [1.0] * 3 + [0.0] * 3) == ()
    assert past([0.0] * 3 + [1.0] * 3 + [NAN] * 2 + [1.0] * 3 + [0.0] * 3) == ()


def test_a_recording_without_slips_has_none() -> None:
    samples, connections = Samples(), Connections()
    t = np.arange(5.0)
    samples.append({"hook_load": Block(t, t, np.zeros(5, np.uint16))})
    connections.take(samples)
    assert connections.past(5, 5) == ()


@given(
    st.lists(st.sampled_from([0.0, 1.0, NAN]), min_size=1, max_size=60),
    st.lists(st.integers(0, 60), max_size=8),
)
def test_any_split_of_the_rows_gives_the_same(state: list[float], cuts: list[int]) -> None:
    whole = table(state)
    samples, connections = Samples(), Connections()
    edges = sorted({0, len(state), *(c for c in cuts if c < len(state))})
    for a, b in pairwise(edges):
        samples.append({name: block.slice(a, b) for name, block in whole.items()})
        connections.take(samples)
    for n in range(len(state) + 1):
        assert connections.past(n, 5) == past(state, n)
