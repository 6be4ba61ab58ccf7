from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from adapters.run_program import ProgramError, run_program
from tests.helpers import eventually


def python(code: str, *more: str) -> list[str]:
    return [sys.executable, "-I", "-c", code, *more]


def test_arguments_come_as_they_are_and_no_shell_reads_them(tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ["a b", "$HOME; rm -rf x", "'quoted'", "*", ""]
    code = f"import sys; open({str(out)!r}, 'w').write('|'.join(sys.argv[1:]))"
    assert run_program(python(code, *words), 20.0)
    assert out.read_text() == "|".join(words)


@pytest.mark.parametrize(
    ("command", "said"),
    [
        (["/no/such/player", "x"], "there is no program '/no/such/player'"),
        ([str(Path(__file__))], "cannot be started: Permission denied"),
        (["a\0b"], "cannot be started: embedded null byte"),
        (python("raise SystemExit(3)"), "ended with code 3"),
        (python("raise SystemExit('no sound card\\n')"), "ended with code 1: no sound card"),
        (python("import os; os.kill(os.getpid(), 15)"), "was ended by signal 15"),
    ],
)
def test_what_does_not_end_well_says_why(command: list[str], said: str) -> None:
    with pytest.raises(ProgramError, match=said):
        run_program(command, 20.0)


def test_much_said_on_the_way_does_not_block_it() -> None:
    code = "import sys; sys.stderr.write('x' * 10**6); sys.stdout.write('y' * 10**6)"
    assert run_program(python(code), 20.0)


def test_what_hangs_is_ended_with_what_it_started(tmp_path: Path) -> None:
    note = tmp_path / "pid"
    child = "import time; time.sleep(60)"
    code = (
        "import subprocess, sys, time; "
        f"p = subprocess.Popen([sys.executable, '-I', '-c', {child!r}]); "
        f"open({str(note)!r}, 'w').write(str(p.pid)); time.sleep(60)"
    )
    with pytest.raises(ProgramError, match=r"did not end within 1\.5 s"):
        run_program(python(code), 1.5)
    pid = int(note.read_text())
    eventually(lambda: gone(pid), 5.0)


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    stat = Path(f"/proc/{pid}/stat")
    return stat.exists() and ") Z " in stat.read_text()


def test_what_is_wanted_no_more_is_ended_even_if_it_will_not() -> None:
    code = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); time.sleep(60)"
    start = time.monotonic()
    assert not run_program(python(code), 20.0, lambda: time.monotonic() - start > 0.5)
    assert time.monotonic() - start < 5.0
