"""Tables of channels for tests, and the test that any split gives the same bytes."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from engine.block import Block, Quality
from engine.channels import RAW
from engine.config import WellConfig, parse_config
from engine.sim.rig import Chunk

T0 = 1_780_000_000.0
NAN = float("nan")
SPM = 1 / 60.0
L_S = 1e-3
Columns = Mapping[str, Any]


def well(**changes: Any) -> WellConfig:
    """Return the example well, with whole tables of it replaced."""
    path = Path(__file__).parent.parent / "adapters" / "example_well.toml"
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["rig"]["sheave_efficiency"] = 1.0  # a load cell: rows of tests mean what they say
    return parse_config(raw | changes, "test")


def table_of(n: int = 0, step: float = 1.0, **columns: Any) -> dict[str, Block]:
    """Return a row every `step` s: a number is repeated, NaN is stale, a Block is taken."""
    n = n or max(np.size(c) for c in columns.values())
    t = T0 + np.arange(n) * step
    return {name: block_of(t, column) for name, column in columns.items()}


def block_of(t: np.ndarray, column: Any) -> Block:
    value = np.broadcast_to(np.asarray(column, np.float64), t.shape).copy()
    bits = np.where(np.isnan(value), int(Quality.STALE), 0).astype(np.uint16)
    return Block(t, value, bits)


def raw_of(chunk: Chunk) -> dict[str, Block]:
    """Return what the synthetic rig sent, without the wire: every raw channel, in its rows."""
    t = chunk.t[chunk.sent]
    raw = {}
    for name in RAW:
        sent = name in chunk.sensors
        value = chunk.sensors[name][chunk.sent] if sent else np.full(t.size, NAN)
        why = int(Quality.MISSING if sent else Quality.NO_DATA)
        raw[name] = Block(t, value, np.where(np.isnan(value), why, 0).astype(np.uint16))
    return raw


def with_bits(block: Block, bits: Quality, where: Any = True) -> Block:
    """Return the block with `bits` added where `where`."""
    added = np.where(where, np.uint16(bits), np.uint16(0)).astype(np.uint16)
    return Block(block.t, block.value, block.quality | added)


def cut(table: Mapping[str, Block], a: int, b: int) -> dict[str, Block]:
    return {name: block.slice(a, b) for name, block in table.items()}


def random_table(seed: int, n: int, **levels: tuple[float, ...]) -> dict[str, Block]:
    """Return channels that stay at one of their levels for a while, with all that can go wrong.

    Times have jitter and gaps; there are runs of held, stale, missing and rejected samples,
    and single ones of each.
    """
    rng = np.random.default_rng(seed)
    step = np.where(rng.random(n) < 0.02, 40.0, rng.choice([0.1, 0.95, 1.0, 1.05], n))
    t = T0 + np.round(np.cumsum(step), 6)
    out = {}
    for name, choice in levels.items():
        begins = rng.random(n) < rng.choice([0.01, 0.05, 0.3])
        level = rng.choice(choice, n)[np.maximum.accumulate(np.where(begins, np.arange(n), 0))]
        noisy = rng.random() < 0.5
        value = level * (1 + 0.002 * rng.standard_normal(n) * noisy)
        bits = np.zeros(n, np.uint16)
        for what, lost in _FAULTS:
            at = np.flatnonzero(rng.random(n) < 0.001)
            for i in at.tolist():
                run = slice(i, i + int(rng.choice([1, 3, 70])))
                bits[run] = int(what)
                value[run] = NAN if lost else value[i]
        out[name] = Block(t, value, bits)
    return out


_FAULTS = (
    (Quality.HELD, False),
    (Quality.PARTIAL, False),
    (Quality.STALE, True),
    (Quality.MISSING, True),
    (Quality.REJECTED, True),
    (Quality.LINK_DOWN, True),
)


def splits(n: int, seed: int = 5) -> Iterator[list[int]]:
    """Edges of blocks of 1, 7 and 1000, and three random cuts, one with empty blocks."""
    rng = np.random.default_rng(seed)
    for size in (1, 7, 1000):
        yield [*range(0, n, size), n]
    for k in (3, 20, 60):
        cuts = sorted(rng.integers(0, n + 1, k).tolist())
        yield [0, *cuts, *cuts[-1:], n]


def check_splits(make: Callable[[], Any], table: Mapping[str, Block]) -> dict[str, Block]:
    """Assert that every split gives the bytes and the state of one block; return the block."""
    one = make()
    whole: dict[str, Block] = one.process(table)
    for edges in splits(len(next(iter(table.values())))):
        op = make()
        parts = [op.process(cut(table, a, b)) for a, b in pairwise(edges)]
        for name, block in whole.items():
            for field in ("t", "value", "quality"):
                got = np.concatenate([getattr(part[name], field) for part in parts])
                want = getattr(block, field)
                assert got.dtype == want.dtype
                assert got.tobytes() == want.tobytes(), (name, field, edges[:8])
        assert repr(op.state) == repr(one.state)
    return whole


def has(block: Block, bit: Quality) -> list[bool]:
    """Return where `bit` is set."""
    return ((block.quality & np.uint16(bit)) != 0).tolist()
