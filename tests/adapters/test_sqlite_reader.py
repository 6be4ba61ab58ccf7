"""Reading a recording: exact, by window and channel, while it is written, clear when it cannot."""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from adapters import sqlite_reader, sqlite_schema
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording, resume_recording
from engine.block import Block, Quality
from engine.channels import CHANNELS
from engine.commands import Silence
from engine.errors import InputError, RecordingError
from engine.interfaces import JournalLine
from tests.helpers import T0, eventually, full_table, same_table

VALUE = st.floats(allow_nan=True, allow_infinity=True).map(lambda x: x + 0.0)


def recording(path: Path, t: np.ndarray, seed: int = 0) -> dict[str, Block]:
    table = full_table(t, seed)
    with closing(create_recording(path, {"well": "Emberholt 4"})) as recorder:
        recorder.rows(table)
    return table


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "emberholt-4.kdrec"


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(-(10**15), 4 * 10**15), VALUE, st.integers(0, 65535)),
        min_size=1, max_size=12, unique_by=lambda row: row[0],
    )
)  # fmt: skip
def test_any_row_comes_back_to_the_last_bit(rows: list[tuple[int, float, int]]) -> None:
    """Times from 1938 to 2096 that are whole microseconds; -0.0 comes back as 0.0."""
    us, values, bits = zip(*sorted(rows, key=lambda row: row[0]), strict=True)
    t = np.array(us) / 1e6
    block = Block(t, np.array(values), np.array(bits, np.uint16))
    table = dict.fromkeys(CHANNELS, block)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "any.kdrec"
        with closing(create_recording(file, {})) as recorder:
            recorder.rows(table)
        with closing(SqliteRecording(file)) as found:
            assert same_table(table, found.rows())
            assert found.span() == (t[0], t[-1])


@given(st.floats(-1e9, 4e9), st.floats(-1e9, 4e9))
def test_limits_of_time_mean_what_they_say(t: float, row: float) -> None:
    row = round(row, 6)
    us = int(sqlite_schema.to_us(np.array([row]))[0])
    assert (us >= sqlite_schema.first_us_after(t)) == (row > t)


def test_windows_are_open_below_and_closed_above(path: Path) -> None:
    t = np.round(T0 + np.arange(20) * 0.1, 6)
    recording(path, t)
    with closing(SqliteRecording(path)) as found:
        assert found.rows(t[3], t[7])["rop"].t.tolist() == t[4:8].tolist()
        assert found.rows(after=t[-2])["rop"].t.tolist() == t[-1:].tolist()
        assert found.rows(until=t[0])["rop"].t.tolist() == t[:1].tolist()
        nothing = found.rows(after=t[-1])
        assert list(nothing) == list(CHANNELS)
        assert all(len(b) == 0 and b.quality.dtype == np.uint16 for b in nothing.values())
        with pytest.raises(RecordingError, match="got nan"):
            found.rows(after=float("nan"))


def test_only_the_asked_channels_are_read(path: Path) -> None:
    table = recording(path, T0 + np.arange(9.0))
    with closing(SqliteRecording(path)) as found:
        asked = found.rows(channels=["rop", "hook_load"])
        assert same_table({c: table[c] for c in ("rop", "hook_load")}, asked)
        assert found.rows(channels=[]) == {}
        with pytest.raises(InputError, match="no channel 'hookload'; did you mean 'hook_load'"):
            found.rows(channels=["hookload"])


def test_long_reads_in_chunks_give_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = recording(path, np.round(T0 + np.arange(30) * 1e-6, 6))
    for chunk in (1, 7, 10, 30):
        monkeypatch.setattr(sqlite_reader, "CHUNK", chunk)
        with closing(SqliteRecording(path)) as found:
            assert same_table(table, found.rows())


def test_a_channel_newer_than_the_file_is_unknown(path: Path) -> None:
    table = recording(path, T0 + np.arange(3.0))
    last = tuple(CHANNELS)[-1]
    with closing(sqlite3.connect(path)) as raw:  # as a program without the last channel made it
        raw.execute(f"ALTER TABLE rows DROP COLUMN {last}")
        raw.execute("UPDATE rows SET quality = substr(quality, 1, length(quality) - 2)")
        raw.commit()
    with closing(SqliteRecording(path)) as found:
        got = dict(found.rows())
        missing = got.pop(last)
        assert np.isnan(missing.value).all()
        assert missing.quality.tolist() == [Quality.NO_DATA] * 3
        assert same_table({c: table[c] for c in got}, got)
        assert last not in found.channels()
    with pytest.raises(RecordingError, match="has other channels"):
        resume_recording(path)


def test_any_sql_tool_can_read_the_samples(path: Path) -> None:
    """R-51: plain numbers, NULL where unknown, never a blob of some machine's own."""
    table = recording(path, T0 + np.arange(50.0))
    with closing(sqlite3.connect(path)) as raw:
        types = raw.execute("SELECT DISTINCT typeof(t_us), typeof(rop) FROM rows").fetchall()
        assert sorted(types) == [("integer", "null"), ("integer", "real")]
        value, quality = raw.execute(
            "SELECT rop, quality FROM rows WHERE t_us = ?", (int(T0 + 7) * 10**6,)
        ).fetchone()
    place = 2 * list(CHANNELS).index("rop")
    assert value == table["rop"].value[7]
    assert int.from_bytes(quality[place : place + 2], "little") == table["rop"].quality[7]


def test_an_empty_recording_has_no_span_and_no_heartbeat(path: Path) -> None:
    create_recording(path, {}).close()
    with closing(SqliteRecording(path)) as found:
        assert found.span() is None
        assert found.status() is None
        assert found.journal() == []
        assert list(found.inputs()) == list(found.wire()) == []


def test_names_with_signs_of_a_url_are_just_names(tmp_path: Path) -> None:
    path = tmp_path / "50% of a?b#c & ü.kdrec"
    if sys.platform == "win32":
        path = tmp_path / "50% of a#c & ü.kdrec"
    recording(path, T0 + np.arange(2.0))
    with closing(SqliteRecording(path)) as found:
        assert found.post(Silence(), "Ines", "doghouse") == 1
    assert path.is_file()


def test_a_reader_in_a_thread_follows_a_writer_without_gap_or_error(path: Path) -> None:
    table = full_table(T0 + np.arange(3000.0))
    recorder = create_recording(path, {})
    seen: list[np.ndarray] = []
    errors: list[Exception] = []

    def follow(found: SqliteRecording) -> None:
        last, end = float("-inf"), time.monotonic() + 120  # a slow disk is no fault
        try:
            while last < T0 + 2999 and time.monotonic() < end:
                got = found.rows(after=last)["rop"].t
                if got.size:
                    seen.append(got)
                    last = float(got[-1])
                time.sleep(0.001)  # a reader that never waits keeps the interpreter to itself
        except RecordingError as error:
            errors.append(error)

    with closing(SqliteRecording(path)) as found:  # opened here, read there
        threads = [threading.Thread(target=follow, args=(found,))]
        threads[0].start()
        for i in range(0, 3000, 30):
            recorder.rows({c: b.slice(i, i + 30) for c, b in table.items()})
            recorder.journal([JournalLine(i // 30 + 1, T0, "so that it is committed at once")])
            eventually(lambda: recorder.backlog() == 0, 5.0)
        recorder.close()
        threads[0].join(125)
        assert errors == []
        assert np.concatenate(seen).tolist() == table["rop"].t.tolist()
        assert len(seen) > 1


@pytest.mark.skipif(
    not hasattr(os, "getuid") or os.getuid() == 0, reason="root writes to any folder"
)
def test_a_finished_recording_in_a_read_only_folder_can_be_read(path: Path) -> None:
    table = recording(path, T0 + np.arange(5.0))
    path.parent.chmod(0o555)
    try:
        with closing(SqliteRecording(path)) as found:
            assert same_table(table, found.rows())
            with pytest.raises(RecordingError, match="not posted"):
                found.post(Silence(), "Ines", "doghouse")
    finally:
        path.parent.chmod(0o755)


def test_a_finished_recording_is_one_file_and_stays_one_when_read(path: Path) -> None:
    recording(path, T0 + np.arange(5.0))
    with closing(SqliteRecording(path)) as found:
        found.rows()
    assert {p.name for p in path.parent.iterdir()} == {path.name, path.name + ".lock"}


def test_a_file_that_is_not_there_is_not_made(path: Path) -> None:
    with pytest.raises(RecordingError, match="there is no such recording"):
        SqliteRecording(path)
    assert not path.exists()


def other_database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("CREATE TABLE meta (key, value)")


def newer_schema(path: Path) -> None:
    recording(path, T0 + np.arange(2.0))
    with closing(sqlite3.connect(path)) as raw:
        raw.execute(f"PRAGMA user_version = {sqlite_schema.SCHEMA + 1}")


@pytest.mark.parametrize(
    ("make", "complaint"),
    [
        (lambda p: p.write_text("time,hook load\n" * 100), "is not a recording"),
        (lambda p: p.touch(), "is empty; making it was cut short"),
        (other_database, "an SQLite file but not a recording: its application_id is 0x0"),
        (newer_schema, "newer version of this program .schema 2.; this one reads up to schema 1"),
    ],
)
def test_a_file_that_is_no_recording_of_ours_is_refused(
    path: Path, make: Callable[[Path], None], complaint: str
) -> None:
    make(path)
    for opened in (SqliteRecording, resume_recording):
        with pytest.raises(RecordingError, match=complaint) as caught:
            opened(path)
        assert str(path) in str(caught.value)


def test_a_recording_that_goes_away_is_said(path: Path) -> None:
    recording(path, T0 + np.arange(2.0))
    with closing(SqliteRecording(path)) as found:
        path.rename(path.with_name("moved"))
        for call in (found.rows, found.journal, found.status, found.span, found.meta):
            with pytest.raises(RecordingError, match="has gone"):
                call()


def test_a_damaged_recording_is_said_and_not_guessed(path: Path) -> None:
    recording(path, T0 + np.arange(2000.0))
    data = bytearray(path.read_bytes())
    data[8192:] = b"\xa5" * (len(data) - 8192)
    path.write_bytes(data)
    with closing(SqliteRecording(path)) as found, pytest.raises(RecordingError, match="cannot be"):
        found.rows()


def test_a_quality_of_the_wrong_length_is_refused(path: Path) -> None:
    recording(path, T0 + np.arange(3.0))
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("UPDATE rows SET quality = x'00' WHERE t_us = (SELECT max(t_us) FROM rows)")
        raw.commit()
    width = f"{2 * len(CHANNELS)} bytes"
    with closing(SqliteRecording(path)) as found, pytest.raises(RecordingError, match=width):
        found.rows()
