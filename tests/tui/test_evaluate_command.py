"""``kellydown evaluate`` as a person types it, with a plan of some minutes of one rig."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from adapters import frozen_settings
from engine.units import BBL
from tests.commands import done, kellydown
from tui.commands import evaluate

SMALL = ("evaluate", "--seeds", "3-4", "--hours", "0.5", "--usual-rig-only")
NONE = (*SMALL, "--runs", "0")


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, dict[str, Any], str]:
    """The page, the figures and what was said of three kicks, their twins and two tours."""
    folder = tmp_path_factory.mktemp("evaluate")
    paths = folder / "page.md", folder / "figures.json"
    said = done(*SMALL, "--runs", "1", "--kinds", "flow_pumps_off", "--noise", "calm",
                "--workers", "1", "--out", paths[0], "--json", paths[1])  # fmt: skip
    page, figures = (path.read_text(encoding="utf-8") for path in paths)
    return page, json.loads(figures), said.err


def test_kicks_are_called_and_their_twins_are_not(
    report: tuple[str, dict[str, Any], str],
) -> None:
    """Calm pits, 0.2 to 1 bbl/min: each is called with less than 10 bbl in the well."""
    _, found, _ = report
    (kick,) = found["usual"]["events"]
    assert (kick["kind"], kick["built"], kick["runs"], kick["called_runs"]) == (
        "flow_pumps_off",
        True,
        3,
        3,
    )
    assert kick["dv95_m3"] < 10 * BBL
    assert found["usual"]["twins"]["flow_pumps_off"]["with_false"] == 0
    first = found["usual"]["labels"]["flow_pumps_off"]
    assert sum(first.values()) == 3
    assert set(first) <= {"flow_pumps_off", "influx_at_connection"}
    assert found["usual"]["false"]["all"]["hours"] == 1.5
    assert found["other_rigs"]["hours"] == 0


def test_the_figures_can_be_made_again_from_the_runs(
    report: tuple[str, dict[str, Any], str],
) -> None:
    _, found, _ = report
    runs = [r for r in found["runs"] if r["role"] == "event"]
    delays = []
    for run in runs:
        start, _ = run["event"]
        hits = [c["at"] - start for c in run["calls"] if c["severity"] in ("warning", "critical")]
        delays.append(min(hits))
    assert max(delays) == pytest.approx(found["usual"]["events"][0]["delay_p95_s"], abs=0.01)
    assert {r["seed"] for r in found["runs"]} == {3, 4}


def test_page_and_figures_say_what_they_were_made_with(
    report: tuple[str, dict[str, Any], str],
) -> None:
    page, found, said = report
    command = (
        "kellydown evaluate --seeds 3-4 --runs 1 --hours 0.5 --noise calm "
        "--kinds flow_pumps_off --usual-rig-only"
    )
    assert f"    {command}\n" in page
    assert found["command"] == command
    assert found["settings_sha256"] in page
    assert ("Thresholds FROZEN" in page) == found["frozen"]
    assert "9 runs, 100 %" in said
    assert "A full report: kellydown evaluate --seeds 10000-10103 --runs 5" in said


def test_two_processes_give_the_same_figures_as_one() -> None:
    one, two = (done(*NONE, "--workers", n).out for n in ("1", "2"))
    assert one == two
    assert "| all | " in one


def test_the_default_plan_is_a_third_of_an_hour_of_two_cores_at_most() -> None:
    """Its hours at the speed the command itself assumes."""
    from engine.score.plan import Wanted, cases

    hours = sum(case.seconds() for case in cases(Wanted(evaluate.DEFAULT_SEEDS))) / 3600.0
    assert hours * evaluate.SECONDS_AN_HOUR / 60.0 <= 20.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--seeds", "9-3"), "the first seed must not be above the last, got '9-3'"),
        (("--seeds", "x"), "must be seeds such as 1-20, got 'x'"),
        (("--workers", "0"), "must be a whole number above 0, got '0'"),
        (("--kinds", "flood"), "no kind 'flood'; there are influx"),
        (("--noise", "loud"), "no noise 'loud'; there are calm"),
        (("--hours", "0"), "must be a number above 0"),
        (("--out", "{here}/no/page.md"), "there is no folder"),
        (("--out", "{here}/there"), "exists already; nothing was written"),
        (("--out", "{here}/a", "--json", "{here}/a"), "--json and --out name one file"),
        (("--out", "{here}", "--force"), "is a folder; name a file"),
    ],
)
def test_what_cannot_be_done_is_refused_before_anything_is_run(
    tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    (tmp_path / "there").write_text("kept", encoding="utf-8")
    answer = kellydown(*NONE, *(word.format(here=tmp_path) for word in words))
    assert answer.code == 2
    assert said in answer.err
    assert (tmp_path / "there").read_text(encoding="utf-8") == "kept"
    assert list(tmp_path.iterdir()) == [tmp_path / "there"]


def test_force_replaces_a_page(tmp_path: Path) -> None:
    path = tmp_path / "page.md"
    path.write_text("old", encoding="utf-8")
    done(*NONE, "--seeds", "3-3", "--hours", "0.1", "--out", path, "--force", "--workers", "1")
    assert path.read_text(encoding="utf-8").startswith("# How good the detectors are")


def test_freeze_writes_the_hash_and_runs_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[str] = []
    monkeypatch.setattr(evaluate, "freeze", written.append)
    said = done("evaluate", "--freeze")
    assert said.out == f"frozen: {written[0]}\n"
    assert said.err == ""
    assert frozen_settings.FROZEN.name == "frozen_detect.toml"
