"""``kellydown calc`` as it is typed."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from engine.units import UNITS
from engine.well.cards import CAUTION
from engine.well.catalogue import CATALOGUE
from tui.cli import main
from tui.commands.calc import SHOWN, find_unit, plain, unit_for

KILL = ["kill-mud-weight-field", "mud_weight=10.5ppg", "sidpp=400psi", "tvd=10000ft"]
ENERGY = [
    "specific-energy", "weight=155kN", "rotation=120rpm", "torque=6.1kNm", "diameter=215.9mm"
]  # fmt: skip


class Said:
    """What a command printed, and how it ended."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *words: str) -> None:
        self.code = main(["calc", *words])
        self.out, self.err = capsys.readouterr()


def line(text: str, start: str) -> str:
    return next(row for row in text.splitlines() if row.startswith(start))


def test_a_result_comes_with_its_unit_its_source_and_the_caution(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """IADC WellSharp field sheet by hand: 10.5 + 400 / (0.052 x 10,000) = 11.27, up to 11.3 ppg."""
    said = Said(capsys, *KILL, "--units", "oilfield")
    assert (said.code, said.err) == (0, "")
    assert line(said.out, "= kill_mud_weight").split() == [
        "=", "kill_mud_weight", "11.3", "ppg", "kill", "mud", "weight"
    ]  # fmt: skip
    assert "source: IADC WellSharp formula sheet" in said.out
    assert said.out.rstrip().endswith(CAUTION)


def test_only_well_control_carries_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, *ENERGY, "rate=15m/h")
    assert said.code == 0
    assert CAUTION not in said.out
    assert "source: R. Teale" in said.out


def test_results_are_metric_or_oilfield(capsys: pytest.CaptureFixture[str]) -> None:
    """0.10491404 bbl = 16.679999 L from a 6 x 12 in triplex at 100 % (exact form, by hand)."""
    words = ["pump-output", "liner=6in", "stroke=12in", "efficiency=1"]
    metric, oil = Said(capsys, *words), Said(capsys, *words, "--units", "oilfield")
    assert line(metric.out, "= ").split()[2:4] == ["0.01668", "m3"]
    assert line(oil.out, "= ").split()[2:4] == ["0.104914", "bbl"]


def test_json_has_numbers_units_and_si(capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, "--json", *KILL, "--units", "oilfield")
    found = json.loads(said.out)
    assert found["calculation"] == "kill-mud-weight-field"
    assert found["inputs"]["sidpp"] == {
        "value": 400.0, "unit": "psi", "si": UNITS["psi"].to_si(400.0), "given": True
    }  # fmt: skip
    mud = found["outputs"]["kill_mud_weight"]
    assert (mud["value"], mud["unit"]) == (pytest.approx(11.3), "ppg")
    assert mud["si"] == pytest.approx(11.3 * UNITS["ppg"].factor)
    assert found["source"] == CATALOGUE["kill-mud-weight-field"].source
    assert found["caution"] == CAUTION


def test_an_unknown_result_says_why_and_ends_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, *ENERGY, "rate=0m/h")
    assert said.code == 1
    assert line(said.out, "= total").split()[2] == "--"
    assert "unknown, nothing is drilled: below 0.1 m/h" in said.out
    assert "76.6549 kW" in line(said.out, "= power")
    found = json.loads(Said(capsys, *ENERGY, "rate=0m/h", "--json").out)
    assert found["outputs"]["total"] == {
        "value": None, "unknown": "nothing is drilled: below 0.1 m/h"
    }  # fmt: skip


def test_everything_wrong_is_said_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(
        capsys, "bit-hydraulics", "flo=1gpm", "density=10.5", "density=4ppg",
        "bit_diameter=8psi", "nozzle_1=-4mm", "discharge=banana", "nozzle_2=4 furlong",
    )  # fmt: skip
    assert (said.code, said.out) == (2, "")
    assert said.err.splitlines() == [
        "kellydown: calc bit-hydraulics: 8 problem(s)",
        "  no input 'flo'; did you mean flow?",
        "  density=10.5: say the unit, kg_m3, sg or ppg",
        "  density is given twice",
        "  bit_diameter=8psi: 'psi' is a unit of pressure; use m, mm, cm, ft, in or in32",
        "  nozzle_1=-4mm: must be at least 0 mm",
        "  discharge=banana: write a number and its unit, a bare number or percent",
        "  nozzle_2=4 furlong: 'furlong' is no unit; use m, mm, cm, ft, in or in32",
        "  flow is missing: pump rate, in m3_s, l_min, l_s, gpm or bbl_min",
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nozzles"], "no calculation 'nozzles'"),
        (["mud-wieght"], "did you mean kill-mud-weight"),
        (["sheet"], "did you mean kill-sheet or"),
        ([], "which calculation?"),
        (["lag", "drag", "a=1m"], "one name, then name=number; got lag, drag"),
        (["hoist-speed", "zzz=1kN"], "no input 'zzz'; it takes power, hook_load, lines"),
        (["hoist-speed", "lines=8.0spm"], "'spm' is a unit of stroke rate; use a bare number"),
        (["hoist-speed", "lines=20"], "lines=20: must be at least 1 and at most 16"),
        (["hoist-speed", "power=1e999kW"], "power=1e999kW: must be at least 0 kW"),
        (["hoist-speed", "power=nan"], "power=nan: write a number and its unit, W, kW or hp"),
        (["hoist-speed", "hook_load=3ton"], "'ton' is no unit; use N, kN, kdaN, tf, klbf or lbf"),
        (["hoist-speed", "power="], "power=: write a number and its unit"),
        (["hoist-speed", "power=5,5kW"], "power=5,5kW: ',5kW' is no unit"),
    ],
)
def test_a_wrong_word_ends_with_2_and_says_what_is_right(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    found = Said(capsys, *words)
    assert (found.code, found.out) == (2, "")
    assert said in found.err


def test_words_may_stand_behind_an_option(capsys: pytest.CaptureFixture[str]) -> None:
    first = Said(capsys, *KILL, "--json").out
    assert Said(capsys, KILL[0], "--json", *KILL[1:]).out == first
    assert Said(capsys, *KILL[1:], "--units", "metric", KILL[0], "--json").out == first


def test_an_option_that_does_not_exist_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    for argv in (["calc", *KILL, "--no"], ["doctor", "word"], ["calc", "--no", "a=1m"]):
        with pytest.raises(SystemExit, match="2"):
            main(argv)
        assert "unrecognized arguments" in capsys.readouterr().err


def test_the_list_names_all_and_one_tells_its_inputs(capsys: pytest.CaptureFixture[str]) -> None:
    everything = Said(capsys, "--list").out
    assert [row.split()[0] for row in everything.splitlines()] == list(CATALOGUE)
    one = Said(capsys, "--list", "kill-mud-weight").out
    assert "  sidpp            shut-in drillpipe pressure, in Pa, kPa, bar" in one
    assert CAUTION in one
    assert (
        "discharge coefficient, in a bare number or percent; 0.95 if not given"
        in Said(capsys, "bit-hydraulics", "--list").out
    )
    found = json.loads(Said(capsys, "--list", "--json").out)
    assert [c["calculation"] for c in found] == list(CATALOGUE)


@pytest.mark.parametrize(
    ("text", "quantity", "unit_id"),
    [
        ("kg_m3", "density", "kg_m3"), ("kg/m3", "density", "kg_m3"), ("kg/m³", "density", "kg_m3"),
        ("PPG", "density", "ppg"), ("L/min", "flow", "l_min"), ("KPA", "pressure", "kPa"),
        ("mpa", "pressure", "MPa"), ("mPa", "pressure", None), ("psi", "density", None),
        ("%", "ratio", "percent"), ("", "ratio", "fraction"), ("", "count", "count"),
        ("", "length", None), ("°F", "temperature", "degF"), ("ft·lbf", "torque", "ft_lbf"),
    ],
)  # fmt: skip
def test_a_unit_is_read_as_people_write_it(text: str, quantity: str, unit_id: str | None) -> None:
    """Milli is not mega: mixed case must be right."""
    found = find_unit(text, quantity)
    assert (found.id if found else None) == unit_id


@pytest.mark.parametrize("name", SHOWN)
def test_every_quantity_has_a_unit_to_be_shown_in(name: str) -> None:
    quantities = {unit.quantity for unit in UNITS.values()}
    assert set(SHOWN[name]) == quantities
    assert all(UNITS[unit_id].quantity == q for q, unit_id in SHOWN[name].items())


def test_small_and_large_numbers_are_shown_as_people_say_them() -> None:
    metric, oil = SHOWN["metric"], SHOWN["oilfield"]
    assert unit_for("length", 0.2159, metric).id == "mm"
    assert unit_for("length", 0.2159, oil).id == "in"
    assert unit_for("length", 0.0, oil).id == "ft"
    assert (unit_for("time", 20.7, oil).id, unit_for("time", 3600.0, oil).id) == ("s", "min")
    assert (unit_for("speed", 0.5, oil).id, unit_for("speed", 108.0, oil).id) == ("ft_min", "ft_s")
    assert [plain(x) for x in (498957447.144, 0.104914, -0.0, 11.3, 1e-7, 2e300)] == [
        "498957447", "0.104914", "0", "11.3", "1e-07", "2e+300",
    ]  # fmt: skip


def test_the_command_never_loads_the_screen() -> None:
    """R-45: reports must not depend on a terminal library."""
    code = (
        "import sys, tui.cli, tui.commands.calc\n"
        "bad = {'textual', 'rich', 'sqlite3', 'serial'} & set(sys.modules)\n"
        "sys.exit(f'loaded {bad}' if bad else 0)"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root)
    assert done.returncode == 0, done.stderr
