"""The main job with real processes: simulator, serial line, watch, screen, kill -9, replay.

POSIX only: it needs pseudo-terminals. Nothing here waits for a fixed time; everything polls with
a deadline.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import select
import signal
import sqlite3
import struct
import subprocess
import sys
import termios
import threading
import time
import tty
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from adapters.config_file import example_text
from adapters.sqlite_reader import SqliteRecording
from engine.commands import Acknowledge, Note, Silence, ZeroPits
from engine.errors import RecordingError
from engine.records.journal import broken_at, read

BAUD_BYTES_S = 960
"""9600 baud, ten bits a character: 960 characters a second. [bytes/s]"""
KELLYDOWN = [sys.executable, "-m", "tui.cli"]


def wait_for(what: str, found: Callable[[], object], limit: float = 90.0) -> None:
    deadline = time.monotonic() + limit
    while not found():
        assert time.monotonic() < deadline, f"not within {limit:g} s: {what}"
        time.sleep(0.05)


class Cable:
    """A null modem of two pseudo-terminals, with the pace of 9600 baud."""

    def __init__(self) -> None:
        self.masters, slaves = zip(*(os.openpty() for _ in range(2)), strict=True)
        for slave in slaves:
            tty.setraw(slave)
        self.ends = [os.ttyname(slave) for slave in slaves]
        os.set_blocking(self.masters[1], False)
        self._slaves = slaves
        self._open = True
        self._thread = threading.Thread(target=self._carry)
        self._thread.start()

    def _carry(self) -> None:
        while self._open:
            if select.select([self.masters[0]], [], [], 0.05)[0]:
                data = os.read(self.masters[0], 96)
                # A cable does not wait: what nobody takes is lost. A blocked write into a full
                # pseudo-terminal may never wake up once its reader has flushed it.
                with contextlib.suppress(BlockingIOError):
                    os.write(self.masters[1], data)
                time.sleep(len(data) / BAUD_BYTES_S)

    def close(self) -> None:
        self._open = False
        self._thread.join()
        for fd in (*self.masters, *self._slaves):
            os.close(fd)


class Screen:
    """A kellydown screen on a pseudo-terminal of 120x36 whose output is kept."""

    def __init__(self, *arguments: str, env: dict[str, str]) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 36, 120, 0, 0))
        self.process = subprocess.Popen(
            [*KELLYDOWN, *arguments], stdin=slave, stdout=slave, stderr=slave, env=env,
            start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        self.output = b""
        self._thread = threading.Thread(target=self._drain)
        self._thread.start()

    def _drain(self) -> None:
        with contextlib.suppress(OSError):
            while data := os.read(self.master, 65536):
                self.output += data

    def shows(self, text: str) -> bool:
        return text.encode() in self.output

    def press(self, keys: str) -> None:
        os.write(self.master, keys.encode())

    def kill(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self._thread.join(timeout=5)
        with contextlib.suppress(OSError):
            os.close(self.master)


@pytest.fixture
def cable() -> Iterator[Cable]:
    made = Cable()
    yield made
    made.close()


@pytest.fixture
def well(tmp_path: Path, cable: Cable) -> Path:
    """The example well on our cable, with one alarm that any string trips."""
    text = example_text().replace("/dev/ttyUSB0", cable.ends[1])
    text += """
[[alarms]]
id = "string-on"
label = "String on the hook"
channel = "hook_load"
high_kN = 100
priority = 3
on_delay_s = 2
cause = "The test wants an alarm"
consequence = "None"
action = "Acknowledge it, for the test"
time_available_s = 60
limit_reason = "The string weighs more"
"""
    path = tmp_path / "well.toml"
    path.write_text(text, encoding="utf-8")
    return path


def rows(path: Path) -> int:
    with contextlib.closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as base:
        return int(base.execute("SELECT count(*) FROM rows").fetchone()[0])


def watch_pid(path: Path) -> int:
    with contextlib.closing(SqliteRecording(str(path))) as recording:
        status = recording.status()
    assert status is not None
    return status.pid


def has(path: Path, kind: str, name: str, event: str) -> bool:
    with contextlib.closing(SqliteRecording(str(path))) as recording:
        fields = [read(line) for line in recording.journal()]
    return any((f["kind"], f["id"], f["event"]) == (kind, name, event) for f in fields)


def test_a_serial_line_becomes_a_screen_a_recording_and_the_same_journal_again(
    tmp_path: Path, cable: Cable, well: Path
) -> None:
    """R-45, R-53: screen and watch die apart; what is worked out again is byte-identical."""
    env = os.environ | {"KELLYDOWN_DATA": str(tmp_path / "data"), "TERM": "xterm-256color"}
    env.pop("NO_COLOR", None)
    recording = tmp_path / "tour.kdrec"
    sender = subprocess.Popen(
        [*KELLYDOWN, "simulate", "quiet", "--seed", "3", "--port", cable.ends[0]],
        env=env, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    screens: list[Screen] = []
    try:
        first = Screen("live", "--well", str(well), "--out", str(recording), env=env)
        screens.append(first)
        wait_for("the caution", lambda: first.shows("additional aid"))
        first.press("y")
        wait_for("the well on the screen", lambda: first.shows("Emberholt 4"))
        wait_for("rows in the recording", lambda: rows(recording) > 15)
        wait_for("the alarm", lambda: has(recording, "alarm", "string-on", "trip"))
        wait_for("the alarm on the screen", lambda: first.shows("String on the hook"))
        first.press("a")
        # A key sent to a pseudo-terminal can get lost; keep pressing until it has arrived.
        wait_for(
            "the acknowledgement",
            lambda: has(recording, "alarm", "string-on", "ack") or first.press("ya"),
        )

        pid = watch_pid(recording)
        first.kill()
        before = rows(recording)
        wait_for("the watch going on without a screen", lambda: rows(recording) > before + 3)

        second = Screen("attach", str(recording), env=env)
        screens.append(second)
        wait_for("the caution again", lambda: second.shows("additional aid"))
        second.press("y")
        wait_for("the second screen", lambda: second.shows("Emberholt 4"))
        with contextlib.closing(SqliteRecording(str(recording))) as posting:
            for command in (Note("pipe checked"), ZeroPits("for the test"), Silence()):
                posting.post(command, "tester", "test")
        wait_for("the zero", lambda: has(recording, "command", "zero_pits", "given"))
        with contextlib.closing(SqliteRecording(str(recording))) as posting:
            start = time.monotonic()
            posting.post(Acknowledge(), "tester", "test")
        wait_for("the command", lambda: has(recording, "command", "acknowledge", "given"))
        assert time.monotonic() - start < 2.0

        os.kill(pid, signal.SIGKILL)
        died = time.monotonic()
        wait_for("the screen saying so", lambda: second.shows("WATCH STOPPED"), limit=10)
        assert time.monotonic() - died < 3.5
    finally:
        sender.kill()
        sender.wait()
        for screen in screens:
            screen.kill()
        # Whatever failed: a watch left over would take the next test's line.
        with contextlib.suppress(RecordingError, ProcessLookupError, AssertionError):
            os.kill(watch_pid(recording), signal.SIGKILL)

    done = subprocess.run(
        [*KELLYDOWN, "replay", str(recording), "--check"], capture_output=True, text=True, env=env
    )
    assert done.returncode == 0, done.stdout + done.stderr
    with contextlib.closing(SqliteRecording(str(recording))) as kept:
        assert broken_at(kept.journal()) is None
        assert sum(len(w.data) for w in kept.wire()) > 2000
    done = subprocess.run(
        [*KELLYDOWN, "review", str(recording), "--json"], capture_output=True, text=True, env=env
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["span"]["frames"] > 15
    assert [a["id"] for a in found["alarms"]].count("string-on") == 1
