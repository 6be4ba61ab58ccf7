"""``well check`` says what a valid file is still too short for."""

from __future__ import annotations

from pathlib import Path

import pytest

from adapters.config_file import example_text
from tui.cli import main


def said(folder: Path, text: str, capsys: pytest.CaptureFixture[str]) -> str:
    path = folder / "w.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["well", "check", str(path)]) == 0
    return capsys.readouterr().out


def test_the_example_lacks_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "unknown" not in said(tmp_path, example_text(), capsys)


def test_channels_that_will_be_unknown_are_named_with_what_they_need(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = example_text().replace("nozzles_in32 =", "# nozzles_in32 =")
    text = text.replace("normal_formation_density_sg", "# normal_formation_density_sg")
    text = text.replace("hook_load_limit_tf", "# hook_load_limit_tf")
    out = said(tmp_path, text, capsys)
    lacking = "expected_pressure, pressure_residual, bit_pressure_drop, bit_power"
    assert f"will be unknown: {lacking}\n  no nozzles in the well file: under [bit]" in out
    assert "will be unknown: corrected_d_exponent\n  no normal formation pressure" in out
    assert "will be unknown: overpull_margin\n  no limit in the well file: under [rig]" in out
    assert out.count("will be unknown") == 3
