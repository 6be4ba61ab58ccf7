"""States and gaps over arrays, against a plain walk over the rows."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.block import Block, Quality
from engine.records.journal import iso
from engine.records.spans import gaps, states
from engine.states import STATE_IDS

T0 = 1_780_000_000.0
NAN = float("nan")
ROWS = st.lists(
    st.tuples(st.sampled_from([0.5, 1.0, 9.0]), st.integers(0, 3), st.floats(0, 12), st.booleans()),
    min_size=2, max_size=30,
)  # fmt: skip


@given(ROWS, st.floats(0, 1), st.floats(0, 1))
def test_states_always_fill_any_window_without_overlap(
    rows: list[tuple[float, int, float, bool]], a: float, b: float
) -> None:
    t = T0 + np.cumsum([r[0] for r in rows])
    zero = np.zeros(t.size, np.uint16)
    since = np.where([r[3] for r in rows], NAN, t - np.array([r[2] for r in rows]))
    table = {
        "rig_state": Block(t, np.array([float(r[1]) for r in rows]), zero),
        "rig_state_since": Block(t, since, zero),
    }
    start, end = (round(x, 3) for x in sorted(t[0] + (t[-1] - t[0]) * x for x in (a, b)))
    found = states(table, start, end)
    assert sum(one["seconds"] for one in found) == pytest.approx(end - start, abs=1e-6)
    for one, after in pairwise(found):
        assert one["end"] == after["start"]
        assert one["state"] != after["state"]
    assert {one["state"] for one in found} <= set(STATE_IDS)


@given(ROWS)
def test_gaps_agree_with_a_plain_walk_over_the_rows(
    rows: list[tuple[float, int, float, bool]],
) -> None:
    t = T0 + np.cumsum([r[0] for r in rows])
    dark = np.array([r[1] == 0 for r in rows])
    quality = np.where(dark, int(Quality.STALE), 0).astype(np.uint16)
    block = Block(t, np.where(dark, NAN, 1.0), quality)
    want: list[list[float]] = []
    known: float | None = None  # when the channel was last seen in a row
    for i, (at, bad) in enumerate(zip(t.tolist(), dark.tolist(), strict=True)):
        if known is not None:
            old = i > 0 and not dark[i - 1] and at - t[i - 1] > 5.0
            if old:
                want.append([float(t[i - 1]) + 5.0, at])
            elif bad and not dark[i - 1]:
                want.append([at, at])
            if want and (dark[i - 1] or (bad and old)):
                want[-1][1] = at
        known = at if not bad else known
    if want and dark[-1]:
        want[-1][1] = float(t[-1])
    found = gaps({"hook_load": block}, ["hook_load"], [], (float(t[0]), float(t[-1]), 5.0))
    assert [[g["start"], g["end"]] for g in found] == [[iso(a), iso(b)] for a, b in want]
