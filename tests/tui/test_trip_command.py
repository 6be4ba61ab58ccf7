"""``kellydown trip`` as a person types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from engine.records.journal import from_iso
from tui.cli import main


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a trip of the synthetic rig on which each stand swabs formation in."""
    folder = tmp_path_factory.mktemp("trip")
    well, wits, out = folder / "w.toml", folder / "s.wits", folder / "s.kdrec"
    assert main(["well", "init", str(well)]) == 0
    simulate = ["simulate", "short-fill", "--seed", "2", "--hours", "1.5", "--out", str(wits)]
    assert main(simulate) == 0
    assert main(["import", str(wits), "--well", str(well), "--out", str(out)]) == 0
    return out


def test_the_fill_card_stands_on_top(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """R-26: stands and fill volume, pipe and collars; nobody has posted one yet."""
    assert main(["trip", str(recording)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "NO FILL CARD IS POSTED; this is the one by the well file"
    pipe = next(line for line in lines if "drill pipe, dry: each stand" in line)
    assert pipe.split()[-2:] == ["0.116", "m³"]  # 28.5 m of 31.9 kg/m over 7850 kg/m3
    title = next(i for i, line in enumerate(lines) if line.startswith("TRIP SHEET"))
    assert title > lines.index(pipe)
    assert all(len(line) <= 80 for line in lines)
    assert lines[-1].startswith("trip 1 out: 4")


def test_json_shows_what_was_swabbed_in(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The simulator's truth: 45 % of the steel pulled after 50 minutes."""
    assert main(["trip", str(recording), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    truth = json.loads((recording.parent / "s.truth.json").read_text(encoding="utf-8"))
    swabbed, start = truth["columns"]["influx_volume_m3"], from_iso(truth["start"])
    assert [one["stand"] for one in found["stands"]] == [*range(1, len(found["stands"]) + 1)]
    assert len(found["stands"]) >= 40
    for one in found["stands"]:
        second = int(from_iso(one["at"]) - start)
        assert one["total_difference_m3"] == pytest.approx(swabbed[second - 1], abs=0.025)
    assert found["stands"][-1]["total_difference_m3"] > 0.79


def test_what_cannot_be_opened_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trip", str(tmp_path / "none.kdrec")]) != 0
    assert "none.kdrec" in capsys.readouterr().err
