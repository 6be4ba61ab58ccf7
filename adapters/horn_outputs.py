"""What makes the noise: a terminal's bell, a player, a command, a relay. One class a kind.

An output is used by one thread only (see `adapters.horn`). `sound` makes one pass of a call and
may take as long as that pass; it looks at `unwanted` so that a silence is heard at once.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Protocol

import serial

from adapters.horn_tones import URGENT, pattern, wav_file
from adapters.run_program import ProgramError, run_program
from engine.alarms.urgency import Urgency
from engine.config_horn import HornConfig, HornOutput

LONGEST_S = 20.0
"""A player or command that takes longer has hung. [s]"""
STEP_S = 0.02
"""Between two looks whether the call is still wanted. [s]"""
Unwanted = Callable[[], bool]


class HornError(Exception):
    """An output did not work; says why."""


class Output(Protocol):
    """One thing that is heard or seen."""

    name: str
    escalation: int
    """It joins in from this level on. [-]"""

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float | None:
        """Make one pass; return the silence until the next [s], None if it was cut short.

        Raises
        ------
        HornError
            If it did not work.
        """
        ...

    def rest(self) -> None:
        """Nothing is to be heard now; `HornError` if that fails."""
        ...

    def close(self) -> None:
        """Let go of what is held."""
        ...


class _Plain:
    """What outputs have in common that hold nothing."""

    def __init__(self, name: str, escalation: int) -> None:
        self.name, self.escalation = name, escalation

    def rest(self) -> None:
        """Be quiet; nothing goes on by itself."""

    def close(self) -> None:
        """Hold nothing."""


class Bell(_Plain):
    """The bell of the terminal that standard output is."""

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float:
        """Ring once; a terminal that has gone is an error."""
        try:
            if not sys.stdout.isatty():
                raise HornError("standard output is no terminal")
            sys.stdout.write("\a")
            sys.stdout.flush()
        except (OSError, ValueError) as error:
            raise HornError(f"the terminal has gone: {error}") from None
        one = pattern(urgency)
        return one.length + one.gap_s


class Player(_Plain):
    """A WAV file through a player."""

    def __init__(
        self, name: str, escalation: int, player: Sequence[str], file: str, folder: Path
    ) -> None:
        super().__init__(name, escalation)
        self._player, self._file, self._folder = player, file, folder

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float | None:
        """Play once; the player's exit code tells whether it worked."""
        one = pattern(urgency)
        try:
            path = self._file or str(wav_file(self._folder, one))
        except OSError as error:
            raise HornError(f"the tones cannot be written: {error}") from None
        if not Path(path).is_file():
            raise HornError(f"there is no file {path}")
        words = [word.replace("{file}", path) for word in self._player]
        if words == list(self._player):
            words.append(path)
        return one.gap_s if _run(words, unwanted) else None


class Program(_Plain):
    """Any command; it is started again and again while an alarm calls."""

    def __init__(self, name: str, escalation: int, command: Sequence[str]) -> None:
        super().__init__(name, escalation)
        self._command = command

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float | None:
        """Run it once; its exit code tells whether it worked."""
        values = {"{priority}": str(urgency.priority), "{escalation}": str(urgency.level)}
        words = list(self._command)
        for mark, value in values.items():
            words = [word.replace(mark, value) for word in words]
        return pattern(urgency).gap_s if _run(words, unwanted) else None


class SwitchCommands(_Plain):
    """A relay that two commands switch; on as long as an alarm calls."""

    def __init__(self, name: str, escalation: int, on: Sequence[str], off: Sequence[str]) -> None:
        super().__init__(name, escalation)
        self._on, self._off, self._is_on = on, off, False

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float:
        """Switch on, unless it is on."""
        if not self._is_on:
            self._is_on = True  # also if the command fails half-way: then it is switched off
            try:
                _run(self._on, lambda: False)
            except HornError:
                self._try_off()
                raise
        _wait(pattern(urgency).length, unwanted)
        return 0.0

    def rest(self) -> None:
        """Switch off, if it is on."""
        if self._is_on:
            _run(self._off, lambda: False)
            self._is_on = False

    def _try_off(self) -> None:
        with suppress(HornError):
            self.rest()

    def close(self) -> None:
        """Leave it off."""
        self._try_off()


class SerialRelay(_Plain):
    """A relay on a control line of a serial port; closes in a rhythm, at last for good.

    The port is opened at the first call and kept, since opening one may move its lines.
    """

    def __init__(self, name: str, escalation: int, port: str, line: str) -> None:
        super().__init__(name, escalation)
        self._url, self._line = port, line
        self._port: serial.Serial | None = None

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float:
        """Close the relay for one pass of the call."""
        one = pattern(urgency)
        self._set(on=True)
        try:
            _wait(one.length, unwanted)
        finally:
            if urgency.level < len(URGENT) - 1:
                self._set(on=False)
        return one.gap_s

    def rest(self) -> None:
        """Open the relay."""
        if self._port is not None:
            self._set(on=False)

    def close(self) -> None:
        """Open the relay and let go of the port."""
        with suppress(HornError):
            self.rest()
        self._drop()

    def _set(self, *, on: bool) -> None:
        try:
            if self._port is None:
                port = serial.serial_for_url(self._url, do_not_open=True)
                port.rts = port.dtr = False
                port.open()
                self._port = port
            setattr(self._port, self._line, on)
        except (OSError, ValueError) as error:  # pySerial's own error is an OSError
            self._drop()
            why = str(error).rpartition("] ")[2]  # pySerial says number and port twice
            raise HornError(f"line {self._line.upper()} of {self._url}: {why}") from None

    def _drop(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            with suppress(OSError):
                port.close()


def _run(words: Sequence[str], unwanted: Unwanted) -> bool:
    try:
        return run_program(words, LONGEST_S, unwanted)
    except ProgramError as error:
        raise HornError(str(error)) from None


def _wait(seconds: float, unwanted: Unwanted) -> None:
    """Wait, but no longer than the call is wanted."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0 and not unwanted():
        time.sleep(min(STEP_S, left))


def outputs_of(config: HornConfig, folder: Path) -> list[Output]:
    """Return the outputs of a well file; the bell only where standard output is a terminal.

    Parameters
    ----------
    config : HornConfig
    folder : Path
        Where the tones are kept.
    """
    made = []
    for name, one in zip(config.names(), config.outputs, strict=True):
        if (output := _output(name, one, folder)) is not None:
            made.append(output)
    return made


def _output(name: str, one: HornOutput, folder: Path) -> Output | None:
    level = one.escalation
    if one.kind == "bell":
        return Bell(name, level) if sys.stdout is not None and sys.stdout.isatty() else None
    if one.kind == "sound":
        return Player(name, level, one.player or (), one.file, folder)
    if one.kind == "command":
        return Program(name, level, one.command or ())
    if one.port:
        return SerialRelay(name, level, one.port, one.line)
    return SwitchCommands(name, level, one.on or (), one.off or ())
