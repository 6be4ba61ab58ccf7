"""A watch that is killed loses at most what was not committed, and never the file."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording, resume_recording
from engine.commands import Acknowledge
from engine.errors import RecordingError
from engine.records.journal import broken_at
from tests.helpers import eventually, full_table

ROOT = Path(__file__).parents[2]
WATCH = """
import sys, time
import numpy as np
from adapters.sqlite_store import create_recording
from engine.events import Tick
from engine.records.journal import Entry, Journal
from tests.helpers import T0, full_table

recorder, journal = create_recording(sys.argv[1], {"well": "Emberholt 4"}), Journal()
table = full_table(T0 + np.arange(100_000))
for i in range(100_000):
    recorder.inputs([Tick(T0 + i)])
    recorder.rows({c: b.slice(i, i + 1) for c, b in table.items()})
    if i % 20 == 19:
        recorder.journal(journal.write([Entry(T0 + i, "event", "x", "advice")]))
        while recorder.backlog():
            time.sleep(0.001)
        print(i + 1, flush=True)
"""
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


@contextmanager
def process(code: str, path: Path) -> Iterator[subprocess.Popen[str]]:
    child = subprocess.Popen(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    try:
        yield child
    finally:
        child.kill()
        child.wait()
        assert child.stdout is not None
        child.stdout.close()


@pytest.mark.parametrize("lines", [1, 4, 9, 17, 30])
def test_a_killed_watch_leaves_a_whole_recording(tmp_path: Path, lines: int) -> None:
    """R-46: at most 2 s are lost, and never the file; here all that was committed is there."""
    path = tmp_path / "killed.kdrec"
    committed = 0
    with process(WATCH, path) as watch:
        assert watch.stdout is not None
        for _ in range(lines):
            committed = int(watch.stdout.readline())
        with pytest.raises(RecordingError, match="another watch"):
            resume_recording(path)
        watch.kill()  # SIGKILL: nothing in the process can tidy up
        watch.wait()
    with closing(SqliteRecording(path)) as found:
        table = found.rows()
        n = len(table["rop"])
        inputs = len(list(found.inputs()))
        journal = found.journal()
        assert inputs >= n >= committed
        assert inputs - n <= 1
        assert len(journal) >= committed // 20
        assert broken_at(journal) is None
        whole = full_table(table["rop"].t[0] + np.arange(100_000))
        assert all(
            np.array_equal(table[c].value, whole[c].value[:n], equal_nan=True) for c in table
        )
    with closing(resume_recording(path)) as again:  # the lock went with the process
        again.rows(full_table(table["rop"].t[-1:] + 1))
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert raw.execute("SELECT count(*) FROM rows").fetchone() == (n + 1,)


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be stopped there")
def test_a_watch_that_hangs_still_holds_its_recording(tmp_path: Path) -> None:
    path = tmp_path / "hanging.kdrec"
    with process(WATCH, path) as watch:
        assert watch.stdout is not None
        watch.stdout.readline()
        os.kill(watch.pid, signal.SIGSTOP)
        with pytest.raises(RecordingError, match="another watch"):
            resume_recording(path)


def test_a_command_reaches_the_watch_within_a_fifth_of_a_second(tmp_path: Path) -> None:
    """Two processes; the watch looks every 0.1 s."""
    path = tmp_path / "posted.kdrec"
    with process(TAKER, path) as watch:
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

        with process(code, path) as one, process(code, path) as two:
            eventually(take, 20.0)
            assert (one.wait(10), two.wait(10)) == (0, 0)
    assert sorted(got) == sorted(2 * [str(i) for i in range(40)])
