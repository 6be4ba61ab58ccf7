"""The command line: help, exit codes 0, 1 and 2, and errors in words."""

from __future__ import annotations

import argparse
import os
import shlex
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from adapters.config_file import example_text
from adapters.sqlite_store import create_recording
from tests.commands import done, kellydown, make_tour
from tui.cli import parser

KELLYDOWN = [sys.executable, "-m", "tui.cli"]
ROOT = Path(__file__).parents[2]


def subcommands() -> dict[str, argparse.ArgumentParser]:
    (found,) = [a for a in parser()._actions if isinstance(a, argparse._SubParsersAction)]
    return dict(found.choices)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a tour of 20 minutes and all kinds of files that are none."""
    made = tmp_path_factory.mktemp("tour")
    make_tour(made, "quiet", 1 / 3)
    (made / "quiet.kdrec").rename(made / "t.kdrec")
    (made / "bad.toml").write_bytes((ROOT / "tests/data/bad_well.toml").read_bytes())
    (made / "empty").touch()
    (made / "letter.txt").write_text("Dear driller,\nall is well.\n", encoding="utf-8")
    (made / "table.csv").write_text("time,depth\n1,2\n", encoding="utf-8")
    return made


@pytest.fixture(autouse=True)
def _here(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    monkeypatch.setenv("KELLYDOWN_DATA", str(folder / "data"))


@pytest.mark.parametrize("name", subcommands())
def test_every_command_has_help_with_an_example_that_can_be_typed(name: str) -> None:
    said = kellydown(name, "--help")
    assert (said.code, said.err) == (0, "")
    example = said.out.split("example:\n", 1)[1].strip().splitlines()[0]
    words = shlex.split(example)
    assert words[:2] == ["kellydown", name]
    assert parser().parse_args(words[1:]).run == subcommands()[name].get_default("run")


def test_the_help_lists_every_command_and_the_exit_codes() -> None:
    said = kellydown("--help")
    assert said.code == 0
    listed = [line.split()[0] for line in said.out.splitlines() if line.startswith("    ")]
    assert set(subcommands()) <= set(listed)
    assert "exit codes: 0 all well, 1 a problem was found, 2 the command was used wrongly" in (
        said.out
    )
    assert "example:\n  kellydown\n" in said.out


NUMBER = "must be a number above 0, got"
BAD_USE = [
    ("simulate", "name a scenario"),
    ("simulate quiet", "give --out FILE.wits or --port PORT"),
    ("simulate nope --out n.wits", "no scenario 'nope'; there are quiet, "),
    ("simulate quiet --out n.wits --port loop://", "not allowed with argument --out"),
    ("simulate quiet --out n.wits --seed -1", "whole number, 0 or more, got '-1'"),
    ("simulate quiet --out n.wits --seed 1.5", "whole number, 0 or more, got '1.5'"),
    ("simulate quiet --out n.wits --hours -2", f"--hours: {NUMBER} '-2'"),
    ("simulate quiet --out n.wits --hours inf", f"--hours: {NUMBER} 'inf'"),
    ("simulate quiet --out n.wits --hours soon", f"--hours: {NUMBER} 'soon'"),
    ("simulate quiet --out n.wits --hours 1e-5", "less than one packet"),
    ("simulate quiet --out n.wits --start yesterday", "'yesterday': write 2026-03-14T06:00:00Z"),
    ("simulate quiet --out no/n.wits", "no/n.wits: there is no folder no"),
    ("simulate quiet --out t.kdrec", "t.kdrec: exists already"),
    ("simulate quiet --port loop:// --baud 0", "--baud: must be a whole number above 0"),
    ("record", "give --well WELL.toml, or --scenario"),
    ("record --well no.toml", "no.toml: no such well file; write one with: kellydown well init"),
    ("record --scenario nope --out n.kdrec", "no scenario 'nope'"),
    ("record --scenario quiet --speed 0 --out n.kdrec", f"--speed: {NUMBER} '0'"),
    ("record --scenario quiet --history-s -1 --out n.kdrec", "must be a number, 0 or more"),
    ("record --well well.toml --speed 5 --out n.kdrec", "--speed and --history-s are for"),
    ("live", "arguments are required: --well"),
    ("live --well no.toml", "no such well file"),
    ("--seed -1", "whole number, 0 or more, got '-1'"),
    ("attach", "no recording in the data folder"),
    ("attach no.kdrec", "no.kdrec: no such recording"),
    ("replay no.kdrec", "no.kdrec: no such recording"),
    ("replay t.kdrec --speed 0", f"--speed: {NUMBER} '0'"),
    ("replay t.kdrec --speed -3", f"--speed: {NUMBER} '-3'"),
    ("replay t.kdrec --speed nan", f"--speed: {NUMBER} 'nan'"),
    ("replay t.kdrec --at noon", "'noon': write 2026-03-14T06:00:00Z, or 06:00"),
    ("replay t.kdrec --at 18:00", "the recording runs from 2026-03-14T06:00:01.000Z to"),
    ("replay t.kdrec --theme pink", "no 'pink'; use"),
    ("review no.kdrec", "no.kdrec: no such recording"),
    ("review t.kdrec --from 25:00", "'25:00': write"),
    ("review t.kdrec --to 2026-03-32", "'2026-03-32': write"),
    ("review t.kdrec --from 06:10 --to 06:05", "ends at 2026-03-14T06:05:00.000Z, before"),
    ("review t.kdrec --from 2027-01-01", "nothing was recorded in the window"),
    ("samples t.kdrec", "arguments are required: --every"),
    ("export no.kdrec --out n.csv", "no.kdrec: no such recording"),
    ("export t.kdrec --out empty", "empty: exists already; choose another name, or force it"),
    ("export t.kdrec --out no/n.csv", "there is no folder no"),
    ("export t.kdrec --out n.csv --format pdf", "invalid choice: 'pdf'"),
    ("import quiet.wits --well well.toml", "arguments are required: --out"),
    ("import no.wits --well well.toml --out n.kdrec", "no.wits: no such file"),
    ("import quiet.wits --well well.toml --out t.kdrec", "t.kdrec: exists already"),
    ("import quiet.wits --well well.toml --out no/n.kdrec", "there is no folder no"),
    ("import quiet.wits --well well.toml --feed x --out n.kdrec", "no feed 'x' to read by"),
    ("import empty --well well.toml --out n.kdrec", "empty: nothing in it that the feed 'rig'"),
    ("import letter.txt --well well.toml --out n.kdrec", "outside a packet: 2"),
    ("import table.csv --well well.toml --out n.kdrec", "(format wits0) describes"),
    ("well check no.toml", "no.toml: no such file"),
    ("well init well.toml", "well.toml: exists already"),
    ("well init no/n.toml", "there is no folder no"),
    ("well paint n.toml", "invalid choice: 'paint'"),
    ("nonsense", "invalid choice: 'nonsense'"),
    ("review t.kdrec --colour", "unrecognized arguments: --colour"),
]


@pytest.mark.parametrize(("line", "words"), BAD_USE, ids=[line for line, _ in BAD_USE])
def test_bad_use_ends_with_2_and_says_what_would_be_right(
    line: str, words: str, folder: Path
) -> None:
    before = sorted(folder.iterdir())
    said = kellydown(*shlex.split(line))
    assert (said.code, said.out) == (2, "")
    assert words in said.err
    assert "Traceback" not in said.err
    assert said.err.startswith(("kellydown: ", "usage: kellydown"))
    assert sorted(folder.iterdir()) == before, "bad use leaves no file behind"


PROBLEMS = [
    ("review letter.txt", "letter.txt: is not a recording"),
    ("replay empty --check", "empty: is empty"),
    ("export letter.txt --out n.csv", "letter.txt: is not a recording"),
    ("record --well bad.toml --out n.kdrec", "bad.toml: "),
    ("record --well well.toml --out t.kdrec", "only a live recording can be continued"),
    ("simulate quiet --port none://x", "none://x: invalid URL, protocol 'none' not known"),
    ("simulate quiet --port /no/port", "/no/port: "),
]


@pytest.mark.parametrize(("line", "words"), PROBLEMS, ids=[line for line, _ in PROBLEMS])
def test_a_problem_ends_with_1_and_is_named(line: str, words: str, folder: Path) -> None:
    before = sorted(folder.iterdir())
    said = kellydown(*shlex.split(line))
    assert (said.code, said.out) == (1, "")
    assert words in said.err
    assert "Traceback" not in said.err
    assert {p.suffix for p in set(folder.iterdir()) - set(before)} <= {".lock"}


def test_every_problem_of_a_well_file_is_told_with_its_line() -> None:
    said = kellydown("well", "check", "bad.toml")
    assert said.code == 1
    problems = [line for line in said.err.splitlines() if line.startswith("line ")]
    count = int(said.err.splitlines()[0].removeprefix("kellydown: bad.toml: ").split()[0])
    assert len(problems) == count >= 10
    assert any(line.startswith("line 47: alarms.0.armed.1: ") for line in problems)


def test_a_new_well_file_is_good_and_the_scenarios_are_listed(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    assert "written" in done("well", "init", path).out
    assert path.read_text(encoding="utf-8") == example_text()
    assert "good" in done("well", "check", path).out
    listed = done("simulate", "--list").out.splitlines()
    assert {line.split()[0] for line in listed} >= {"quiet", "kick", "kick-twin", "demo"}
    assert all(len(line.split(None, 1)) == 2 for line in listed)


def test_a_recording_with_a_damaged_head_is_named(tmp_path: Path) -> None:
    path = tmp_path / "half.kdrec"
    create_recording(path, {"well": "Emberholt 4", "program": "0"}).close()
    said = kellydown("review", path)
    assert said.code == 1
    assert "its head lacks well_file, created, source" in said.err


@pytest.mark.parametrize("line", ["", "live --well well.toml", "attach t.kdrec", "replay t.kdrec"])
def test_without_a_terminal_no_screen_and_no_watch_is_started(line: str, folder: Path) -> None:
    ended = subprocess.run(
        [*KELLYDOWN, *shlex.split(line)], stdin=subprocess.DEVNULL, capture_output=True, text=True,
        timeout=30,
    )  # fmt: skip
    assert ended.returncode == 2
    assert "a screen needs a terminal" in ended.stderr
    assert not (folder / "data").exists() or not list((folder / "data").iterdir())


def _buffered() -> dict[str, str]:
    """Return an environment in which Python writes when its buffer is full, and at its end."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}


@pytest.mark.parametrize("line", ["review t.kdrec --json", "simulate --list"])
def test_a_reader_that_goes_away_is_no_error(line: str) -> None:
    """As with ``| head -0``: the other end of the pipe is closed."""
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        ended = subprocess.run(
            [*KELLYDOWN, *shlex.split(line)], stdout=write_end, stderr=subprocess.PIPE, text=True,
            env=_buffered(),
        )  # fmt: skip
    finally:
        os.close(write_end)
    assert (ended.returncode, ended.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a disk that is always full")
def test_a_full_disk_behind_stdout_is_told() -> None:
    with open("/dev/full", "w") as full:
        ended = subprocess.run(
            [*KELLYDOWN, "review", "t.kdrec"], stdout=full, stderr=subprocess.PIPE, text=True,
            env=_buffered(),
        )  # fmt: skip
    assert (ended.returncode, ended.stderr) == (1, "kellydown: No space left on device\n")


def test_a_terminal_without_the_characters_gets_others_and_json_stays_json(tmp_path: Path) -> None:
    well = tmp_path / "w.toml"
    text = example_text().replace("Emberholt 4", "Glutkuppe Süd")
    well.write_text(text, encoding="utf-8")
    done("import", "quiet.wits", "--well", well, "--out", tmp_path / "süd.kdrec")
    env = os.environ | {"PYTHONIOENCODING": "ascii"}
    command = [*KELLYDOWN, "review", tmp_path / "süd.kdrec"]
    page = subprocess.run(command, capture_output=True, env=env, check=True).stdout
    assert b"Glutkuppe S?d" in page
    data = subprocess.run([*command, "--json"], capture_output=True, env=env, check=True).stdout
    assert b"s\\u00fcd.kdrec" in data


def test_interrupted_is_a_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(_args: argparse.Namespace) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("tui.commands.review.run", stop)
    assert kellydown("review", "t.kdrec")[::2] == (1, "kellydown: interrupted\n")


def test_screen_options_hold_before_and_behind_the_command() -> None:
    for line in ("--ascii --who Ines attach x", "attach x --ascii --who Ines"):
        args = parser().parse_args(line.split())
        assert (args.ascii, args.who, args.theme) == (True, "Ines", "")
    assert parser().parse_args(["attach", "x"]).ascii is False
    assert parser().parse_args(["--seed", "4", "simulate", "quiet"]).seed == 4


def test_the_version_is_told() -> None:
    assert kellydown("--version").out == f"{metadata.version('kellydown')}\n"
