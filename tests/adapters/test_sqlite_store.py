"""What a recorder promises: order, a bound, one writer, numbers that go on, clear refusals."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from adapters import sqlite_writer
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import SqliteRecorder, create_recording, resume_recording
from engine.block import Block, Quality
from engine.errors import RecordingError
from engine.events import Tick, WireBytes
from engine.interfaces import FeedHealth, JournalLine, Status
from tests.helpers import T0, eventually, full_table, same_table

STATUS = Status(T0, T0 + 1, 2.0, True, (FeedHealth("rig", True, frames=3),), 4, "hm", 5)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "emberholt-4.kdrec"


@pytest.fixture
def recorder(path: Path) -> Iterator[SqliteRecorder]:
    with closing(create_recording(path, {"well": "Emberholt 4"})) as made:
        yield made


def times(n: int, first: float = T0) -> np.ndarray:
    return first + np.arange(n)


def limit_pages(recorder: SqliteRecorder, pages: int) -> None:
    """Make the disk full, as far as SQLite can tell: it reports SQLITE_FULL for both."""
    recorder._writer._connection.execute(f"PRAGMA max_page_count = {pages}")


def test_everything_handed_over_is_read_back(path: Path, recorder: SqliteRecorder) -> None:
    table = full_table(times(50))
    wire = [WireBytes(T0 + i, "rig", bytes([i, 0, 255])) for i in range(5)]
    for event in wire:
        recorder.wire(event)
    recorder.inputs([Tick(T0), Tick(T0 + 1)])
    recorder.inputs([Tick(T0 + 2)])
    recorder.rows(table)
    recorder.journal([JournalLine(1, T0, "first"), JournalLine(2, T0 + 1, "sécond")])
    recorder.status(STATUS)
    recorder.close()
    with closing(SqliteRecording(path)) as found:
        assert found.meta() == {"well": "Emberholt 4"}
        assert list(found.wire()) == wire
        assert list(found.inputs()) == [Tick(T0), Tick(T0 + 1), Tick(T0 + 2)]
        assert same_table(table, found.rows())
        assert found.journal(after=1) == [JournalLine(2, T0 + 1, "sécond")]
        assert found.status() == STATUS
    assert not path.with_name(path.name + "-wal").exists()


def test_a_commit_is_a_flush_to_the_disk(recorder: SqliteRecorder) -> None:
    """SQLite documentation, PRAGMA synchronous: 2 is FULL, safe against a power cut in WAL."""
    connection = recorder._writer._connection
    assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_journal_line_is_on_the_disk_within_a_fifth_of_a_second(
    path: Path, recorder: SqliteRecorder
) -> None:
    with closing(SqliteRecording(path)) as reader:
        took = []
        for seq in range(1, 8):
            recorder.inputs([Tick(T0 + seq)])
            recorder.journal([JournalLine(seq, T0 + seq, "x")])
            took.append(eventually(lambda n=seq: len(reader.journal()) == n, 2.0))  # type: ignore[misc]
            assert len(list(reader.inputs())) == seq  # what came before it is there as well
        assert sorted(took)[3] < 0.2


def test_rows_and_heartbeat_are_on_the_disk_after_about_a_second(
    path: Path, recorder: SqliteRecorder
) -> None:
    recorder.rows(full_table(times(1)))
    recorder.status(STATUS)
    with closing(SqliteRecording(path)) as reader:
        assert eventually(lambda: reader.span() is not None, 4.0) < 2.0
        assert reader.status() == STATUS
    assert recorder.backlog() == 0


def test_an_existing_file_is_never_written_over(path: Path) -> None:
    path.write_text("precious")
    with pytest.raises(RecordingError, match="exists already"):
        create_recording(path, {})
    assert path.read_text() == "precious"


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be made"):
        create_recording(tmp_path / "no" / "a.kdrec", {})


def test_numbers_go_on_when_a_recording_is_resumed(path: Path, recorder: SqliteRecorder) -> None:
    recorder.inputs([Tick(T0)])
    recorder.rows(full_table(times(3)))
    recorder.journal([JournalLine(1, T0, "one")])
    recorder.close()
    with closing(resume_recording(path)) as again:
        with pytest.raises(RecordingError, match="time must rise"):
            again.rows(full_table(times(1)))
        with pytest.raises(RecordingError, match="line 1 came, 2 must be next"):
            again.journal([JournalLine(1, T0, "other")])
        again.inputs([Tick(T0 + 3)])
        again.rows(full_table(times(2, T0 + 3)))
        again.journal([JournalLine(2, T0, "two")])
    with closing(SqliteRecording(path)) as found:
        assert found.rows()["hook_load"].t.tolist() == times(5).tolist()
        assert [line.seq for line in found.journal()] == [1, 2]
        assert [event.at for event in found.inputs()] == [T0, T0 + 3]


def test_a_second_watch_is_refused_until_the_first_has_ended(
    path: Path, recorder: SqliteRecorder
) -> None:
    with pytest.raises(RecordingError, match="another watch is writing to it"):
        resume_recording(path)
    recorder.inputs([Tick(T0)])  # and the first one is not disturbed
    recorder.close()
    resume_recording(path).close()


@pytest.mark.parametrize(
    ("t", "complaint"),
    [
        ([T0, T0], "time must rise, got 1780000000.0 s after 1780000000.0 s"),
        ([T0 + 1, T0], "time must rise"),
        ([T0 + 3e-7], "is not a whole microsecond"),
        ([np.nan], "is not a whole microsecond"),
        ([np.inf], "is not a whole microsecond"),
    ],
)
def test_times_that_cannot_be_kept_exactly_are_refused(
    recorder: SqliteRecorder, t: list[float], complaint: str
) -> None:
    with pytest.raises(RecordingError, match=complaint):
        recorder.rows(full_table(np.array(t)))
    recorder.rows(full_table(times(1, T0 - 1)))  # nothing of it was taken


def test_wrong_channels_are_refused_and_lacking_ones_are_unknown(
    path: Path, recorder: SqliteRecorder
) -> None:
    t = times(2)
    good = Block(t, np.array([1.0, 2.0]), np.zeros(2, np.uint16))
    with pytest.raises(RecordingError, match="no such channel: hookload"):
        recorder.rows({"hookload": good})
    recorder.rows({"hook_load": good})
    with pytest.raises(RecordingError, match="missing or new: rop"):
        recorder.rows({"hook_load": good, "rop": good})
    other = Block(t + 1, good.value, good.quality)
    with pytest.raises(RecordingError, match="missing or new"):
        recorder.rows({"rop": other})
    recorder.close()
    with closing(SqliteRecording(path)) as found:
        rop = found.rows()["rop"]
        assert np.isnan(rop.value).all()
        assert rop.quality.tolist() == [Quality.NO_DATA] * 2


def test_channels_of_one_call_must_share_their_times(recorder: SqliteRecorder) -> None:
    table = full_table(times(3)) | {"rop": full_table(times(3, T0 + 1))["rop"]}
    with pytest.raises(RecordingError, match="must share their times"):
        recorder.rows(table)


def test_a_full_disk_is_told_and_loses_nothing(path: Path, recorder: SqliteRecorder) -> None:
    """A reader still reads, the heartbeat still tells, and all is kept once there is space."""
    recorder.status(STATUS)
    recorder.rows(full_table(times(10)))
    eventually(lambda: recorder.backlog() == 0, 4.0)
    limit_pages(recorder, 1)  # SQLite takes the present size: no page more
    recorder.rows(full_table(times(500, T0 + 10), seed=1))
    recorder.journal([JournalLine(1, T0, "x" * 5000)])
    eventually(lambda: recorder.problem() != "", 4.0)
    assert recorder.problem() == "the disk is full; free some space and writing goes on"
    assert recorder.backlog() == 501
    recorder.status(Status(T0 + 9, T0 + 9, problem=recorder.problem()))
    with closing(SqliteRecording(path)) as reader:
        eventually(lambda: "full" in getattr(reader.status(), "problem", ""), 4.0)
        assert reader.span() == (T0, T0 + 9)
        assert reader.journal() == []
        limit_pages(recorder, 10**6)
        eventually(lambda: recorder.backlog() == 0, 4.0)
        assert recorder.problem() == ""
        assert reader.span() == (T0, T0 + 509)
        assert len(reader.journal()) == 1


def test_what_fails_half_way_leaves_nothing_and_is_tried_again(
    path: Path, recorder: SqliteRecorder
) -> None:
    with closing(SqliteRecording(path)) as reader, closing(sqlite3.connect(path)) as other:
        other.execute("INSERT INTO inputs VALUES (2, 0, 'tick', 'in the way')")
        other.commit()
        recorder.inputs([Tick(T0), Tick(T0 + 1)])
        recorder.journal([JournalLine(1, T0, "x")])
        eventually(lambda: "UNIQUE" in recorder.problem(), 4.0)
        assert other.execute("SELECT count(*) FROM inputs").fetchone() == (1,)
        other.execute("DELETE FROM inputs")
        other.commit()
        eventually(lambda: recorder.backlog() == 0, 4.0)
        assert list(reader.inputs()) == [Tick(T0), Tick(T0 + 1)]


def test_a_full_queue_raises_at_once_and_from_then_on(path: Path) -> None:
    recorder = create_recording(path, {}, bound=600)
    limit_pages(recorder, 1)
    recorder.rows(full_table(times(500)))
    recorder.journal([JournalLine(1, T0, "x")])
    eventually(lambda: recorder.problem() != "", 4.0)
    with pytest.raises(RecordingError, match="501 items wait for the disk: the disk is full"):
        recorder.inputs([Tick(T0 + i) for i in range(200)])
    for call in (lambda: recorder.inputs([Tick(T0)]), recorder.posted):
        with pytest.raises(RecordingError, match="items wait for the disk"):
            call()
    with pytest.raises(RecordingError, match="501 items could not be written: the disk is full"):
        recorder.close()
    with closing(SqliteRecording(path)) as found:
        assert found.span() is None  # whole, and without a part of anything


def test_an_import_waits_for_the_disk_and_does_not_raise(path: Path) -> None:
    with closing(create_recording(path, {}, bound=100)) as recorder:
        for start in range(0, 1000, 90):
            recorder.rows(full_table(times(90, T0 + start)))
    with closing(SqliteRecording(path)) as found:
        assert len(found.rows(channels=["rop"])["rop"]) == 1080


def test_more_than_one_transaction_is_written_at_close(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite_writer, "BATCH", 7)
    with closing(create_recording(path, {})) as recorder:
        for i in range(100):
            recorder.inputs([Tick(T0 + 2 * i), Tick(T0 + 2 * i + 1)])
    with closing(SqliteRecording(path)) as found:
        assert [e.at for e in found.inputs()] == times(200).tolist()


def test_a_closed_recorder_says_so_and_its_thread_is_gone(recorder: SqliteRecorder) -> None:
    recorder.close()
    recorder.close()
    assert not any(thread.name == "recorder" for thread in threading.enumerate())
    with pytest.raises(RecordingError, match="the recorder is closed"):
        recorder.inputs([Tick(T0)])
