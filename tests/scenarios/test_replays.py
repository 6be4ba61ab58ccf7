"""The recording that comes with the program: what it shows, and that looking leaves no trace."""

from __future__ import annotations

import json
import os
import runpy
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from adapters.config_file import parse_well
from adapters.sqlite_reader import SqliteRecording
from engine.events import Frame
from engine.records.journal import broken_at, from_iso, read
from engine.records.recompute import compare
from tests.check_rows import row
from tests.commands import done, reviewed

ROOT = Path(__file__).parents[2]
GRANITE = ROOT / "replays" / "granite.kdrec"
NOBODY = 65534


def beside() -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in GRANITE.parent.glob("*.kdrec*")}


@pytest.fixture(autouse=True)
def _untouched() -> Iterator[None]:
    """Hold the recording to its bytes, and its folder to what was in it, through every test."""
    before = beside()
    assert list(before) == ["granite.kdrec"]
    yield
    assert beside() == before


def test_it_holds_a_connection_and_an_alarm_that_was_acknowledged() -> None:
    found = reviewed(GRANITE)
    (connection,) = found["connections"]
    assert connection["kind"] == "drilling"
    assert 120 < connection["seconds"] < 300
    (alarm,) = found["alarms"]
    assert (alarm["id"], alarm["unit"]) == ("pressure-high", "Pa")
    assert alarm["value"] > alarm["limit"] == 14.5e6
    assert alarm["raised"] < alarm["acknowledged"] < alarm["cleared"]
    span = found["span"]
    length = from_iso(span["end"]) - from_iso(span["start"])
    assert 1000 < length < 1900
    assert span["frames"] > 0.99 * length
    (gap,) = found["gaps"]  # mapped in the well file, and not sent while drilling
    assert gap["channels"] == ["trip_tank_volume"]


def test_it_is_small_says_that_it_is_synthetic_and_holds_what_the_driller_did() -> None:
    assert GRANITE.stat().st_size < 1_500_000
    with closing(SqliteRecording(GRANITE)) as recording:
        meta, lines = recording.meta(), recording.journal()
        wire, frames = list(recording.wire()), [*recording.inputs()]
    assert (meta["synthetic"], meta["well"]) == ("1", "Emberholt 4")
    assert "SYNTHETIC DATA" in done("review", GRANITE).out
    assert broken_at(lines) is None
    given = [read(line)["id"] for line in lines if read(line)["event"] == "given"]
    assert given == ["zero_pits", "note", "acknowledge"]
    assert len(wire) == sum(isinstance(event, Frame) for event in frames)


@row("G33")
def test_it_is_worked_out_again_identically() -> None:
    """R-53 on the recording that comes with the program, whatever version made it."""
    with closing(SqliteRecording(GRANITE)) as recording:
        config = parse_well(recording.meta()["well_file"], "replay")
        assert compare(recording, config) == []
    assert "worked out again, identical" in done("replay", GRANITE, "--check").out


@contextmanager
def read_only_copy() -> Iterator[Path]:
    """Give a copy in a folder that nobody may write to, not even this process while it lasts."""
    folder = Path(tempfile.mkdtemp())
    path = folder / "granite.kdrec"
    shutil.copyfile(GRANITE, path)
    path.chmod(0o444)
    folder.chmod(0o555)
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)  # a root may write anywhere
    try:
        with pytest.raises(PermissionError):
            (folder / "trial").touch()
        yield path
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)
        shutil.rmtree(folder)


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX permissions")
def test_it_can_be_looked_at_in_a_folder_that_cannot_be_written() -> None:
    reviewed(GRANITE)  # so that all modules are loaded, wherever they are
    whole = GRANITE.read_bytes()
    with read_only_copy() as path:
        with closing(SqliteRecording(path)) as recording:
            assert compare(recording, parse_well(recording.meta()["well_file"], "replay")) == []
        assert len(reviewed(path)["alarms"]) == 1
        assert [p.name for p in path.parent.iterdir()] == ["granite.kdrec"]
        assert path.read_bytes() == whole


def test_making_it_twice_gives_the_same_bytes_and_the_same_story(tmp_path: Path) -> None:
    make = runpy.run_path(str(GRANITE.with_name("make.py")))["make"]
    first, second = tmp_path / "a.kdrec", tmp_path / "b.kdrec"
    make(first)
    second.write_bytes(b"in the way")
    make(second)
    assert first.read_bytes() == second.read_bytes()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.kdrec", "b.kdrec"]
    fresh, kept = reviewed(first), reviewed(GRANITE)
    for part in ("connections", "alarms", "gaps"):
        assert json.dumps(fresh[part]) == json.dumps(kept[part])
