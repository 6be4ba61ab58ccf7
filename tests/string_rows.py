"""Rows made by hand for the detectors of string, rock, heat and gas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from engine.block import Block
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.string_heat_detectors import string_heat_detectors
from engine.ops.block_motion import BlockSpeed
from engine.records.journal import Entry
from engine.units import unit
from tests.tables import NAN, T0, cut, splits, table_of, well

KLBF = unit("klbf").factor
BLOCK = 320e3
"""Block weight, near that of the example well. [N]"""
Told = list[tuple[float, str, str]]


def board_of() -> Board:
    """Return these detectors alone."""
    config = well()
    return Board(string_heat_detectors(config), Balance(config, config.detect.balance))


def entries_of(table: Mapping[str, Block]) -> list[Entry]:
    """Return all that the journal gets."""
    return board_of().process(table)[2]


def calls(table: Mapping[str, Block], *kinds: str) -> Told:
    """Return (seconds since `T0`, kind, event) of the calls of `kinds`; none named: all."""
    return [
        (round(e.at - T0, 1), e.id, e.event)
        for e in entries_of(table)
        if e.kind == "event" and (not kinds or e.id in kinds)
    ]


def evidence(table: Mapping[str, Block], kind: str, event: str) -> dict[str, Any]:
    """Return the numbers behind the first such line."""
    found = (e for e in entries_of(table) if (e.kind, e.id, e.event) == ("event", kind, event))
    said: dict[str, Any] = next(found).details["evidence"]
    return said


def blind(table: Mapping[str, Block], kind: str) -> list[tuple[str, str]]:
    """Return (blind or sees, reason) of one detector, in order of time."""
    return [
        (e.event, e.details["reason"])
        for e in entries_of(table)
        if e.kind == "detector" and e.id == kind
    ]


def check_splits(table: Mapping[str, Block]) -> list[Entry]:
    """Assert that every split gives the same lines and samples; return the lines."""
    _, samples, entries = board_of().process(table)
    for edges in splits(len(next(iter(table.values())))):
        board = board_of()
        parts = [board.process(cut(table, a, b)) for a, b in pairwise(edges)]
        assert [e for part in parts for e in part[2]] == entries, edges[:5]
        for name, block in samples.items():
            got = np.concatenate([part[1][name].value for part in parts])
            assert got.tobytes() == block.value.tobytes(), (name, edges[:5])
    return entries


def trip(
    stands: int, *, down: bool = False, step: float = 1.0, noise: float = 6e3, seed: int = 1,
    bumps: Sequence[tuple[int, float, float, float]] = (), mass: float = 72e3, error: float = 1.0,
    depth: float = 2400.0, drag: float = 28e3,
) -> dict[str, Block]:  # fmt: skip
    """Return a trip: each stand 30 s of hoisting at 1 m/s, then a minute in slips.

    ``bumps`` are (stand from 0, second in it, newtons more drag, seconds); ``noise`` is that
    of each reading, one standard deviation [N], ``mass`` what the block accelerates [kg],
    ``error`` the factor by which the string weighs more than the well file says.
    """
    per = round(90 / step)
    t = np.arange(per) * step
    speed = np.interp(t, [0, 3, 27, 30, 90], [0, 1, 1, 0, 0])
    gain = np.interp(t, [0, 0.001, 2.999, 3, 27, 27.001, 29.999, 30, 90],
                     [0, 1 / 3, 1 / 3, 0, 0, -1 / 3, -1 / 3, 0, 0])  # fmt: skip
    way = np.cumsum(speed) * step
    rng = np.random.default_rng(seed)
    columns: dict[str, list[np.ndarray]] = {}
    sign = -1.0 if down else 1.0
    for k in range(stands):
        slips = (t >= 33) & (t < 87)
        bit = depth - sign * (27.0 * k + way)
        block = (2.0 if not down else 29.0) + sign * np.where(
            t < 60, way, 27.0 * (1 - (t - 60) / 30)
        )
        weight = BLOCK + 310.0 * bit
        held = sum(
            (size * ((t >= at) & (t < at + lasts)) for n, at, size, lasts in bumps if n == k),
            np.zeros(per),
        )
        pulled = sign * (drag + held) * (speed > 0.02) + sign * mass * gain
        load = BLOCK + (weight * error - BLOCK) + pulled
        hook = np.where(slips, BLOCK, load) + noise * rng.standard_normal(per)
        for name, x in {
            "block_position": block, "bit_depth": bit, "hook_load": hook,
            "in_slips": slips.astype(float), "expected_hook_load": np.where(slips, NAN, weight),
        }.items():  # fmt: skip
            columns.setdefault(name, []).append(x)
    joined = {name: np.concatenate(parts) for name, parts in columns.items()}
    table = table_of(step=step, on_bottom=0.0, rotary=0.0, gas=0.002, **joined)
    z = joined["block_position"]
    return table | {"block_speed": BlockSpeed().process(T0 + np.arange(z.size) * step, z)}


def rock(
    rate: np.ndarray, *, weight: Any = 150e3, rotary: Any = 7.3, seed: int = 1, hole: float = 2400.0
) -> dict[str, Block]:
    """Return rows of 1 Hz on bottom; `rate` in m/s, depths read in centimetres with 5 mm noise."""
    rng = np.random.default_rng(seed)
    n = rate.size
    depth = hole + np.cumsum(rate)
    read = np.round(depth + 0.005 * rng.standard_normal(n), 2)
    deepest = np.maximum.accumulate(read)
    return table_of(
        n, hole_depth=deepest, bit_depth=deepest, on_bottom=1.0, in_slips=0.0,
        weight_on_bit=np.broadcast_to(weight, (n,)) * (1 + 0.03 * rng.standard_normal(n)),
        rotary=np.broadcast_to(rotary, (n,)) * (1 + 0.01 * rng.standard_normal(n)),
    )  # fmt: skip


def returns(
    flow: np.ndarray,
    *,
    lag_s: float,
    out: Any = 321.0,
    inn: Any = 305.0,
    share: Any = 0.0,
    gas: Any = 0.004,
    off: Any = 0.0,
    seed: int = 1,
) -> dict[str, Block]:
    """Return rows of 1 Hz of mud: `flow` in m3/s, `share` more or less of it comes back.

    The lag is `lag_s` at 45 l/s; `off` is the bit above bottom [m]; noise of the return gauge is
    1 % of 60 l/s, of temperatures 0.2 K.
    """
    rng = np.random.default_rng(seed)
    n = flow.size
    stroke = 0.019
    back = np.empty(n)
    now = flow[0]
    for i in range(n):
        now += (flow[max(i - 8, 0)] - now) / 25.0
        back[i] = now
    off = np.broadcast_to(off, (n,))
    return table_of(
        n, flow_in=flow, flow_out=np.maximum(back * (1 + share), 0) + 6e-4 * rng.standard_normal(n),
        pit_volume=60.0 + 0.05 * rng.standard_normal(n), gas=gas,
        temperature_out=out + 0.2 * rng.standard_normal(n),
        temperature_in=inn + 0.1 * rng.standard_normal(n),
        strokes=np.cumsum(flow) / stroke, lag_strokes=lag_s * 0.045 / stroke,
        pump_1_rate=flow / stroke, hole_depth=2400.0, bit_depth=2400.0 - off, rig_state=1.0,
    )  # fmt: skip
