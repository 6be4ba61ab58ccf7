"""Thresholds are frozen in a file with a hash; a change without a new hash fails here."""

from __future__ import annotations

from pathlib import Path

import pytest

from adapters.config_file import example_text, parse_well
from adapters.frozen_settings import code_hash, freeze, frozen_hash
from engine.detect.settings import Detect
from engine.errors import RecordingError
from engine.score.freeze import settings_hash


def test_the_thresholds_are_the_frozen_ones() -> None:
    """If a default was changed on purpose: kellydown evaluate --freeze, and a new report."""
    assert frozen_hash() == settings_hash(Detect())


def test_the_built_in_well_sets_no_threshold_of_its_own() -> None:
    assert parse_well(example_text(), "built in").detect == Detect()


def test_a_hash_comes_back_as_it_was_frozen(tmp_path: Path) -> None:
    path = tmp_path / "frozen.toml"
    assert frozen_hash(path) == ""
    freeze("ab" * 32, path)
    assert frozen_hash(path) == "ab" * 32
    assert "evaluate --freeze" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("text", ["detect_sha256 = ", "other = 1", "detect_sha256 = 5", "\x00"])
def test_a_damaged_file_is_said_to_be_damaged(tmp_path: Path, text: str) -> None:
    path = tmp_path / "frozen.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RecordingError, match=r"frozen\.toml.*renew it by evaluate --freeze"):
        frozen_hash(path)


def test_the_source_of_the_detectors_has_one_hash() -> None:
    assert code_hash() == code_hash()
    assert len(code_hash()) == 64
