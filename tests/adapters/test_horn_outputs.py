from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from adapters.horn_outputs import (
    Bell,
    HornError,
    Player,
    Program,
    SerialRelay,
    SwitchCommands,
    outputs_of,
)
from engine.alarms.urgency import Urgency
from engine.config_horn import HornConfig

LOWER, URGENT, LOUDEST = Urgency(3), Urgency(1), Urgency(1, 2)


def never() -> bool:
    return False


def noting(tmp_path: Path, *words: str) -> tuple[list[str], Path]:
    """Return a command that adds its arguments as a line to a file, and the file."""
    notes = tmp_path / "notes"
    path = tmp_path / "note.py"
    path.write_text(f"import sys\nopen({str(notes)!r}, 'a').write(' '.join(sys.argv[1:]) + '\\n')")
    return [sys.executable, "-I", str(path), *words], notes


class Tty:
    def __init__(self, *, tty: bool = True, broken: bool = False) -> None:
        self.written, self._tty, self._broken = "", tty, broken

    def isatty(self) -> bool:
        return self._tty

    def write(self, text: str) -> None:
        if self._broken:
            raise OSError(5, "Input/output error")
        self.written += text

    def flush(self) -> None:
        """Nothing is kept back."""


def test_the_bell_is_that_of_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """ECMA-48: BEL, 07/00, calls for human attention."""
    terminal = Tty()
    monkeypatch.setattr(sys, "stdout", terminal)
    Bell("bell", 0).sound(LOWER, never)
    assert terminal.written == "\x07"


@pytest.mark.parametrize("terminal", [Tty(tty=False), Tty(broken=True)])
def test_no_terminal_is_no_bell(terminal: Tty, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", terminal)
    with pytest.raises(HornError, match="terminal"):
        Bell("bell", 0).sound(LOWER, never)


def test_a_command_is_told_how_urgent_it_is(tmp_path: Path) -> None:
    command, notes = noting(tmp_path, "p{priority}", "level={escalation}", "as is")
    Program("siren", 0, command).sound(LOUDEST, never)
    Program("siren", 0, command).sound(LOWER, never)
    assert notes.read_text() == "p1 level=2 as is\np3 level=0 as is\n"


def test_a_player_gets_the_file_of_the_well_file_where_it_says(tmp_path: Path) -> None:
    file = tmp_path / "own siren.wav"
    file.touch()
    command, notes = noting(tmp_path, "--in={file}", "--loud")
    Player("speaker", 0, command, str(file), tmp_path).sound(URGENT, never)
    assert notes.read_text() == f"--in={file} --loud\n"
    file.unlink()
    with pytest.raises(HornError, match=f"there is no file {file}"):
        Player("speaker", 0, command, str(file), tmp_path).sound(URGENT, never)


def test_tones_that_cannot_be_written_are_a_failure_in_words(tmp_path: Path) -> None:
    (tmp_path / "horn").touch()
    with pytest.raises(HornError, match="the tones cannot be written"):
        Player("speaker", 0, ["x"], "", tmp_path / "horn").sound(URGENT, never)


def lines_of(relay: SerialRelay) -> tuple[bool, bool]:
    """Return RTS and DTR as the other end of a looped plug reads them: as CTS and DSR."""
    port = relay._port
    assert port is not None
    return bool(port.cts), bool(port.dsr)


@pytest.mark.parametrize(("line", "on"), [("rts", (True, False)), ("dtr", (False, True))])
def test_a_relay_closes_for_the_pass_and_opens_after_it(line: str, on: tuple[bool, bool]) -> None:
    """The ``loop://`` of pySerial 3.5: RTS reads back as CTS, DTR as DSR."""
    relay = SerialRelay("lamp", 0, "loop://", line)
    seen: list[tuple[bool, bool]] = []

    def watched() -> bool:
        seen.append(lines_of(relay))
        return len(seen) > 2

    relay.sound(LOWER, watched)
    assert set(seen) == {on}
    assert lines_of(relay) == (False, False)
    relay.close()


def test_a_relay_stays_closed_at_the_last_step_until_nothing_calls() -> None:
    """R-14."""
    relay = SerialRelay("lamp", 0, "loop://", "rts")
    relay.sound(LOUDEST, lambda: True)
    assert lines_of(relay) == (True, False)
    relay.rest()
    assert lines_of(relay) == (False, False)
    relay.close()


def test_a_relay_on_a_port_that_is_not_there_says_which() -> None:
    relay = SerialRelay("lamp", 0, "/dev/no-such-port", "rts")
    relay.rest()
    with pytest.raises(HornError, match=r"^line RTS of /dev/no-such-port: No such file"):
        relay.sound(URGENT, never)


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo terminal")
def test_a_port_without_control_lines_says_so() -> None:
    """A pseudo terminal has none (Linux: TIOCMBIS gives ENOTTY)."""
    ours, theirs = os.openpty()
    relay = SerialRelay("lamp", 0, os.ttyname(theirs), "dtr")
    try:
        with pytest.raises(HornError, match="line DTR"):
            relay.sound(URGENT, never)
        assert relay._port is None
    finally:
        relay.close()
        os.close(ours)
        os.close(theirs)


def test_commands_switch_a_relay_once_on_and_once_off(tmp_path: Path) -> None:
    on, notes = noting(tmp_path, "on")
    relay = SwitchCommands("lamp", 0, on, [*on[:-1], "off"])
    relay.rest()
    for _ in range(3):
        relay.sound(URGENT, lambda: True)
    relay.rest()
    relay.rest()
    assert notes.read_text() == "on\noff\n"


def test_what_could_not_be_switched_off_is_tried_again(tmp_path: Path) -> None:
    on, notes = noting(tmp_path, "on")
    relay = SwitchCommands("lamp", 0, on, ["/no/such/switch"])
    relay.sound(URGENT, lambda: True)
    for _ in range(2):
        with pytest.raises(HornError, match="no program"):
            relay.rest()
    assert notes.read_text() == "on\n"


def test_a_relay_that_cannot_be_switched_on_is_left_off(tmp_path: Path) -> None:
    off, notes = noting(tmp_path, "off")
    relay = SwitchCommands("lamp", 0, [sys.executable, "-c", "raise SystemExit(1)"], off)
    with pytest.raises(HornError, match="ended with code 1"):
        relay.sound(URGENT, never)
    assert notes.read_text() == "off\n"


def test_a_silence_is_heard_at_once() -> None:
    relay = SerialRelay("lamp", 0, "loop://", "rts")
    start = time.monotonic()
    relay.sound(URGENT, lambda: time.monotonic() - start > 0.1)
    assert time.monotonic() - start < 0.5
    relay.close()


def test_every_kind_of_the_well_file_is_built_with_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    config = HornConfig.model_validate(
        {
            "outputs": [
                {"kind": "bell"},
                {"kind": "sound", "player": ["aplay"], "name": "speaker"},
                {"kind": "command", "command": ["siren"], "escalation": 1},
                {"kind": "command", "command": ["siren"], "escalation": 2},
                {"kind": "relay", "port": "loop://", "line": "dtr"},
                {"kind": "relay", "on": ["a"], "off": ["b"], "name": "lamp"},
            ]
        }
    )
    monkeypatch.setattr(sys, "stdout", Tty())
    built = [(type(o), o.name, o.escalation) for o in outputs_of(config, tmp_path)]
    assert built == [
        (Bell, "bell", 0), (Player, "speaker", 0), (Program, "command 1", 1),
        (Program, "command 2", 2), (SerialRelay, "relay", 0), (SwitchCommands, "lamp", 0),
    ]  # fmt: skip
    monkeypatch.setattr(sys, "stdout", Tty(tty=False))
    assert next(o.name for o in outputs_of(config, tmp_path)) == "speaker"
