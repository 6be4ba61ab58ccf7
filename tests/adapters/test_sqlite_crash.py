"""A watch that is killed loses at most what was not committed, and never the file."""

from __future__ import annotations

import os
import signal
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import resume_recording
from engine.errors import RecordingError
from engine.records.journal import broken_at
from tests.helpers import child, full_table

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


@pytest.mark.parametrize("lines", [1, 4, 9, 17, 30])
def test_a_killed_watch_leaves_a_whole_recording(tmp_path: Path, lines: int) -> None:
    """R-46: at most 2 s are lost, and never the file; here all that was committed is there."""
    path = tmp_path / "killed.kdrec"
    committed = 0
    with child(WATCH, path) as watch:
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
    with child(WATCH, path) as watch:
        assert watch.stdout is not None
        watch.stdout.readline()
        os.kill(watch.pid, signal.SIGSTOP)
        with pytest.raises(RecordingError, match="another watch"):
            resume_recording(path)
