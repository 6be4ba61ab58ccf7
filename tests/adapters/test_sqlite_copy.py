"""The second copy: the same in everything, whatever happens to either place (R-47)."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from adapters import sqlite_copy, sqlite_schema
from adapters.sqlite_reader import SqliteRecording
from engine.commands import Note
from engine.commands_copy import SecondCopy
from engine.errors import RecordingError
from engine.interfaces import Status
from engine.records.journal import broken_at
from tests.copies import AT_ONCE, Feed, count, digest, told, wait_told
from tests.helpers import T0, eventually


def test_the_copy_is_the_recording_in_everything(feed: Feed, first: Path, place: Path) -> None:
    assert wait_told(feed.recorder) == SecondCopy(str(place))
    for part in range(5):
        feed.give(40)
        with closing(SqliteRecording(first)) as found:
            found.post(Note(f"part {part}"), "Ines", "doghouse")
        eventually(lambda: any(isinstance(p.command, Note) for p in feed.recorder.posted()), 2.0)
        time.sleep(0.1)
    feed.recorder.status(Status(T0, T0 + 200, running=False))
    feed.recorder.close()
    assert count(place) == 200
    assert digest(place) == digest(first)
    with closing(SqliteRecording(place)) as copy:
        assert broken_at(copy.journal()) is None
        assert len(list(copy.wire())) == len(list(copy.inputs())) == 200
    with closing(sqlite3.connect(place)) as base:
        assert base.execute("SELECT value FROM meta WHERE key = 'copy_of'").fetchone() == (
            str(first),
        )
        assert base.execute("SELECT count(*), min(taken) FROM commands").fetchone() == (5, 1)
        base.execute("UPDATE journal SET text = 'x' || text WHERE seq = 7")
        base.commit()
    assert digest(place) != digest(first), "the digest sees a change"
    assert not [p for p in (*first.parent.iterdir(), *place.parent.iterdir())
                if p.name.endswith(("-wal", "-shm", "-journal"))]  # fmt: skip


def test_at_every_moment_the_copy_is_what_the_recording_once_was(feed: Feed, place: Path) -> None:
    """No journal line without its input, no row without its input, and none left out."""
    seen = set()
    for _ in range(60):
        feed.give(25)
        time.sleep(0.01)
        if count(place) < 0:
            continue
        with closing(sqlite3.connect(place)) as base:
            wire, inputs, rows, journal = base.execute(
                "SELECT (SELECT count(*) FROM wire), (SELECT count(*) FROM inputs),"
                " (SELECT count(*) FROM rows), (SELECT count(*) FROM journal)"
            ).fetchone()
        assert wire >= inputs >= rows >= journal >= wire - 1
        seen.add(journal)
    assert len(seen) > 3


def test_a_place_that_goes_away_is_told_at_once_and_caught_up_with(
    feed: Feed, first: Path, place: Path
) -> None:
    feed.give(100)
    assert wait_told(feed.recorder) == SecondCopy(str(place))
    eventually(lambda: count(place) == 100, AT_ONCE)
    gone = place.parent.with_name("pulled")
    place.parent.rename(gone)  # an open file goes with its folder, as a stick with its mount
    said = wait_told(feed.recorder)
    assert said.problem == "its folder is not there; plug the disk in"
    assert said.complete_to == T0 + 99
    feed.give(2000)
    eventually(lambda: count(first) == 2100, AT_ONCE)
    assert feed.recorder.problem() == ""
    assert told(feed.recorder) is None, "once is enough"
    assert count(gone / place.name) == 100
    gone.rename(place.parent)
    assert wait_told(feed.recorder) == SecondCopy(str(place))
    assert count(place) == 2100
    feed.give(10)
    feed.recorder.close()
    assert digest(place) == digest(first)


def test_a_fresh_disk_in_its_place_gets_everything(feed: Feed, first: Path, place: Path) -> None:
    feed.give(50)
    eventually(lambda: count(place) == 50, AT_ONCE)
    place.unlink()  # without that the open file would go on growing, seen by nobody
    feed.give(50)
    eventually(lambda: count(place) == 100, AT_ONCE)
    feed.recorder.close()
    assert digest(place) == digest(first)


def test_a_full_second_disk_leaves_the_first_alone_and_is_made_up_for(
    feed: Feed, first: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite reports SQLITE_FULL at its page limit as it does on a full disk."""
    feed.give(20)
    assert wait_told(feed.recorder).problem == ""
    eventually(lambda: count(place) == 20, AT_ONCE)
    tune, limit = sqlite_schema.tune, [60]

    def tight(connection: sqlite3.Connection, mode: str = "wal") -> None:
        tune(connection, mode)
        connection.execute(f"PRAGMA max_page_count = {limit[0]}")

    monkeypatch.setattr(sqlite_schema, "tune", tight)
    aside = place.with_name("aside")
    place.rename(aside)  # it is opened anew
    feed.give(500)
    said = wait_told(feed.recorder)
    assert said.problem == "the disk is full; free some space and it is made up for"
    eventually(lambda: count(first) == 520, AT_ONCE)
    assert feed.recorder.problem() == ""
    assert feed.recorder.backlog() == 0
    with closing(SqliteRecording(place)) as copy, closing(SqliteRecording(first)) as whole:
        assert len(copy.journal()) < 520
        assert copy.journal() == whole.journal()[: len(copy.journal())]
    limit[0] = 2**30
    assert wait_told(feed.recorder) == SecondCopy(str(place))
    feed.recorder.close()
    assert digest(place) == digest(first)


def test_a_place_that_hangs_delays_nothing(
    feed: Feed, first: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another process holds the copy and never lets go: each step waits for it in vain."""
    monkeypatch.setattr(sqlite_copy, "SLOW_S", 0.3)
    assert wait_told(feed.recorder).problem == ""
    with closing(sqlite3.connect(place, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        took, heard = [], []
        for _ in range(60):
            began = time.perf_counter()
            feed.give(1)
            heard.append(told(feed.recorder))  # as a watch asks all the time
            took.append(time.perf_counter() - began)
            time.sleep(0.01)
        said = next((one for one in heard if one), None) or wait_told(feed.recorder)
        assert said.problem in (sqlite_copy.SLOW, "cannot be written: database is locked")
        eventually(lambda: count(first) == 60, AT_ONCE)
        assert sorted(took)[30] < 0.02
        assert max(took) < 0.5
        assert feed.recorder.problem() == ""
        other.execute("ROLLBACK")
    eventually(lambda: count(place) == 60, 2 * sqlite_schema.BUSY_S)


def test_what_a_full_first_disk_cannot_take_goes_to_the_copy(
    feed: Feed, first: Path, place: Path
) -> None:
    feed.give(20)
    eventually(lambda: count(first) == 20, AT_ONCE)
    writer = feed.recorder._writer
    full = writer._connection.execute("PRAGMA page_count").fetchone()[0] + 4
    writer._connection.execute(f"PRAGMA max_page_count = {full}")
    feed.give(1000)
    eventually(lambda: "disk is full" in feed.recorder.problem(), AT_ONCE)
    eventually(lambda: count(place) == 1020, AT_ONCE)
    feed.give(7)
    eventually(lambda: count(place) == 1027, AT_ONCE)
    assert count(first) < 100
    with pytest.raises(RecordingError, match=r"could not be written.*stick.* holds them all"):
        feed.recorder.close()
    with closing(SqliteRecording(place)) as copy:
        assert [i for i, line in enumerate(copy.journal(), 1) if line.seq != i] == []
        assert broken_at(copy.journal()) is None
        assert [e.at for e in copy.wire()] == [T0 + i for i in range(1027)]


def test_a_first_disk_that_comes_back_and_the_copy_agree(
    feed: Feed, first: Path, place: Path
) -> None:
    feed.give(20)
    eventually(lambda: count(first) == 20, AT_ONCE)
    limit = feed.recorder._writer._connection.execute
    limit(f"PRAGMA max_page_count = {limit('PRAGMA page_count').fetchone()[0] + 4}")
    feed.give(300)
    eventually(lambda: count(place) == 320, AT_ONCE)
    limit("PRAGMA max_page_count = 1073741823")
    eventually(lambda: count(first) == 320, AT_ONCE)
    feed.give(30)
    feed.recorder.close()
    assert count(place) == 350
    assert digest(place) == digest(first)
