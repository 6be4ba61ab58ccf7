"""``trial`` and ``trials`` as a person types them (R-25, R-27)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from engine.commands_trial import EndTrial, MarkTrial, OverrideTrial, StartTrial
from engine.engine import Engine
from engine.errors import InputError
from engine.units import BBL, PSI
from tests.commands import done, kellydown, make_tour
from tui.commands.trial import command_of


def test_what_is_typed_becomes_a_command() -> None:
    typed = ["pressure=3000psi", "minutes=5min", "watch=kill_line_pressure", "what=upper rams"]
    assert command_of("bop-test", typed) == StartTrial(
        "bop-test", {"pressure": 3000 * PSI, "minutes": 300.0}, "kill_line_pressure", "upper rams"
    )
    flow = command_of("flow-check", ["flow=0.1bbl/min"])
    assert flow == StartTrial("flow-check", {"flow": pytest.approx(0.1 * BBL / 60)})
    assert command_of("acted", []) == MarkTrial("acted")
    assert command_of("end", ["note=steady"]) == EndTrial("steady")
    override = command_of("override", ["reason=gauge", "second=Odd"])
    assert override == OverrideTrial("gauge", "Odd")


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("flow", [], "trial: no 'flow'; give one of flow-check, inflow-test, casing-test"),
        ("flow-check", ["minutes=10"], "minutes=10: write a number with its unit: 10min"),
        ("flow-check", ["minutes=45s"], "flow-check: minutes 45: how long it lasts; give 600 or"),
        ("flow-check", ["rise=5psi"], "no criterion 'rise'; it takes minutes, flow, settle"),
        ("flow-check", ["steady"], "steady: it takes criterion=value"),
        ("flow-check", ["minutes=10min", "minutes=12min"], "minutes is given twice"),
        ("casing-test", [], "casing-test: pressure is missing: the test pressure"),
        ("casing-test", ["pressure=5000psi", "decline=12%"], "decline 0.12: the most it may fall"),
        ("casing-test", ["pressure=5000bbl"], "pressure=5000bbl: write a number with its unit: 50"),
        ("override", ["second=Odd"], "trial override: reason= is missing: write reason="),
        ("override", ["reason=gauge"], "trial override: second= is missing"),
        ("end", ["verdict=met"], "trial end: verdict=met: it takes note="),
        ("detected", ["at=5s"], "trial detected: at=5s: it takes nothing more"),
    ],
)
def test_what_cannot_be_is_told(name: str, typed: list[str], words: str) -> None:
    with pytest.raises(InputError) as error:
        command_of(name, typed)
    assert words in str(error.value)


def test_a_check_from_the_command_line_to_the_page(live: Path, watch: Engine) -> None:
    said = done("trial", "flow-check", live, "minutes=10min", "--by", "Ines")
    assert said.out == "flow-check: written down by Ines; see kellydown trials\n"
    assert watch.trials.running is not None
    again = kellydown("trial", "pit-drill", live, "detect=60s", "act=2min", "--by", "Ines")
    assert again.code == 1
    assert "a flow-check is running since" in again.err
    assert "RUNNING" in done("trials", live).out
    done("trial", "end", live, "--by", "Ines")
    alone = kellydown("trial", "override", live, "reason=wind", "second=ines", "--by", "Ines")
    assert alone.code == 1
    assert "give another name than your own" in alone.err
    done("trial", "override", live, "reason=wind", "second=Odd", "--by", "Ines")
    (one,) = json.loads(done("trials", live, "--json").out)
    assert one["verdict"] in ("too short", "inconclusive")
    assert one["override"]["second"] == "Odd"
    assert "ACCEPTED by Ines and Odd: wind" in done("trials", live).out
    assert json.loads(done("review", live, "--json").out)["trials"] == [one]


def test_nobody_enters_anything_without_a_name_or_on_a_finished_tour(tmp_path: Path) -> None:
    tour = make_tour(tmp_path, "quiet", 0.05)
    assert "--by NAME" in kellydown("trial", "end", tour).err
    late = kellydown("trial", "end", tour, "--by", "Ines")
    assert late.code == 1
    assert "no watch is writing this recording" in late.err
    assert done("trials", tour).out.endswith("none\n")
    assert "TESTS AND DRILLS" in done("review", tour).out
