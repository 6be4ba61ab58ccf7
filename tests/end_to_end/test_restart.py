"""Watches that are killed, started again, doubled and cut off from their feed.

POSIX only: it needs pseudo-terminals and signals. Nothing waits for a fixed time; everything
polls with a deadline.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from adapters.sqlite_reader import SqliteRecording
from engine.block import Quality
from engine.commands import Acknowledge, StopWatch
from engine.interfaces import JournalLine
from engine.records.journal import broken_at, from_iso, read
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes
from tests.commands import done, reviewed
from tests.helpers import eventually, same_table

KELLYDOWN = [sys.executable, "-m", "tui.cli"]
PACE_S = 0.1
"""Between packets: ten times as fast as on a rig. [s]"""
ALARM = """
[[alarms]]
id = "string-on"
label = "String on the hook"
channel = "hook_load"
high_kN = 100
priority = 3
on_delay_s = 1
cause = "The test wants an alarm"
consequence = "None"
action = "Acknowledge it, for the test"
time_available_s = 60
limit_reason = "The string weighs more"
"""


class Sender:
    """A thread that hands packets of the synthetic rig to `write` until told to stop."""

    def __init__(self, write: Callable[[bytes], object]) -> None:
        self._write = write
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        rig = Rig(parse_well(example_text(), "example"), "quiet", 5, time.time())
        while not self._stop.is_set():
            for _, data in wits_bytes(rig.advance(1.0)):
                with suppress(OSError):
                    self._write(data)
                self._stop.wait(PACE_S)

    def close(self) -> None:
        self._stop.set()
        self._thread.join()


class Server:
    """A rig's network port that can go away and come back under the same number."""

    def __init__(self) -> None:
        self._socket, self._line = self._listen(0), None
        self.port = self._socket.getsockname()[1]

    def _listen(self, port: int) -> socket.socket:
        made = socket.socket()
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind(("127.0.0.1", port))
        made.listen()
        made.settimeout(0.05)
        return made

    _line: socket.socket | None

    def write(self, data: bytes) -> None:
        if self._line is None:
            self._line, _ = self._socket.accept()
        try:
            self._line.sendall(data)
        except OSError:
            self.hang_up()

    def hang_up(self) -> None:
        line, self._line = self._line, None
        if line is not None:
            line.close()

    def go_away(self) -> None:
        self._socket.close()
        self.hang_up()

    def come_back(self) -> None:
        self._socket = self._listen(self.port)


@pytest.fixture
def watches() -> Iterator[list[subprocess.Popen[str]]]:
    """Kill what a failed test leaves running."""
    made: list[subprocess.Popen[str]] = []
    yield made
    for process in made:
        with suppress(ProcessLookupError):
            process.kill()
        process.wait()
        assert process.stderr is not None
        process.stderr.close()


@pytest.fixture
def line() -> Iterator[str]:
    """Return the name of a serial line on which a rig is sending."""
    master, slave = os.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)  # what nobody takes is lost, as on a real line
    sender = Sender(lambda data: os.write(master, data))
    try:
        yield os.ttyname(slave)
    finally:
        sender.close()
        os.close(slave)
        os.close(master)


def well_on(folder: Path, port: str) -> Path:
    path = folder / "well.toml"
    path.write_text(example_text().replace("/dev/ttyUSB0", port) + ALARM, encoding="utf-8")
    return path


def start(well: Path, recording: Path, log: Path, into: list[subprocess.Popen[str]]) -> None:
    """Start a watch; it is the last of `into`."""
    with log.open("w", encoding="utf-8") as out:
        into.append(
            subprocess.Popen(
                [*KELLYDOWN, "record", "--well", well, "--out", recording],
                stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE, text=True,
            )
        )  # fmt: skip


def frames(path: Path) -> int:
    """Return the number of rows, -1 before there is a recording."""
    with suppress(Exception), closing(SqliteRecording(path)) as recording:
        return len(recording.rows(channels=["hook_load"])["hook_load"])
    return -1


def journal(path: Path) -> list[JournalLine]:
    with closing(SqliteRecording(path)) as recording:
        return recording.journal()


def said(path: Path, kind: str, name: str) -> list[str]:
    """Return what happened to `name`, in order."""
    fields = [read(line) for line in journal(path)]
    return [f["event"] for f in fields if (f["kind"], f["id"]) == (kind, name)]


def post(path: Path, command: Acknowledge | StopWatch) -> None:
    with closing(SqliteRecording(path)) as recording:
        recording.post(command, "tester", "test")


def ended(path: Path) -> bool:
    with closing(SqliteRecording(path)) as recording:
        status = recording.status()
    return status is not None and not status.running


def test_a_watch_killed_again_and_again_goes_on_in_the_same_recording(
    tmp_path: Path, line: str, watches: list[subprocess.Popen[str]]
) -> None:
    """R-46: what was committed stays; alarms and journal go on; R-53: worked out identically."""
    well, recording = well_on(tmp_path, line), tmp_path / "tour.kdrec"
    for life in range(4):
        before = max(frames(recording), 0)
        # The log of one life stands on a full disk: that must stop no watch.
        full = life == 1 and Path("/dev/full").exists()
        log = Path("/dev/full") if full else tmp_path / f"{life}.log"
        start(well, recording, log, watches)
        eventually(lambda n=before: frames(recording) > n + 15, 30)  # type: ignore[misc]
        if life == 0:
            eventually(lambda: "trip" in said(recording, "alarm", "string-on"), 20)
            post(recording, Acknowledge())
            eventually(lambda: "ack" in said(recording, "alarm", "string-on"), 5)
        if life == 3:
            break
        with closing(SqliteRecording(recording)) as looking:
            seen, lines = looking.rows(), looking.journal()
        watches[-1].kill()
        assert watches[-1].wait() == -signal.SIGKILL
        with closing(SqliteRecording(recording)) as looking:
            last = float(seen["hook_load"].t[-1])
            assert same_table(looking.rows(until=last), seen), "a committed row was lost"
            assert looking.journal()[: len(lines)] == lines
        assert not ended(recording)
    second = subprocess.run(
        [*KELLYDOWN, "record", "--well", well, "--out", recording], capture_output=True, text=True,
        timeout=30,
    )  # fmt: skip
    assert second.returncode == 1
    assert second.stderr == (
        f"kellydown: {recording}: another watch is writing to it; stop it first\n"
    )
    watches[-1].send_signal(signal.SIGTERM)
    assert watches[-1].wait(timeout=20) == 0
    assert ended(recording)
    assert not [p for p in tmp_path.iterdir() if p.name.endswith(("-wal", "-shm"))]
    assert "identical" in done("replay", recording, "--check").out
    lines = journal(recording)
    assert broken_at(lines) is None
    assert [f["event"] for f in map(read, lines) if f["kind"] == "watch"] == ["start"]
    assert said(recording, "alarm", "string-on") == ["trip", "ack"], "its state outlived the kills"
    assert said(recording, "link", "rig") == ["up"] * 4
    notes = [f["text"] for f in map(read, lines) if f["id"] == "note"]
    assert len(notes) == 3
    assert all(text.startswith("the watch goes on; nobody watched for ") for text in notes)
    found = reviewed(recording)
    assert 60 < found["span"]["frames"] <= frames(recording) - 4  # rows of a link are no frames
    assert [a["id"] for a in found["alarms"]] == ["string-on"]
    told = (tmp_path / "3.log").read_text(encoding="utf-8")
    assert f"recording to {recording}" in told
    assert "the watch goes on" in told


def test_a_network_feed_that_goes_away_and_comes_back(
    tmp_path: Path, watches: list[subprocess.Popen[str]]
) -> None:
    """R-44: a lost line is told at once, shown as LINK_DOWN, and taken up again by itself."""
    server = Server()
    well = well_on(tmp_path, f"socket://127.0.0.1:{server.port}")
    recording = tmp_path / "tour.kdrec"
    sender = Sender(server.write)
    try:
        start(well, recording, tmp_path / "log", watches)
        eventually(lambda: frames(recording) > 15, 30)
        server.go_away()
        eventually(lambda: said(recording, "link", "rig")[-1:] == ["down"], 10)
        before = frames(recording)
        eventually(lambda: frames(recording) > before, 10)  # ticks: time goes on without data
        server.come_back()
        eventually(lambda: said(recording, "link", "rig")[-1:] == ["up"], 20)
        after = frames(recording)
        eventually(lambda: frames(recording) > after + 15, 20)
        post(recording, StopWatch())
        assert watches[-1].wait(timeout=20) == 0
    finally:
        sender.close()
        server.go_away()
    assert ended(recording)
    links = [f for f in map(read, journal(recording)) if f["kind"] == "link"]
    assert [links[0]["event"], links[1]["event"], links[-1]["event"]] == ["up", "down", "up"]
    reasons = [f["reason"] for f in links[1:-1]]  # hung up, then refused: each is told once
    assert all(reasons)
    assert len(set(reasons)) == len(reasons)
    down, up = from_iso(links[1]["at"]), from_iso(links[-1]["at"])
    with closing(SqliteRecording(recording)) as looking:
        load = looking.rows(channels=["hook_load"])["hook_load"]
    dark = (load.quality & np.uint16(Quality.LINK_DOWN)) != 0
    assert dark.any()
    assert np.isnan(load.value[dark]).all()
    assert load.t[dark].min() == pytest.approx(down, abs=0.002)
    (gap,) = (g for g in reviewed(recording)["gaps"] if "hook_load" in g["channels"])
    assert from_iso(gap["start"]) == pytest.approx(down, abs=0.002)
    assert up <= from_iso(gap["end"]) + 0.002
    assert from_iso(gap["end"]) < up + 2.0
    assert "identical" in done("replay", recording, "--check").out
