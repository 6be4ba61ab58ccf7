from __future__ import annotations

from pathlib import Path

import pytest

from adapters.config_file import example_text, load_well, parse_well
from engine.config_horn import HornConfig
from engine.errors import ConfigError

BELL = '[[horn.outputs]]\nkind = "bell"\n'


def problems(text: str) -> list[str]:
    """Return what is wrong with the example well with `text` at its end, by line of `text`."""
    first = example_text().count("\n")
    with pytest.raises(ConfigError) as caught:
        parse_well(example_text() + text, "well.toml")
    out = []
    for problem in caught.value.problems:
        line, _, words = problem.removeprefix("line ").partition(": ")
        out.append(f"{int(line) - first}: {words}")
    return out


def test_without_a_table_the_terminals_bell_is_the_horn() -> None:
    config = parse_well(example_text(), "well.toml").horn
    assert config == HornConfig()
    assert config.names() == ("bell",)
    assert config.rings


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('kind = "siren"', "2: horn.outputs.0.kind: no kind 'siren'; write bell, sound, command"),
        ('kind = "sound"', "1: horn.outputs.0.player: missing; a program that plays a WAV file"),
        ('kind = "sound"\nplayer = "aplay -q"',
         '3: horn.outputs.0.player: must be a list of program and arguments: ["aplay", "-q"]'),
        ('kind = "sound"\nplayer = ["aplay"]\nfile = "siren.wav"',
         "4: horn.outputs.0.file: 'siren.wav' is no full path"),
        ('kind = "command"', "1: horn.outputs.0.command: missing; the list of a program and its"),
        ('kind = "command"\ncommand = []', "3: horn.outputs.0.command: needs at least one"),
        ('kind = "relay"', "1: horn.outputs.0.port: missing; write COM3, /dev/ttyUSB1"),
        ('kind = "relay"\nport = "COM4"\nline = "cts"',
         "4: horn.outputs.0.line: no line 'cts'; write rts, dtr"),
        ('kind = "relay"\nport = "COM4"\non = ["a"]', "3: horn.outputs.0.port: give either a port"),
        ('kind = "relay"\non = ["a"]', "1: horn.outputs.0.off: missing; what is switched on must"),
        ('kind = "bell"\nport = "COM4"',
         "3: horn.outputs.0.port: belongs to kind 'relay'; this output is of kind 'bell'"),
        ('kind = "bell"\nescalation = 3', "3: horn.outputs.0.escalation: must be less than or eq"),
        ('kind = "bell"\nescalation = 1', "1: horn.outputs: at least one output must have escala"),
        ('kind = "bell"\nvolume = 1', "3: horn.outputs.0.volume: unknown key; here may stand: "),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_its_line_and_what_would_be_right(text: str, said: str) -> None:
    found = problems(f"[[horn.outputs]]\n{text}\n")
    assert len(found) == 1
    assert found[0].startswith(said)


def test_nobody_can_mute_all_alarms_with_an_empty_list() -> None:
    """R-10: there is no way to mute the tool."""
    assert problems("[horn]\noutputs = []\n") == ["2: horn.outputs: needs at least one, got []"]


def test_all_problems_are_said_at_once() -> None:
    found = problems('[[horn.outputs]]\nkind = "sound"\nport = "x"\n' + BELL.replace("bell", "b"))
    assert [line.split(":")[0] for line in found] == ["1", "3", "5"]


def test_two_outputs_of_one_name_are_told_apart() -> None:
    config = parse_well(example_text() + BELL * 2, "well.toml").horn
    assert config.names() == ("bell 1", "bell 2")


def test_a_file_that_is_not_there_is_said_by_line_when_a_watch_is_to_start(tmp_path: Path) -> None:
    """A recording made with it can be read on any machine."""
    siren, well = tmp_path / "siren.wav", tmp_path / "well.toml"
    text = (
        f'{example_text()}[[horn.outputs]]\nkind = "sound"\nplayer = ["aplay"]\nfile = "{siren}"\n'
    )
    well.write_text(text, encoding="utf-8")
    line = text.count("\n")
    with pytest.raises(ConfigError) as caught:
        load_well(str(well))
    assert caught.value.problems == (f"line {line}: horn.outputs.0.file: there is no file {siren}",)
    assert parse_well(text, "the recording's well file").horn.outputs[0].file == str(siren)
    siren.touch()
    assert load_well(str(well))[0].horn.names() == ("sound",)
