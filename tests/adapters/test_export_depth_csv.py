"""The CSV by depth: a line a metre, the units of its header, unknown empty and said why."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from adapters.config_file import example_text
from adapters.export_depth_csv import HEADER, export_depth_csv
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.block import Block
from engine.config import WellConfig
from engine.errors import InputError
from tests.helpers import full_table
from tests.tables import NAN, T0, table_of, well
from tui.cli import main

RPM = 2 * np.pi / 60


def recorded(folder: Path, n: int = 400, **columns: object) -> Path:
    """Record a run of 5 mm/s from 2400 m; channels not given are unknown."""
    given = {
        "hole_depth": 2400 + 5e-3 * np.arange(n), "on_bottom": 1.0, "weight_on_bit": 150e3,
        "rotary": 70 * RPM, "torque": 8e3, "off_bottom_torque": 3e3,
    } | columns  # fmt: skip
    table: Mapping[str, Block] = full_table(T0 + np.arange(n)) | table_of(n, **given)
    path = folder / "a.kdrec"
    meta = {
        "source": "synthetic", "synthetic": "1", "well_file": example_text(), "well": "x",
        "program": "0", "created": "x", "config_hash": "x",
    }  # fmt: skip
    with closing(create_recording(path, meta)) as recorder:
        recorder.rows(table)
    return path


def exported(path: Path, config: WellConfig | None = None) -> list[dict[str, str]]:
    out = path.with_suffix(".csv")
    with closing(SqliteRecording(str(path))) as recording:
        lines = export_depth_csv(recording, config or well(), out, force=True)
    with out.open(encoding="ascii", newline="") as file:
        rows = list(csv.DictReader(file))
    assert lines == len(rows)
    return rows


def test_a_line_a_metre_in_the_units_of_the_header(tmp_path: Path) -> None:
    """By hand: 5 mm/s is 18 m/h; 150 kN on 8.5 in and 5 kN m at 70 rpm make 204 MPa."""
    first, second = exported(recorded(tmp_path))
    assert (first["hole_depth_m"], second["hole_depth_m"]) == ("2401", "2402")
    assert float(first["rop_m_h"]) == pytest.approx(18.0, abs=0.01)
    assert float(first["weight_on_bit_kN"]) == pytest.approx(150.0)
    assert float(first["rotary_rpm"]) == pytest.approx(70.0)
    assert (float(first["torque_kNm"]), first["turned_percent"]) == (8.0, "100")
    area = np.pi / 4 * 0.2159**2
    mpa = (150e3 / area + 5e3 * 70 * RPM / (area * 5e-3)) / 1e6
    assert float(first["specific_energy_MPa"]) == pytest.approx(mpa, abs=0.01)
    assert first["ended_utc"].endswith("Z")
    assert {first["source"], first["notes"]} == {"synthetic", ""}


def test_unknown_is_empty_and_the_note_says_why(tmp_path: Path) -> None:
    row, _ = exported(recorded(tmp_path, torque=NAN), well(profile={}))
    assert row["specific_energy_MPa"] == row["torque_kNm"] == row["corrected_d_exponent"] == ""
    assert "torque_kNm: unknown for more than half of the time" in row["notes"]
    assert "corrected_d_exponent: no normal formation pressure in the well file" in row["notes"]
    assert row["d_exponent"] != ""


def test_a_part_of_a_metre_and_a_slide_are_noted(tmp_path: Path) -> None:
    rotary = np.where(np.arange(300) < 40, 0.0, 70 * RPM)
    whole, part = exported(recorded(tmp_path, 300, rotary=rotary))
    assert whole["notes"].startswith("slid for 19%")
    assert "d_exponent: the string turned for 8" in whole["notes"]
    assert part["notes"] == "not all of the metre was seen"
    assert float(part["drilled_m"]) == pytest.approx(0.495, abs=0.01)


def test_no_hole_gives_the_header_alone(tmp_path: Path) -> None:
    path = recorded(tmp_path, on_bottom=0.0)
    assert exported(path) == []
    assert path.with_suffix(".csv").read_text() == ",".join(HEADER) + "\n"


def test_a_file_that_exists_is_kept(tmp_path: Path) -> None:
    path = recorded(tmp_path)
    (tmp_path / "a.csv").write_text("mine")
    with (
        closing(SqliteRecording(str(path))) as recording,
        pytest.raises(InputError, match="exists already"),
    ):
        export_depth_csv(recording, well(), tmp_path / "a.csv")
    assert (tmp_path / "a.csv").read_text() == "mine"


def test_the_command_writes_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = recorded(tmp_path), tmp_path / "b.csv"
    assert main(["export", str(path), "--format", "depth-csv", "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"{out}: 2 metres of new hole\n"
    assert len(out.read_text().splitlines()) == 3
