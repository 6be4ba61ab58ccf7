"""Tours, drilling line and tally in the well file; every problem said in words."""

from __future__ import annotations

from typing import Any

import pytest

from adapters.config_file import example_text, parse_well
from engine.errors import ConfigError
from engine.units import UNITS
from tests.tables import well


def test_tours_line_and_tally_take_any_unit() -> None:
    config = well(
        tour={"starts": ["05:30", "13:30", "21:30"], "target_min": 8},
        line={"goal_ton_mile": 1000, "done_tkm": 10, "cut_ft": 100, "drum_in": 30},
        tally=[{"joints_ft": [31.0, 31.5, 31.25]}, {"joints_m": [9.5]}],
    )
    assert config.tour.target == 480.0
    assert config.line is not None
    assert config.line.goal == pytest.approx(1000 * UNITS["ton_mile"].factor)
    assert config.line.done == pytest.approx(10 * UNITS["tkm"].factor)
    assert [one.length for one in config.tally] == pytest.approx([93.75 * 0.3048, 9.5])


def test_left_out_there_are_two_tours_and_no_line_or_tally() -> None:
    config = well()
    assert config.tour.starts == ("06:00", "18:00")
    assert config.line is None
    assert config.tally == ()


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"tour": {"starts": ["6"]}}, "tour.starts: '6' is no clock time; write 06:00"),
        ({"tour": {"starts": ["24:00"]}}, "'24:00' is no clock time"),
        ({"tour": {"starts": ["06:60"]}}, "'06:60' is no clock time"),
        ({"tour": {"starts": ["18:00", "06:00"]}}, "06:00 does not come after 18:00"),
        ({"tour": {"starts": ["06:00", "06:00"]}}, "06:00 does not come after 06:00"),
        ({"tour": {"starts": []}}, "tour.starts"),
        ({"tour": {"length_h": 25.0}}, "tour.length_h"),
        ({"line": {}}, "line.goal: missing; write one of goal_J"),
        ({"line": {"goal_tkm": 0.0}}, "line.goal_tkm"),
        ({"line": {"goal": 1.0}}, "a work needs its unit in the key: goal_J"),
        ({"tally": [{"joints_m": []}]}, "tally.0.joints"),
        ({"tally": [{"joints_m": [9.5, 95.0]}]}, "joint 2 is 95 m long; a joint has up to 16 m"),
        ({"tally": [{"joints_m": [9.5, 0.0]}]}, "tally.0.joints"),
        ({"tally": {"joints_m": [9.5]}}, "write [[tally]], not [tally]"),
    ],
)
def test_what_cannot_be_is_said_with_its_place(table: dict[str, Any], said: str) -> None:
    with pytest.raises(ConfigError) as error:
        well(**table)
    assert said in str(error.value)


def test_an_unknown_zone_of_the_tours_is_found_with_its_line() -> None:
    text = example_text().replace('# time_zone = "Asia/Tokyo"', 'time_zone = "Ember/Holt"')
    line = text[: text.index('"Ember/Holt"')].count("\n") + 1
    with pytest.raises(ConfigError, match=f"line {line}: tour.time_zone: no such zone"):
        parse_well(text, "w.toml")
