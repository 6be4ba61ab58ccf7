"""A card entered from the command line on a watch that is a process of its own (R-67)."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from adapters.sqlite_reader import SqliteRecording
from adapters.watch_process import start_watch
from engine.commands import StopWatch
from tests.commands import done, kellydown


def test_a_card_of_the_synthetic_well_is_kept_and_goes_stale(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    arguments = ["--scenario", "quiet", "--seed", "3", "--history-s", "60"]
    watch = start_watch(path, arguments)
    try:
        done("card", "slow-rate", path, "pump=1", "rate=30spm", "pressure=310psi",
             "density=1.05sg", "--by", "Ines")  # fmt: skip
        text = done("cards", path).out
        assert "pump 1, 30 spm       2137 kPa" in text
        assert "Slow rates   (exact)" in text
        heavier = kellydown("card", "slow-rate", path, "pump=2", "rate=30spm", "pressure=320psi",
                            "density=1.25sg", "--by", "Ola")  # fmt: skip
        assert heavier.code == 1
        assert "STALE  Slow rates   (exact)" in heavier.out
    finally:
        with closing(SqliteRecording(str(path))) as recording:
            recording.post(StopWatch(), "test", "test")
        watch.stop_hard()
    assert "worked out again, identical" in done("replay", path, "--check").out
