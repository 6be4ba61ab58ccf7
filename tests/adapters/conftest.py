"""A recording and the place of its second copy."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from adapters import sqlite_copy
from adapters.sqlite_store import create_recording
from engine.errors import RecordingError
from tests.copies import META, Feed


@pytest.fixture
def first(tmp_path: Path) -> Path:
    return tmp_path / "tour.kdrec"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "stick").mkdir()
    return tmp_path / "stick" / "tour.kdrec"


@pytest.fixture
def feed(first: Path, place: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Feed]:
    """Return a recording with a copy that is tried again soon."""
    monkeypatch.setattr(sqlite_copy, "EVERY_S", 0.05)
    monkeypatch.setattr(sqlite_copy, "LONGEST_S", 0.2)
    recorder = create_recording(first, META)
    recorder.copy_to(place)
    yield Feed(recorder)
    with suppress(RecordingError):
        recorder.close()
