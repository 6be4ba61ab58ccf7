"""The example well and finished runs, shared by the tests of the synthetic rig."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from engine.config import WellConfig, parse_config
from engine.sim.events import event
from engine.sim.rig import Chunk, Rig

START = 1_780_000_000.0
Run = Callable[[str, float, int], tuple[Rig, Chunk]]
Pair = Callable[..., tuple[tuple[Rig, Chunk], ...]]


@cache
def example() -> WellConfig:
    import tomllib

    path = Path(__file__).parents[3] / "adapters" / "example_well.toml"
    return parse_config(tomllib.loads(path.read_text(encoding="utf-8")), path.name)


@cache
def finished(name: str, seconds: float, seed: int) -> tuple[Rig, Chunk]:
    rig = Rig(example(), name, seed, START)
    return rig, rig.advance(seconds)


@pytest.fixture
def well() -> WellConfig:
    return example()


@pytest.fixture
def run() -> Run:
    """Return a finished run of (scenario, seconds, seed); runs are kept between tests."""
    return finished


@cache
def both_ways(kind: str, seconds: float, **how: float | str) -> tuple[tuple[Rig, Chunk], ...]:
    """Return finished runs of an event and of its twin, on the land rig with calm gauges."""
    what = event(kind, seed=1, **how)  # type: ignore[arg-type]
    rigs = [Rig(example(), scenario, 3, START) for scenario in (what, what.twin())]
    return tuple((rig, rig.advance(seconds)) for rig in rigs)


@pytest.fixture
def pair() -> Pair:
    """Return a run of an event and its twin; runs are kept between tests."""
    return both_ways
