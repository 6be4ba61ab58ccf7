"""What the doctor finds, on machines made by hand; and the horn, on terminals made by hand."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from serial.tools import list_ports

from adapters.machine import Check, checks, colours
from tests.commands import kellydown

GOOD = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}


class Terminal:
    """Standard output as the checks see it."""

    def __init__(self, *, tty: bool = True, encoding: str | None = "utf-8") -> None:
        self.encoding, self._tty = encoding, tty
        self.written = ""

    def isatty(self) -> bool:
        return self._tty

    def write(self, text: str) -> None:
        self.written += text

    def flush(self) -> None:
        """Nothing waits here."""


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[Terminal]:
    """Return a good terminal of 120x36 on a machine with one serial port."""
    made = Terminal()
    system = SimpleNamespace(
        stdout=made, platform=sys.platform, version_info=sys.version_info
    )  # pytest puts its own stdout into the real one
    monkeypatch.setattr("adapters.machine.sys", system)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda: os.terminal_size((120, 36)))
    port = SimpleNamespace(device="/dev/null", description="USB adapter")
    monkeypatch.setattr(list_ports, "comports", lambda: [port])
    yield made
    monkeypatch.undo()


def look(folder: Path, environ: dict[str, str]) -> dict[str, Check]:
    return {check.name: check for check in checks(folder, environ)}


def test_a_good_machine_has_no_problem(tmp_path: Path, terminal: Terminal) -> None:
    found = look(tmp_path, GOOD)
    assert list(found) == [
        "python", "terminal", "size", "colours", "characters", "sound", "disk", "serial port"
    ]  # fmt: skip
    assert all(check.good and not check.advice for check in found.values())
    assert found["size"].found == "120x36"
    assert found["colours"].found == "16777216"
    assert found["serial port"].found == "/dev/null USB adapter"


@pytest.mark.parametrize(
    ("environ", "name", "found", "good"),
    [
        ({"TERM": "dumb"}, "terminal", "TERM='dumb'", False),
        ({}, "terminal", "TERM=''", False),
        ({"TERM": "linux"}, "characters", "utf-8", False),
        ({**GOOD, "NO_COLOR": "1"}, "colours", "none wanted (NO_COLOR)", True),
        ({"TERM": "xterm"}, "colours", "16", True),
    ],
)
def test_what_the_terminal_lacks_is_told(
    environ: dict[str, str], name: str, found: str, good: bool, tmp_path: Path, terminal: Terminal
) -> None:
    check = look(tmp_path, environ)[name]
    assert check.found.startswith(found)
    assert check.good is good
    assert bool(check.advice) is not good


def test_no_color_counts_only_when_it_is_not_empty() -> None:
    """no-color.org: when present and not an empty string, whatever its value."""
    assert colours({"NO_COLOR": "0", **GOOD}) == 0
    assert colours({"NO_COLOR": "", **GOOD}) == 1 << 24
    assert colours({"TERM": "screen-256color"}) == 256
    assert colours({}) == 16


def test_a_pipe_is_no_terminal(tmp_path: Path, terminal: Terminal) -> None:
    terminal._tty = False
    check = look(tmp_path, GOOD)["terminal"]
    assert not check.good
    assert "record, review and export need none" in check.advice


@pytest.mark.parametrize("encoding", ["ascii", "cp437", None])
def test_a_terminal_without_unicode_gets_plain_characters(
    encoding: str | None, tmp_path: Path, terminal: Terminal
) -> None:
    terminal.encoding = encoding
    check = look(tmp_path, GOOD)["characters"]
    assert (check.good, check.found) == (False, encoding or "unknown")
    check.advice.encode("ascii")


@pytest.mark.parametrize(
    ("columns", "rows", "good"), [(80, 24, True), (79, 24, False), (80, 23, False)]
)
def test_a_window_that_is_too_small_is_told(
    columns: int, rows: int, good: bool, tmp_path: Path, terminal: Terminal,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    size = os.terminal_size((columns, rows))
    monkeypatch.setattr(shutil, "get_terminal_size", lambda: size)
    check = look(tmp_path, GOOD)["size"]
    assert (check.good, check.found) == (good, f"{columns}x{rows}")
    assert ("at least 80x24" in check.advice) is not good


def test_a_full_disk_and_a_folder_that_cannot_be_made_are_told(
    tmp_path: Path, terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "new" / "data"
    assert look(folder, GOOD)["disk"].good
    assert folder.is_dir()
    (tmp_path / "file").touch()
    check = look(tmp_path / "file" / "data", GOOD)["disk"]
    assert not check.good
    assert "KELLYDOWN_DATA" in check.advice
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=5e7))
    check = look(folder, GOOD)["disk"]
    assert (check.good, check.found) == (False, f"0.1 GB free in {folder}")


def test_no_port_and_a_port_of_others_are_told(
    tmp_path: Path, terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(list_ports, "comports", list)
    assert "socket://host:port" in look(tmp_path, GOOD)["serial ports"].advice
    gone = SimpleNamespace(device=str(tmp_path / "no"), description="x")
    monkeypatch.setattr(list_ports, "comports", lambda: [gone])
    check = look(tmp_path, GOOD)["serial port"]
    assert check.good is (sys.platform == "win32")
    assert ("no permission" in check.advice) is (sys.platform != "win32")


def test_the_doctor_prints_a_line_a_check_and_counts_problems(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KELLYDOWN_DATA", str(tmp_path))
    said = kellydown("doctor")
    lines = said.out.splitlines()
    assert said.code == 1  # the output is no terminal here
    assert sum(line.startswith("!! ") for line in lines) >= 1
    assert any(line.startswith("ok  python") for line in lines)
    assert any(line.startswith("!!  terminal") for line in lines)
    assert "Windows: not tried by the authors" in lines[-1]
