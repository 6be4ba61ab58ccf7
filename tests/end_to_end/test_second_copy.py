"""A watch that writes a second copy is killed, its own file is lost, and the copy goes on.

POSIX only: it needs signals. Nothing waits for a fixed time; everything polls with a deadline.
"""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.commands import Acknowledge
from engine.records.journal import broken_at, read
from tests.commands import done, reviewed
from tests.end_to_end.test_restart import (
    KELLYDOWN,
    Sender,
    Server,
    ended,
    frames,
    journal,
    post,
    said,
    well_on,
)
from tests.helpers import eventually

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such signals")


@pytest.fixture
def port() -> Iterator[int]:
    """Return the number of a network port on which a rig is sending."""
    server = Server()
    sender = Sender(server.write)
    yield server.port
    sender.close()
    server.go_away()


def watch(folder: Path, port: int, *more: str | Path) -> subprocess.Popen[str]:
    well = well_on(folder, f"socket://127.0.0.1:{port}")
    command = [*KELLYDOWN, "record", "--well", well, *more]
    return subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        text=True,
    )  # fmt: skip


def test_the_copy_of_a_killed_watch_is_whole_and_goes_on_by_itself(
    tmp_path: Path, port: int
) -> None:
    first, stick = tmp_path / "tour.kdrec", tmp_path / "stick"
    stick.mkdir()
    copy = stick / first.name
    running = watch(tmp_path, port, "--out", first, "--copy", stick)
    try:
        eventually(lambda: frames(first) > 15, 40)
        eventually(lambda: "trip" in said(first, "alarm", "string-on"), 40)
        post(first, Acknowledge())
        eventually(lambda: "ack" in said(first, "alarm", "string-on"), 10)
        n = frames(first)
        eventually(lambda: frames(copy) > n + 15, 20)
        assert said(copy, "alarm", "string-on") == ["trip", "ack"]
        running.kill()
        assert running.wait() == -signal.SIGKILL
        assert journal(first)[: len(journal(copy))] == journal(copy), "never ahead"
        assert frames(first) - frames(copy) <= 25, "two seconds at ten frames a second"
        assert not ended(copy)
        assert "identical" in done("replay", copy, "--check").out
        assert [a["id"] for a in reviewed(copy)["alarms"]] == ["string-on"]
        first.unlink()
        before = frames(copy)
        running = watch(tmp_path, port, "--out", copy)
        eventually(lambda: frames(copy) > before + 15, 40)
        running.send_signal(signal.SIGTERM)
        assert running.wait(20) == 0
    finally:
        running.kill()
        running.wait()
    assert ended(copy)
    assert "identical" in done("replay", copy, "--check").out
    lines = [read(line) for line in journal(copy)]
    assert broken_at(journal(copy)) is None
    assert [f["event"] for f in lines if f["kind"] == "alarm" and f["id"] == "string-on"] == [
        "trip", "ack",
    ]  # fmt: skip
    assert [f["place"] for f in lines if f["id"] == "second_copy"] == [str(copy), ""]
    with closing(SqliteRecording(copy)) as recording:
        assert "copy_of" not in recording.meta()
