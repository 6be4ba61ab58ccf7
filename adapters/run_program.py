"""Run a program to its end, or to ours: no shell, no output kept but the last line of a failure."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import IO

POLL_S = 0.02
"""Between two looks whether it has ended or must end. [s]"""
GRACE_S = 0.5
"""What is told to end may take so long before it is killed. [s]"""


class ProgramError(Exception):
    """The program could not be started, or did not end well; says why."""


def run_program(
    arguments: Sequence[str], longest_s: float, unwanted: Callable[[], bool] = lambda: False
) -> bool:
    """Run a program; return False if it was ended because it was no longer wanted.

    Parameters
    ----------
    arguments : sequence of str
        Program and arguments as the system gets them.
    longest_s : float
        It is ended, and that is an error, if it runs longer. [s]
    unwanted : callable
        Asked every `POLL_S`; when true the program, and what it started, is ended.

    Raises
    ------
    ProgramError
        If it cannot be started, runs too long or ends with another code than 0.
    """
    with tempfile.TemporaryFile() as said:
        try:
            process = subprocess.Popen(
                list(arguments), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=said,
                start_new_session=sys.platform != "win32",
            )  # fmt: skip
        except FileNotFoundError:
            raise ProgramError(f"there is no program {arguments[0]!r}") from None
        except (OSError, ValueError) as error:  # a NUL in an argument is a ValueError
            why = (error.strerror if isinstance(error, OSError) else None) or str(error)
            raise ProgramError(f"{arguments[0]!r} cannot be started: {why}") from None
        started = time.monotonic()
        try:
            while process.poll() is None:
                if unwanted():
                    return False
                if time.monotonic() - started > longest_s:
                    raise ProgramError(f"{arguments[0]!r} did not end within {longest_s:g} s")
                with suppress(subprocess.TimeoutExpired):
                    process.wait(POLL_S)
        finally:
            _end(process)
        if process.returncode != 0:
            code = process.returncode
            how = f"ended with code {code}" if code > 0 else f"was ended by signal {-code}"
            raise ProgramError(f"{arguments[0]!r} {how}{_last_line(said)}")
        return True


def _end(process: subprocess.Popen[bytes]) -> None:
    """End `process` and what it started, if it still runs."""
    if process.poll() is not None:
        return
    for hard in (False, True):
        with suppress(OSError):
            if sys.platform == "win32":
                process.kill() if hard else process.terminate()
            else:
                os.killpg(process.pid, signal.SIGKILL if hard else signal.SIGTERM)
        with suppress(subprocess.TimeoutExpired):
            process.wait(GRACE_S)
            return


def _last_line(said: IO[bytes]) -> str:
    """Return the last line a program wrote of its failure, with what comes before it."""
    size = said.seek(0, os.SEEK_END)
    said.seek(max(0, size - 2000))
    lines = said.read().decode("utf-8", "replace").split("\n")
    last = next((line.strip() for line in reversed(lines) if line.strip()), "")
    return f": {last[:200]}" if last else ""
