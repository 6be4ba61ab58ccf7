"""``kellydown alarms`` as a person types it (R-16, R-18, R-19)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from adapters.config_file import example_text
from tests.commands import done, kellydown, make_tour, reviewed


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_tour(tmp_path_factory.mktemp("alarms"), "pack-off", 1.0)


def written(folder: Path, old: str = "", new: str = "") -> Path:
    path, text = folder / "w.toml", example_text()
    assert old in text
    path.write_text(text.replace(old, new, 1) if old else text, encoding="utf-8")
    return path


def test_the_list_gives_every_alarm_with_all_that_belongs_to_it(tmp_path: Path) -> None:
    well = written(tmp_path)
    page = done("alarms", "--well", well).out
    found = json.loads(done("alarms", "--well", well, "--json").out)["alarms"]
    assert len(found) == example_text().count("[[alarms]]")
    for one in found:
        assert f"P{one['priority']}  {one['label']}   ({one['id']})" in page
        for key in ("cause", "consequence", "action", "limit_reason"):
            assert one[key]
            assert one[key] in " ".join(page.split())
        parts = one["sample_s"] + one["filter_s"] + one["on_delay_s"] + one["refresh_s"]
        assert one["reaction_s"] == parts
    assert max(map(len, page.splitlines())) <= 80
    assert page.index("P1 ") < page.index("P2 ") < page.index("P3 ")


def test_the_list_speaks_the_units_of_the_well(tmp_path: Path) -> None:
    """NIST SP 811 (2008), B.8: 1.0 m3 is 6.2898 bbl and 0.16 m3 1.006 bbl."""
    well = written(tmp_path, 'display = "metric"', 'display = "oilfield"')
    page = done("alarms", "--well", well).out
    assert "Pit gain since zero above 6.3 bbl, deadband 1.0 bbl, off-delay 30 s" in " ".join(
        page.split()
    )
    assert "Mud temperature out above 179.6 °F, deadband 1.8 °F" in " ".join(page.split())


def test_an_alarm_later_than_its_time_is_flagged_and_is_a_problem(tmp_path: Path) -> None:
    """R-19. The torque alarm: 1 + 5 + 0.5 s of 60."""
    calm = written(tmp_path)
    assert kellydown("alarms", "--well", calm).code == 0
    late = written(tmp_path, "high_tf = 145", "high_tf = 145\nre_alarm_s = 60")
    text = late.read_text(encoding="utf-8")
    late.write_text(text.replace("time_available_s = 10\n", "time_available_s = 1\n"), "utf-8")
    said = kellydown("alarms", "--well", late)
    assert said.code == 1
    assert "refresh 0.5; LATER THAN THE TIME THERE IS" in " ".join(said.out.split())


def test_a_recording_is_measured_against_the_targets(tour: Path) -> None:
    found = json.loads(done("alarms", tour, "--json").out)
    assert found["alarms"] == len(reviewed(tour)["alarms"]) > 0
    assert found["hours"] == pytest.approx(1.0, abs=0.01)
    page = done("alarms", tour).out
    assert "average in 10 min" in page
    assert max(map(len, page.splitlines()[1:])) <= 80


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ([], 2, "give --well WELL.toml for its list, or a RECORDING"),
        (["a.kdrec", "--well", "w.toml"], 2, "give --well WELL.toml for its list, or a RECORDING"),
        (["nowhere.kdrec"], 2, "nowhere.kdrec: no such recording"),
    ],
)
def test_what_cannot_be_done_is_refused_in_words(words: list[str], code: int, said: str) -> None:
    found = kellydown("alarms", *words)
    assert found.code == code
    assert said in found.err
    assert found.out == ""
