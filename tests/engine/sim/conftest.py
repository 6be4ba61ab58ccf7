"""The example well and finished runs, shared by the tests of the synthetic rig."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from engine.config import WellConfig, parse_config
from engine.sim.rig import Chunk, Rig

START = 1_780_000_000.0
Run = Callable[[str, float, int], tuple[Rig, Chunk]]


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
