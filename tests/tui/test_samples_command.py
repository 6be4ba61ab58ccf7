"""``kellydown samples`` as a person types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from engine.records.journal import from_iso
from tui.cli import main
from tui.commands.samples import parse_length


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an hour and a half of the synthetic rig in soft rock."""
    folder = tmp_path_factory.mktemp("samples")
    well, wits, out = folder / "w.toml", folder / "s.wits", folder / "s.kdrec"
    assert main(["well", "init", str(well)]) == 0
    simulate = ["simulate", "quiet-soft", "--seed", "3", "--hours", "1.5", "--out", str(wits)]
    assert main(simulate) == 0
    assert main(["import", str(wits), "--well", str(well), "--out", str(out)]) == 0
    return out


def test_the_page_tells_the_next_sample(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["samples", str(recording), "--every", "5m"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[2].startswith("next sample from 2435.00 m reaches the shakers at 07:")
    assert lines[2].endswith(" strokes to go")
    assert [line.split()[0] for line in lines[5:]] == [f"{d}.00" for d in range(2410, 2440, 5)]
    assert all(len(line) <= 80 for line in lines)


def test_json_agrees_with_the_truth_beside_the_simulated_stream(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The tracer of the simulator, within half a metre."""
    assert main(["samples", str(recording), "--every", "15ft", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    truth = json.loads((recording.parent / "s.truth.json").read_text(encoding="utf-8"))
    lagged, start = truth["columns"]["lagged_depth_m"], from_iso(truth["start"])
    assert found["every_m"] == pytest.approx(4.572)
    assert found["lagged_m"] == pytest.approx(lagged[-1], abs=0.5)
    up = [s for s in found["samples"] if s["state"] == "surfaced"]
    assert len(up) >= 3
    for sample in up:
        second = int(from_iso(sample["at_shakers"]) - start)
        assert sample["depth_m"] == pytest.approx(lagged[second - 1], abs=0.5)
    assert found["next"] == next(s for s in found["samples"] if s["state"] == "coming")


@pytest.mark.parametrize("text", ["5", "m", "-5m", "0m", "5kg", "", "nanm", "1e999m"])
def test_an_interval_without_a_length_in_it_is_refused(
    text: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["samples", str(recording), f"--every={text}"]) == 2
    assert "write a length above 0 with its unit: 5m or 15ft" in capsys.readouterr().err


def test_a_length_takes_any_unit_of_length() -> None:
    assert [parse_length(x) for x in ("5m", " 2.5 m ", "10ft", ".5m", "500cm")] == pytest.approx(
        [5.0, 2.5, 3.048, 0.5, 5.0]
    )
