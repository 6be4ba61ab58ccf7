"""The command line as tests call it: in this process, what it said in the caller's hands."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any, NamedTuple

from adapters.config_file import example_text
from tui.cli import main


class Said(NamedTuple):
    """What a command left: its exit code and its two streams."""

    code: int
    out: str
    err: str


def kellydown(*arguments: str | Path) -> Said:
    """Run one command that needs no screen."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = main([str(a) for a in arguments])
        except SystemExit as end:  # argparse ends so, also after --help
            code = end.code if isinstance(end.code, int) else 1
    return Said(code, out.getvalue(), err.getvalue())


def done(*arguments: str | Path) -> Said:
    """Run one command that must succeed."""
    said = kellydown(*arguments)
    assert said.code == 0, said
    return said


def make_tour(folder: Path, scenario: str, hours: float, seed: int = 7) -> Path:
    """Simulate a scenario and import it with the example well; return the recording."""
    well = folder / "well.toml"
    if not well.exists():
        well.write_text(example_text(), encoding="utf-8")
    wits, recording = folder / f"{scenario}.wits", folder / f"{scenario}.kdrec"
    done("simulate", scenario, "--seed", str(seed), "--hours", str(hours), "--out", wits)
    done("import", wits, "--well", well, "--out", recording)
    return recording


def reviewed(recording: Path, *window: str) -> dict[str, Any]:
    """Return the review of a recording as JSON gives it."""
    found: dict[str, Any] = json.loads(done("review", recording, "--json", *window).out)
    return found
