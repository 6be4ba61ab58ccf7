"""``connections``, ``stands``, ``wear`` and ``enter`` as a person types them."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.records.recompute import compare
from tests.cards import CONFIG, running_watch
from tests.commands import done, kellydown, make_tour


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return two and a half hours of soft rock: three connections."""
    return make_tour(tmp_path_factory.mktemp("upkeep"), "quiet-soft", 2.5)


def asked(*arguments: str | Path) -> dict[str, Any]:
    """Return what a command says as JSON."""
    found: dict[str, Any] = json.loads(done(*arguments, "--json").out)
    return found


def test_connections_agree_with_the_truth_beside_the_stream(tour: Path) -> None:
    """Slips within 3 s: the project's own target."""
    truth = json.loads(tour.with_suffix(".truth.json").read_text(encoding="utf-8"))["connections"]
    found = asked("connections", tour)["connections"]
    assert len(found) == len(truth) >= 2
    for one, real in zip(found, truth, strict=True):
        length = real["slips_out"] - real["slips_in"]
        assert one["seconds"]["slip_to_slip"] == pytest.approx(length, abs=3.0)
        assert one["bit_depth_m"] == pytest.approx(real["bit_depth_m"], abs=0.1)
        assert one["kind"] == "drilling"


def test_connections_and_tours_are_pages_that_fit_a_terminal(tour: Path) -> None:
    log, tours = done("connections", tour).out, done("connections", tour, "--tour").out
    assert all(len(line) <= 80 for line in [*log.splitlines(), *tours.splitlines()])
    assert log.startswith("CONNECTIONS   Emberholt 4   rig Quernstone")
    assert "slip to slip" in log
    assert "tour 2026-03-14 06:00: 2.50 h recorded" in tours
    assert "tours start on the clock of UTC" in tours


def test_stands_agree_with_the_connections(tour: Path) -> None:
    stands = asked("stands", tour)["stands"]
    connections = asked("connections", tour)["connections"]
    assert len(stands) == len(connections) + 1
    for stand, one in zip(stands[1:], connections, strict=True):
        assert stand["seconds"]["slip_to_slip"] == one["seconds"]["slip_to_slip"]
        assert stand["length_m"] == pytest.approx(28.5, abs=0.15)
    page = done("stands", tour).out
    assert all(len(line) <= 80 for line in page.splitlines())
    assert page.startswith("STANDS   Emberholt 4")
    assert "pick-up drag:" in page


def test_wear_counts_pumps_and_line_and_asks_for_the_crown_check(tour: Path) -> None:
    found = asked("wear", tour)
    assert found["crown_check"]["due"] is True
    assert found["crown_check"]["reason"] == "the tour began at 2026-03-14 06:00 UTC"
    assert 7000.0 < found["pumps"][0]["hours_s"] < 9000.0
    assert found["line"]["seen_J"] > 1e7
    assert "CROWN CHECK DUE" in done("wear", tour).out


@pytest.mark.parametrize("command", ["connections", "stands", "wear"])
def test_what_is_no_recording_is_refused(command: str, tmp_path: Path) -> None:
    said = kellydown(command, tmp_path / "none.kdrec")
    assert said.code == 2
    assert "no such recording" in said.err


@pytest.mark.usefixtures("watch")
def test_what_is_entered_is_kept_and_the_check_is_due_until_signed(live: Path) -> None:
    """SC-23, second half, by hand on a watch that runs."""
    assert done("enter", "crown-check", live, "--by", "Ines").out == (
        "crown-check: entered by Ines\n"
    )
    assert asked("wear", live)["crown_check"]["due"] is False
    done("enter", "slip", live, "length=40ft", "cut=80ft", "reason=programme", "--by", "Odo")
    found = asked("wear", live)
    assert found["crown_check"]["due"] is True
    assert "the line was slipped" in found["crown_check"]["reason"]
    assert found["slip"]["length_m"] == pytest.approx(40 * 0.3048)
    assert found["slip"]["cut_m"] == pytest.approx(80 * 0.3048)
    done("enter", "crown-check", live, "--by", "Odo")
    assert asked("wear", live)["crown_check"]["signed_by"] == "Odo"
    done("enter", "pump", live, "pump=2", "what=liner", "--by", "Ines")
    counted = [(p["pump"], p["counted_from"], p["by"]) for p in asked("wear", live)["pumps"]]
    assert counted == [("1", "recording", ""), ("2", "recording", ""), ("2", "liner", "Ines")]


@pytest.mark.usefixtures("watch")
@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("slip",), "length is missing: length=12m cut=24m"),
        (("slip", "length=12"), "write a length with its unit: 12m or 40ft"),
        (("slip", "length=-3m"), "write a length with its unit"),
        (("slip", "length=0m"), "nothing was slipped and nothing cut"),
        (("slip", "length=1m", "length=2m"), "length is given twice"),
        (("slip", "pump=1"), "it takes length=, cut=, reason="),
        (("pump", "pump=9", "what=liner"), "no pump '9'; there are 1, 2"),
        (("pump", "pump=1"), "what is missing: pump=1 what=liner"),
        (("crown-check", "x=1"), "it takes nothing more"),
    ],
)
def test_what_cannot_be_entered_is_refused_in_words(
    live: Path, words: tuple[str, ...], why: str
) -> None:
    said = kellydown("enter", words[0], live, *words[1:], "--by", "Ines")
    assert said.code == 2
    assert why in said.err


@pytest.mark.usefixtures("watch")
def test_nobody_enters_without_a_name(live: Path) -> None:
    said = kellydown("enter", "crown-check", live)
    assert said.code == 2
    assert "--by WHO" in said.err


def test_nothing_is_entered_into_a_recording_that_nobody_writes(tour: Path) -> None:
    said = kellydown("enter", "crown-check", tour, "--by", "Ines")
    assert said.code == 1
    assert "no watch is writing this recording" in said.err


def test_a_recording_with_entries_is_worked_out_again_to_the_same_bytes(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    with running_watch(path):
        done("enter", "slip", path, "length=12m", "--by", "Ines")
        done("enter", "pump", path, "pump=1", "what=liner", "--by", "Ines")
        done("enter", "crown-check", path, "--by", "Ines")
    with closing(SqliteRecording(str(path))) as recording:
        assert sum('"given"' in line.text for line in recording.journal()) == 3
        assert compare(recording, CONFIG) == []
