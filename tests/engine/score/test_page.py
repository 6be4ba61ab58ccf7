"""The page says what it stands on, and every figure is one of the report."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.detect.settings import Detect
from engine.score.calls import Blind
from engine.score.freeze import settings_hash
from engine.score.page import Made, page
from engine.score.page_words import barrels, percent, seconds, size_text
from engine.score.plan import Wanted
from engine.score.report import report
from engine.units import BBL
from tests.engine.score.runs import call, kick, tour

MADE = Made("kellydown evaluate --seeds 1-2", "0.1.0", "a" * 64, "a" * 64, "c" * 64)
RUNS = [
    *[kick(call("influx", 1000 + 60 * k), call("loss", 2000)) for k in range(1, 20)],
    kick(noise="poor"),
    tour(call("influx", 5), blind=(Blind("loss", 0, 90, "no flow_in"),), noise="poor"),
    *[tour() for _ in range(9)],
    tour(call("loss", 5), role="twin", kind="influx"),
]


@pytest.fixture(scope="module")
def text() -> str:
    return page(report(RUNS, Wanted(range(1, 3)), ("influx", "loss")), MADE)


def row(text: str, *begins: str) -> list[str]:
    """Return the cells of the first row that begins so, from the section named first on."""
    section, first = begins
    after = text[text.index(f"## {section}") :]
    line = next(line for line in after.splitlines() if line.startswith(f"| {first} |"))
    return [cell.strip() for cell in line.strip("|").split("|")][1:]


def test_the_page_tells_command_seeds_and_thresholds(text: str) -> None:
    assert "    kellydown evaluate --seeds 1-2\n" in text
    assert f"Thresholds FROZEN, SHA-256 `{'a' * 64}`" in text
    assert "Seeds 1 to 2: tuning seeds" in text
    assert "Not built, so never called: influx_at_connection," in text


def test_other_thresholds_than_the_frozen_ones_are_not_frozen(text: str) -> None:
    assert "NOT FROZEN" not in text
    found = report(RUNS, Wanted(range(1, 3)), ("influx",))
    other = page(found, replace(MADE, settings="b" * 64))
    assert f"Thresholds **NOT FROZEN**: running `{'b' * 64}`, frozen `{'a' * 64}`" in other
    assert "NOT FROZEN" in page(found, replace(MADE, frozen=""))


def test_one_line_an_event_with_every_figure(text: str) -> None:
    """19 of 20 called at 1 to 19 bbl, one missed at 30: the 95 % quantile is the 19th.

    Clopper and Pearson: 19 of 20 are above 0.7839 (tables); 5 of 20 above 0.1041.
    """
    assert row(text, "Events", "influx") == [
        "19 of 20", "78 %", "10.0", "19.0", "25 %", "10 %", "50 %", "10.0 min", "19.0 min",
        "0.0", "0", "0", "0",
    ]  # fmt: skip
    assert row(text, "By class of noise", "influx: poor")[:4] == [
        "0 of 1",
        "0 %",
        "> 30.0",
        "> 30.0",
    ]


def test_false_calls_have_their_bounds_and_splits(text: str) -> None:
    """One in ten tours: 0.1, below 4.74 / 10."""
    assert row(text, "False calls", "all")[:3] == ["1", "120.0", "0.10 (< 0.47)"]
    assert row(text, "False calls", "noise: poor") == ["1", "12.0", "1.00 (< 4.74)", "influx 1"]
    assert row(text, "False calls", "call: loss")[2] == "0.00 (< 0.30)"
    assert "0.10 (< 0.47) per 12 h; target 0.5: met." in text
    assert row(text, "Twins", "influx") == ["1 of 1", "loss 1"]


def test_the_short_table_has_precision_and_blind_minutes(text: str) -> None:
    """0.95 x 0.01 of 0.0095 + 0.1 is 8.7 %; 90 s in ten tours are 0.15 min each."""
    assert row(text, "In short", "influx")[2:] == ["8 %", "1 %", "0.0", "--"]
    assert row(text, "In short", "loss")[3:] == ["--", "0.1", "no flow_in"]


def test_what_was_called_besides_is_shown(text: str) -> None:
    """The loss is called at 2000 s, before the influx of 17, 18 and 19 min."""
    first, besides = row(text, "What was called first", "influx")
    assert (first, besides) == ("influx 16, loss 3, nothing 1", "loss 19")


def test_a_target_is_only_met_where_the_bound_shows_it() -> None:
    def of(tours: int, calls: int) -> str:
        runs = [tour(*[call("influx", 1000 * k) for k in range(calls)])] + [tour()] * (tours - 1)
        return page(report(runs, Wanted(range(1, 3)), ("influx",)), MADE)

    assert "target 0.5: met." in of(6, 0)
    assert "target 0.5: NOT SHOWN." in of(5, 0)
    assert "target 0.5: NOT MET." in of(5, 3)
    assert "Not run." in of(5, 0)


def test_every_table_has_rows_as_long_as_its_head(text: str) -> None:
    width = 0
    for line in text.splitlines():
        width = 0 if not line.startswith("|") else width or line.count("|")
        assert line.count("|") == width, line


def test_numbers_are_written_as_people_read_them() -> None:
    assert [percent(x) for x in (None, 1.0, 0.999, 0.0)] == ["--", "100 %", "99 %", "0 %"]
    assert [seconds(x) for x in (None, 119.0, 120.0)] == ["--", "119 s", "2.0 min"]
    assert barrels({"dv50_m3": 4 * BBL, "dv50_missed": True}, "dv50") == "> 4.0"
    assert barrels({}, "dv50") == "--"
    assert size_text("influx", 2 * BBL / 60) == "2 bbl/min"
    assert size_text("pack_off", 4e6) == "4000 kPa"
    assert size_text("overpull", 150e3) == "150 kN"
    assert size_text("bleed_rebuild", 1e3) == "60 kPa/min"
    assert size_text("total_loss", 0.7) == "0.7 times"
    assert size_text("sensor_fault", "stuck") == "stuck"


def test_the_hash_changes_with_any_threshold_and_with_nothing_else() -> None:
    settings = Detect()
    assert settings_hash(settings) == settings_hash(Detect.model_validate({}))
    other = Detect.model_validate({"influx": {"warning_bbl": 2.1}})
    assert settings_hash(other) != settings_hash(settings)
    assert len(settings_hash(settings)) == 64
