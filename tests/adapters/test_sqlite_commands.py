"""Commands from screens reach the watch: once, in order, soon, readable or told."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import SqliteRecorder, create_recording, resume_recording
from engine.commands import Acknowledge, Note, StopWatch, ZeroPits
from tests.helpers import child, eventually

TAKER = """
import sys, time
from adapters.sqlite_store import create_recording
recorder = create_recording(sys.argv[1], {})
print("ready", flush=True)
end = time.monotonic() + 20
taken = 0
while taken < 10 and time.monotonic() < end:
    for posted in recorder.posted():
        print(posted.id, posted.command.alarm, time.time(), flush=True)
        taken += 1
    time.sleep(0.1)
recorder.close()
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "emberholt-4.kdrec"


@pytest.fixture
def recorder(path: Path) -> Iterator[SqliteRecorder]:
    with closing(create_recording(path, {"well": "Emberholt 4"})) as made:
        yield made


def test_commands_are_handed_out_once_and_in_order(path: Path, recorder: SqliteRecorder) -> None:
    with closing(SqliteRecording(path)) as screen:
        first = screen.post(Acknowledge("kick"), "Ines", "doghouse")
        second = screen.post(Note("a"), "Ines", "doghouse")
        got = recorder.posted()
        assert [(p.id, p.command, p.who, p.station) for p in got] == [
            (first, Acknowledge("kick"), "Ines", "doghouse"),
            (second, Note("a"), "Ines", "doghouse"),
        ]
        assert recorder.posted() == []
        screen.post(StopWatch(), "Ines", "doghouse")
        assert [p.command for p in recorder.posted()] == [StopWatch()]
    recorder.close()
    with closing(resume_recording(path)) as again:
        assert again.posted() == []  # marked in the file, so not even after a restart


def test_a_command_that_cannot_be_read_is_told_and_does_not_stop_others(
    path: Path, recorder: SqliteRecorder
) -> None:
    with closing(SqliteRecording(path)) as screen, closing(sqlite3.connect(path)) as raw:
        raw.execute(
            "INSERT INTO commands (posted_at, who, station, body) VALUES (1, 'a', 'b', ?)",
            ('{"v":1,"kind":"sing"}',),
        )
        raw.commit()
        assert recorder.posted() == []
        assert "command 1: kind 'sing' is unknown" in recorder.problem()
        screen.post(ZeroPits("after transfer"), "Ines", "doghouse")
        assert [p.command for p in recorder.posted()] == [ZeroPits("after transfer")]
        assert recorder.problem() == ""
    recorder.close()
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT taken FROM commands ORDER BY id").fetchall() == [(-1,), (1,)]


def test_looking_for_commands_never_waits_for_a_writer(
    path: Path, recorder: SqliteRecorder
) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        took = eventually(lambda: recorder.posted() == [], 1.0)
        other.execute("ROLLBACK")
    assert took < 0.1


def test_a_command_reaches_the_watch_within_a_fifth_of_a_second(tmp_path: Path) -> None:
    """Two processes; the watch looks every 0.1 s."""
    path = tmp_path / "posted.kdrec"
    with child(TAKER, path) as watch:
        assert watch.stdout is not None
        assert watch.stdout.readline() == "ready\n"
        took = []
        with closing(SqliteRecording(path)) as screen:
            for i in range(10):
                before = time.time()
                number = screen.post(Acknowledge(f"alarm_{i}"), "Ines", "doghouse")
                got, alarm, at = watch.stdout.readline().split()
                assert (int(got), alarm) == (number, f"alarm_{i}")
                took.append(float(at) - before)
        assert sorted(took)[5] < 0.2
        assert watch.wait(10) == 0
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT count(*) FROM commands WHERE taken = 1").fetchone() == (10,)


def test_two_screens_and_a_watch_lose_no_command(tmp_path: Path) -> None:
    path = tmp_path / "many.kdrec"
    with closing(create_recording(path, {})) as recorder:
        code = (
            "import sys\nfrom adapters.sqlite_reader import SqliteRecording\n"
            "from engine.commands import Note\nr = SqliteRecording(sys.argv[1])\n"
            "[r.post(Note(str(i)), 'a', 'b') for i in range(40)]\n"
        )
        got: list[str] = []

        def take() -> bool:
            got.extend(p.command.text for p in recorder.posted())  # type: ignore[union-attr]
            return len(got) >= 80

        with child(code, path) as one, child(code, path) as two:
            eventually(take, 20.0)
            assert (one.wait(10), two.wait(10)) == (0, 0)
    assert sorted(got) == sorted(2 * [str(i) for i in range(40)])
