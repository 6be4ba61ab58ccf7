"""The watch as a process of its own: it starts, fails loudly, outlives, and is told from others."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from adapters import watch_process
from adapters.config_file import example_text
from adapters.sqlite_reader import SqliteRecording
from adapters.watch_process import WatchProcess, start_watch
from engine.commands import StopWatch
from engine.errors import FeedError
from engine.interfaces import Status

DEAF = "import signal, sys; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(flush=True);"


@pytest.fixture
def well(tmp_path: Path) -> Path:
    """Return the example well on a port that is not there: the watch runs and says so."""
    path = tmp_path / "well.toml"
    path.write_text(example_text().replace("/dev/ttyUSB0", "socket://127.0.0.1:1"), "utf-8")
    return path


@pytest.fixture
def started() -> Iterator[list[WatchProcess]]:
    made: list[WatchProcess] = []
    yield made
    for watch in made:
        with suppress(ProcessLookupError):
            watch.process.kill()
        watch.process.wait()


def status_of(path: Path) -> Status:
    with closing(SqliteRecording(path)) as recording:
        status = recording.status()
    assert status is not None
    return status


def test_a_watch_starts_beats_and_ends_when_told_to(
    tmp_path: Path, well: Path, started: list[WatchProcess], monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "elsewhere"
    for package in ("tui", "engine", "adapters"):  # what lies where a person happens to be
        (elsewhere / package).mkdir(parents=True)
        (elsewhere / package / "__init__.py").write_text("raise SystemExit('wrong one')")
    monkeypatch.chdir(elsewhere)
    path = tmp_path / "new folder" / "tour.kdrec"
    watch = start_watch(path, ["--well", str(well)])
    started.append(watch)
    status = status_of(path)
    assert status.running
    if sys.platform != "win32":
        assert status.pid == watch.process.pid
        assert os.getsid(watch.process.pid) == watch.process.pid  # outlives the terminal
    assert watch.log == path.with_name("tour.kdrec.log")
    with closing(SqliteRecording(path)) as recording:
        recording.post(StopWatch(), "Ines", "doghouse")
    watch.stop_hard()
    assert watch.process.returncode == 0
    assert not status_of(path).running
    said = watch.log.read_text(encoding="utf-8")
    assert f"recording to {path}" in said
    assert "watch of Emberholt 4 start" in said
    assert "feed rig down" in said


def test_a_watch_that_cannot_start_says_why(tmp_path: Path) -> None:
    well = tmp_path / "bad.toml"
    well.write_text(example_text().replace("lines = 10", "lines = 11"), encoding="utf-8")
    with pytest.raises(FeedError, match=r"(?s)the watch did not start:.*rig\.lines: .*11") as said:
        start_watch(tmp_path / "tour.kdrec", ["--well", str(well)])
    assert "Traceback" not in str(said.value)


def test_a_second_watch_is_refused_while_the_first_one_beats(
    tmp_path: Path, well: Path, started: list[WatchProcess]
) -> None:
    """The heartbeat of the first must not be taken for that of the second."""
    path = tmp_path / "tour.kdrec"
    started.append(start_watch(path, ["--well", str(well)]))
    with pytest.raises(FeedError, match="another watch is writing to it; stop it first"):
        start_watch(path, ["--well", str(well)])
    assert started[0].process.poll() is None


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")
def test_a_killed_watch_can_be_started_again_on_its_recording(
    tmp_path: Path, well: Path, started: list[WatchProcess]
) -> None:
    path = tmp_path / "tour.kdrec"
    first = start_watch(path, ["--well", str(well)])
    first.process.kill()
    first.process.wait()
    second = start_watch(path, ["--well", str(well)])
    started.append(second)
    assert status_of(path).pid == second.process.pid
    second.process.terminate()
    second.stop_hard()
    assert second.process.returncode == 0


def test_a_watch_that_gives_no_sign_of_life_is_ended(
    tmp_path: Path, well: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended: list[int | None] = []
    real = WatchProcess.stop_hard

    def stop_hard(self: WatchProcess) -> None:
        real(self)
        ended.append(self.process.returncode)

    monkeypatch.setattr(WatchProcess, "stop_hard", stop_hard)
    with pytest.raises(FeedError, match=r"gave no sign of life within 0\.05 s"):
        start_watch(tmp_path / "tour.kdrec", ["--well", str(well)], ready_s=0.05)
    assert len(ended) == 1
    assert ended[0] is not None


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")
def test_a_watch_that_obeys_nothing_is_killed(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", DEAF + "import time; time.sleep(60)"], stdout=subprocess.PIPE
    )
    assert process.stdout is not None
    process.stdout.readline()
    WatchProcess(tmp_path, tmp_path, process).stop_hard(patience=0.1)
    process.stdout.close()
    assert process.returncode == -9


def test_a_heartbeat_counts_only_if_it_is_new_and_of_that_process() -> None:
    old, new = Status(1.0, 1.0, pid=7), Status(2.0, 2.0, pid=8)
    assert watch_process._is_of(8, new, None)
    assert watch_process._is_of(8, new, old)
    if sys.platform != "win32":
        assert not watch_process._is_of(8, old, None)
        assert not watch_process._is_of(7, old, old)  # left by a dead watch of the same number
        assert not watch_process._is_of(9, new, old)
