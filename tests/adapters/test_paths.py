"""Where recordings are kept and what they are called."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from adapters.paths import data_folder, new_recording, newest_recording, recording_name
from engine.errors import InputError

BEGAN = datetime(2026, 3, 14, 6, tzinfo=UTC).timestamp()
HOME = Path("/home/ines")


@pytest.mark.parametrize(
    ("environ", "platform", "folder"),
    [
        ({}, "linux", HOME / ".local/share/kellydown"),
        ({"XDG_DATA_HOME": "/data"}, "linux", Path("/data/kellydown")),
        ({"XDG_DATA_HOME": "data"}, "linux", HOME / ".local/share/kellydown"),
        ({"XDG_DATA_HOME": ""}, "linux", HOME / ".local/share/kellydown"),
        ({}, "darwin", HOME / "Library/Application Support/kellydown"),
        ({"LOCALAPPDATA": "/c/Local"}, "win32", Path("/c/Local/kellydown")),
        ({}, "win32", HOME / "AppData/Local/kellydown"),
        ({"KELLYDOWN_DATA": "/rig"}, "linux", Path("/rig")),
        ({"KELLYDOWN_DATA": "/rig", "LOCALAPPDATA": "/c"}, "win32", Path("/rig")),
    ],
)
def test_the_folder_is_the_one_each_system_asks_for(
    environ: dict[str, str], platform: str, folder: Path
) -> None:
    """XDG Base Directory Specification 0.8: a relative path in XDG_DATA_HOME is ignored."""
    assert data_folder(environ, platform, HOME) == folder


@pytest.mark.parametrize(
    ("well", "name"),
    [
        ("Emberholt 4", "emberholt-4"),
        ("  Møre/Übung: #2 ", "mre-ubung-2"),
        ("../../etc", "etc"),
        ("深い", "well"),
        ("a" * 300, "a" * 60),
    ],
)
def test_a_name_is_safe_on_every_file_system(well: str, name: str) -> None:
    assert recording_name(well, BEGAN) == f"{name}_20260314T060000Z.kdrec"


def test_a_new_recording_never_takes_a_name_that_exists(tmp_path: Path) -> None:
    folder = tmp_path / "made" / "for it"
    first = new_recording("Emberholt 4", BEGAN, folder)
    assert first == folder / "emberholt-4_20260314T060000Z.kdrec"
    first.touch()
    second = new_recording("Emberholt 4", BEGAN, folder)
    assert second.name == "emberholt-4_20260314T060000Z-2.kdrec"
    second.touch()
    assert new_recording("Emberholt 4", BEGAN, folder).name.endswith("Z-3.kdrec")


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="set KELLYDOWN_DATA to one that can be written"):
        new_recording("Emberholt 4", BEGAN, tmp_path / "file" / "folder")


def test_the_newest_recording_is_the_one_written_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A running watch writes its log, not the file, so the log's time counts too."""
    assert newest_recording(tmp_path / "none") is None
    assert newest_recording(tmp_path) is None
    for name, at in (("a.kdrec", 100), ("b.kdrec", 200), ("c.kdrec.lock", 900), ("d.log", 900)):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (at, at))
    assert newest_recording(tmp_path) == tmp_path / "b.kdrec"
    (tmp_path / "a.kdrec-wal").touch()
    os.utime(tmp_path / "a.kdrec-wal", (300, 300))
    assert newest_recording(tmp_path) == tmp_path / "a.kdrec"
    monkeypatch.setenv("KELLYDOWN_DATA", str(tmp_path))
    assert newest_recording() == tmp_path / "a.kdrec"
