"""What this machine offers: terminal, colours, characters, sound, disk, serial ports."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from serial.tools import list_ports

MIN_COLUMNS, MIN_ROWS = 80, 24
ROOM_FOR_A_TOUR = 100e6
"""A tour at 1 Hz takes about a quarter of this on disk. [bytes]"""


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at."""

    name: str
    good: bool
    found: str
    advice: str = ""
    """What to do; empty when nothing need be done."""


def checks(data_folder: Path, environ: Mapping[str, str] = os.environ) -> Iterator[Check]:
    """Look at everything the program depends on.

    Parameters
    ----------
    data_folder : Path
        Where recordings go; made if it is not there.
    environ : mapping
        The environment to judge by.
    """
    yield _python()
    yield _terminal(environ)
    yield _size()
    yield _colours(environ)
    yield _characters(environ)
    yield _sound()
    yield from _disk(data_folder)
    yield from _ports()


def _python() -> Check:
    version = ".".join(str(part) for part in sys.version_info[:3])
    return Check("python", sys.version_info >= (3, 11), f"{version} on {sys.platform}")


def _terminal(environ: Mapping[str, str]) -> Check:
    term = environ.get("TERM", "")
    if not sys.stdout.isatty():
        return Check("terminal", False, "standard output is not a terminal",
                     "run it in a terminal window to see a screen; record, review and export "
                     "need none")  # fmt: skip
    if term in {"", "dumb"} and sys.platform != "win32":
        return Check("terminal", False, f"TERM={term!r}", "use a terminal with cursor control")
    return Check("terminal", True, term or "Windows console")


def _size() -> Check:
    columns, rows = shutil.get_terminal_size()
    good = columns >= MIN_COLUMNS and rows >= MIN_ROWS
    advice = "" if good else f"make the window at least {MIN_COLUMNS}x{MIN_ROWS}, best 120x36"
    return Check("size", good, f"{columns}x{rows}", advice)


def colours(environ: Mapping[str, str]) -> int:
    """Return how many colours the terminal is believed to show; 0 means none wanted. [-]"""
    if environ.get("NO_COLOR"):
        return 0
    if environ.get("COLORTERM", "").lower() in {"truecolor", "24bit"}:
        return 1 << 24
    return 256 if "256color" in environ.get("TERM", "") else 16


def _colours(environ: Mapping[str, str]) -> Check:
    number = colours(environ)
    if number == 0:
        return Check("colours", True, "none wanted (NO_COLOR): words and reversed text are used")
    return Check("colours", True, f"{number}")


def _characters(environ: Mapping[str, str]) -> Check:
    encoding = (sys.stdout.encoding or "").lower().replace("-", "")
    if environ.get("TERM") == "linux" or encoding != "utf8":
        return Check("characters", False, sys.stdout.encoding or "unknown",
                     "plain characters are used (as with --ascii); for fine charts use a UTF-8 "
                     "terminal with a font that has braille")  # fmt: skip
    return Check("characters", True, "UTF-8; if these are not six dots high, use --ascii: ⣿⣷⣶⣦")


def _sound() -> Check:
    return Check("sound", True, "terminal bell; listen now: if you heard nothing, "
                 "switch the bell on in the terminal's settings\a")  # fmt: skip


def _disk(folder: Path) -> Iterator[Check]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(folder).free
    except OSError as error:
        yield Check("disk", False, f"{folder}: {error.strerror or error}",
                    "set KELLYDOWN_DATA to a folder you may write to")  # fmt: skip
        return
    good = free > ROOM_FOR_A_TOUR and os.access(folder, os.W_OK)
    advice = "" if good else "free some space, or set KELLYDOWN_DATA to another disk"
    yield Check("disk", good, f"{free / 1e9:.1f} GB free in {folder}", advice)


def _ports() -> Iterator[Check]:
    ports = sorted(list_ports.comports())
    if not ports:
        advice = "plug the adapter in; a network feed (socket://host:port) needs none"
        yield Check("serial ports", False, "none found", advice)
    for port in ports:
        may = sys.platform == "win32" or os.access(port.device, os.R_OK | os.W_OK)
        advice = "" if may else "no permission: add yourself to the group that owns the port"
        yield Check("serial port", may, f"{port.device} {port.description}", advice)
