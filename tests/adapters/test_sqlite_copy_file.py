"""The file of the second copy: gone on with, refused, killed in the middle (R-47)."""

from __future__ import annotations

import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from adapters import sqlite_copy
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording, resume_recording
from engine.commands import Note
from engine.commands_copy import SecondCopy
from engine.errors import RecordingError
from tests.copies import META, TABLE, Feed, count, digest, wait_told
from tests.helpers import child


def test_a_watch_that_starts_again_goes_on_in_the_copy_that_is_there(
    feed: Feed, first: Path, place: Path
) -> None:
    feed.give(30)
    feed.recorder.close()
    before = place.stat().st_ino
    with closing(resume_recording(first)) as again:
        alone = Feed(again, 30)
        alone.journal = feed.journal
        alone.give(100)  # without a copy for a while
    with closing(resume_recording(first)) as again:
        again.copy_to(place)
        alone.recorder = again
        alone.give(5)
    assert place.stat().st_ino == before
    assert count(place) == 135
    assert digest(place) == digest(first)


def test_a_copy_goes_on_as_a_recording_of_its_own_and_is_no_copy_of_the_old_one_then(
    feed: Feed, first: Path, place: Path
) -> None:
    """The first disk has died: the second stands by itself, and the old first is refused."""
    feed.give(30)
    feed.recorder.close()
    own = digest(first)
    with closing(resume_recording(place)) as again:
        alone = Feed(again, 30)
        alone.journal = feed.journal
        alone.give(3)
    with closing(SqliteRecording(place)) as found:
        assert "copy_of" not in found.meta()
        found.post(Note("taken again"), "Ines", "doghouse")
    with closing(SqliteRecording(first)) as found:
        assert len(found.journal()) == 30
    mine = digest(place)
    recorder = resume_recording(first)
    recorder.copy_to(place)
    assert wait_told(recorder).problem == (
        f"it holds more than {first}; nothing is written to it. Go on with it (record --out), "
        "or move it away and a new one is made"
    )
    with pytest.raises(RecordingError, match="second copy is not complete, it holds nothing"):
        recorder.close()
    assert digest(place) == mine, "what only it holds is left as it is"
    assert digest(first) == own


def test_a_copy_that_went_another_way_is_left_as_it_is(
    feed: Feed, first: Path, place: Path
) -> None:
    feed.give(30)
    feed.recorder.close()
    with closing(sqlite3.connect(place)) as base:
        base.execute("UPDATE journal SET text = replace(text, 'advice', 'warning') WHERE seq = 30")
        base.commit()
    other = place.read_bytes()
    recorder = resume_recording(first)
    recorder.copy_to(place)
    assert "it went another way" in wait_told(recorder).problem
    with pytest.raises(RecordingError):
        recorder.close()
    assert place.read_bytes() == other


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda p: p.write_text("precious notes of the night tour" * 20), "is not a recording"),
        (lambda p: create_recording(p, META | {"well": "Odd"}).close(), "of another recording"),
    ],
)
def test_what_is_no_copy_of_this_recording_is_never_written_over(
    make: object, words: str, first: Path, place: Path
) -> None:
    make(place)  # type: ignore[operator]
    before = place.read_bytes()
    recorder = create_recording(first, META)
    recorder.copy_to(place)
    assert words in wait_told(recorder).problem
    with pytest.raises(RecordingError, match="not complete"):
        recorder.close()
    assert place.read_bytes() == before


def test_a_copy_another_watch_writes_is_not_written_to(first: Path, place: Path) -> None:
    theirs = create_recording(place, META)
    with closing(create_recording(first, META)) as mine:
        mine.copy_to(place)
        assert "another watch is writing to it" in wait_told(mine).problem
        theirs.close()
        assert wait_told(mine).problem == ""


def test_a_copy_whose_making_was_cut_short_is_made_anew(first: Path, place: Path) -> None:
    place.touch()
    with closing(create_recording(first, META)) as recorder:
        recorder.copy_to(place)
        assert wait_told(recorder) == SecondCopy(str(place))
    assert digest(place) == digest(first)


def test_a_folder_left_by_its_disk_is_not_taken_for_it(
    feed: Feed, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The empty folder a stick was mounted on is on the first disk: no copy to the same disk."""
    feed.recorder.close()
    monkeypatch.setattr(sqlite_copy, "same_disk", lambda one, other: not place.exists())
    with closing(resume_recording(Path(feed.recorder.path))) as recorder:
        recorder.copy_to(place)
        assert wait_told(recorder).problem == ""
        place.rename(place.with_name("on the stick"))
        assert "its disk is gone, the folder is now on the first" in wait_told(recorder).problem
        assert not place.exists()
        place.with_name("on the stick").rename(place)
        assert wait_told(recorder).problem == ""


def test_a_command_left_in_the_copy_is_refused(feed: Feed, first: Path, place: Path) -> None:
    assert wait_told(feed.recorder).problem == ""
    with (
        closing(SqliteRecording(place)) as copy,
        pytest.raises(RecordingError, match=f"second copy of {first}; the watch takes commands"),
    ):
        copy.post(Note("who hears me"), "Ines", "doghouse")
    with closing(sqlite3.connect(place)) as base:
        assert base.execute("SELECT count(*) FROM commands").fetchone() == (0,)


WATCH = """
import sys, time
from pathlib import Path
from adapters import sqlite_copy
from adapters.sqlite_store import create_recording
from tests.copies import META, Feed

sqlite_copy.EVERY_S = 0.0
recorder = create_recording(sys.argv[1], META)
recorder.copy_to(Path(sys.argv[1]).parent / "stick" / "tour.kdrec")
feed = Feed(recorder)
for _ in range(1000):
    feed.give(5)
    time.sleep(0.005)
    print(feed.n, flush=True)
"""


@pytest.mark.parametrize("lines", [5, 12, 23, 41, 60])
def test_a_kill_in_the_middle_leaves_two_whole_files(first: Path, place: Path, lines: int) -> None:
    with child(WATCH, first) as watch:
        assert watch.stdout is not None
        for _ in range(lines):
            watch.stdout.readline()
        watch.kill()
        watch.wait()
    n = 0
    if count(place) >= 0:
        with closing(SqliteRecording(place)) as copy, closing(SqliteRecording(first)) as found:
            mine, whole = copy.journal(), found.journal()
            n = len(mine)
            assert mine == whole[:n], "never ahead of the first, and the same"
            assert list(copy.inputs()) == list(found.inputs())[: len(list(copy.inputs()))]
    recorder = resume_recording(first)
    recorder.copy_to(place)
    assert wait_told(recorder).problem == ""
    recorder.close()
    assert digest(place) == digest(first)
    with closing(sqlite3.connect(place)) as base:
        assert base.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert base.execute("SELECT count(*) FROM journal").fetchone()[0] >= n


@pytest.mark.skipif(sys.platform == "win32", reason="no such kill")
def test_a_copy_that_was_cut_off_in_a_commit_is_read_all_the_same(feed: Feed, place: Path) -> None:
    """A kill leaves the journal of the commit beside the file; SQLite alone refuses to read it."""
    feed.give(30)
    feed.recorder.close()
    code = """
import os, sqlite3, sys
base = sqlite3.connect(sys.argv[1], isolation_level=None)
base.execute("PRAGMA cache_size = 10")
base.execute("BEGIN")
base.execute("UPDATE rows SET hook_load = 0, quality = zeroblob(100000)")
os.kill(os.getpid(), 9)
"""
    with child(code, place) as killed:
        killed.wait()
    assert place.with_name(place.name + "-journal").exists()
    assert count(place) == -1
    with closing(SqliteRecording(place)) as copy:
        found = copy.rows()["hook_load"]
        assert np.array_equal(found.value, TABLE["hook_load"].value[:30], equal_nan=True)
