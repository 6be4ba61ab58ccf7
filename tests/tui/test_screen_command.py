"""What becomes of the watch when the person at its screen leaves."""

from __future__ import annotations

import argparse
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

from adapters.config_file import example_text, parse_well
from adapters.sqlite_store import create_recording, resume_recording
from adapters.watch_process import WatchProcess
from engine.commands import StopWatch
from tui.commands import screen
from tui.commands.common import meta_of

ARGS = argparse.Namespace(who="Ines", ascii=False, theme="")


class Process(subprocess.Popen[bytes]):
    """A watch that ends when it is asked to, or that has ended before."""

    def __init__(self, *, dead: bool = False) -> None:
        self.dead, self.waited = dead, False
        self.pid, self.returncode = 42, 0 if dead else None

    def __del__(self, *_: object) -> None:
        """There is no process to mourn."""

    def poll(self) -> int | None:
        return 0 if self.dead else None

    def wait(self, timeout: float | None = None) -> int:
        self.waited = True
        return 0


@pytest.fixture
def path(tmp_path: Path) -> Path:
    text = example_text()
    made = tmp_path / "tour.kdrec"
    create_recording(made, meta_of(parse_well(text, "example"), text, "live", 1.78e9)).close()
    return made


def left(path: Path, how: str, monkeypatch: pytest.MonkeyPatch, *, dead: bool = False) -> Process:
    process = Process(dead=dead)

    def show(_path: str, _args: argparse.Namespace, *, owns_watch: bool) -> str:
        assert owns_watch
        return how

    monkeypatch.setattr(screen, "show", show)
    assert screen.watch_and_show(WatchProcess(path, path, process), ARGS) == 0
    return process


def waiting(path: Path) -> list[tuple[object, str]]:
    with closing(resume_recording(path)) as recorder:
        return [(posted.command, posted.who) for posted in recorder.posted()]


def test_leaving_lets_the_watch_go_on_and_says_how_to_see_it(
    path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not left(path, "leave", monkeypatch).waited
    assert capsys.readouterr().out == (
        "The watch goes on (process 42); see it again with:\n"
        f"  kellydown attach {path}\n"
    )  # fmt: skip
    assert waiting(path) == []


def test_stopping_asks_the_watch_in_the_persons_name_and_waits(
    path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert left(path, "stop", monkeypatch).waited
    assert waiting(path) == [(StopWatch(), "Ines")]
    assert str(path) in capsys.readouterr().out


def test_a_watch_that_is_dead_is_not_asked(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The next watch on this recording would find the order and end at once."""
    left(path, "stop", monkeypatch, dead=True)
    assert waiting(path) == []
