"""The recording that comes with the program."""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

from adapters.config_file import parse_well
from adapters.sqlite_reader import SqliteRecording
from engine.records.recompute import compare
from engine.records.review import review

GRANITE = Path(__file__).parents[2] / "replays" / "granite.kdrec"


def test_the_replay_holds_one_connection_and_is_worked_out_again_identically(
    tmp_path: Path,
) -> None:
    """R-53 on the recording that comes with the program."""
    path = tmp_path / "granite.kdrec"
    shutil.copy(GRANITE, path)
    with closing(SqliteRecording(path)) as recording:
        found = review(recording)
        differences = compare(recording, parse_well(recording.meta()["well_file"], "replay"))
    assert len(found["connections"]) == 1
    assert found["span"]["frames"] > 1700
    assert differences == []
