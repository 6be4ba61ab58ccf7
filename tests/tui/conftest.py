"""A watch that runs while the tests of one file type commands at it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from engine.engine import Engine
from tests.cards import running_watch


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("live") / "tour.kdrec"


@pytest.fixture(scope="module")
def watch(live: Path) -> Iterator[Engine]:
    with running_watch(live) as engine:
        yield engine
