"""The well file's models: units in keys, all problems at once, the same hash for the same well."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from engine.config import Alarm, Feed, Item, TimeColumn, config_hash, dotted, parse_config
from engine.errors import ConfigError
from engine.units import units_of
from tests.helpers import ALARM_WORDS

WELL: dict[str, Any] = {
    "well": "Emberholt 4",
    "rig": {
        "name": "Quernstone", "block_weight_tf": 32.0, "lines": 10, "stand_length_m": 28.5,
        "crown_limit_m": 38.0,
    },
    "pumps": [{"name": "1", "type": "triplex", "liner_in": 6.5, "stroke_in": 12}],
    "string": [{"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_kg_m": 31.9}],
    "mud": {"density_sg": 1.05},
}  # fmt: skip
ALARM: dict[str, Any] = {
    "id": "hot", "label": "Hot", "channel": "temperature_out", "high_degC": 82, "priority": 2,
    "action": "Keep people off the shakers", **ALARM_WORDS,
}  # fmt: skip


def well(**changes: Any) -> dict[str, Any]:
    """Return the well with dotted paths (``pumps__0__liner_in``) set, or deleted by None."""
    raw = deepcopy(WELL)
    for path, value in changes.items():
        *way, last = path.split("__")
        table: Any = raw
        for part in way:
            table = table[int(part) if part.isdigit() else part]
        if value is None:
            del table[last]
        else:
            table[last] = value
    return raw


def problems(raw: dict[str, Any]) -> list[str]:
    with pytest.raises(ConfigError) as caught:
        parse_config(raw, "well.toml")
    return list(caught.value.problems)


def test_a_key_with_its_unit_becomes_si() -> None:
    """NIST SP 811 (2008), B.8: 1 in = 0.0254 m exactly; 1 tf = 1000 kgf = 9806.65 N."""
    config = parse_config(well(), "x")
    assert config.pumps[0].liner == pytest.approx(0.1651)
    assert config.rig.block_weight == pytest.approx(32 * 9806.65)


def test_a_missing_quantity_says_which_keys_would_do() -> None:
    (found,) = problems(well(pumps__0__liner_in=None))
    good = ", ".join(f"liner_{unit.id}" for unit in units_of("length"))
    assert found == f"pumps.0.liner: missing; write one of {good}"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"pumps__0__liner": 6.5}, "pumps.0.liner: a length needs its unit in the key: liner_m,"),
        ({"pumps__0__liner_mm": 165.1}, "given twice, as liner_in and liner_mm; keep one"),
        ({"pumps__0__liner_in": None, "pumps__0__liner_inch": 6.5},
         "pumps.0.liner_inch: 'inch' is no unit of length; write one of liner_m, liner_mm"),
        ({"pumps__0__liner_in": -6.5}, "pumps.0.liner_in: must be greater than 0, got -6.5"),
        ({"pumps__0__liner_in": True}, "pumps.0.liner_in: must be a number, got True"),
        ({"pumps__0__liner_in": 10**400}, "pumps.0.liner_in: too large a number"),
        ({"pumps__0__liner_in": float("nan")}, "pumps.0.liner_in: must be a finite number"),
        ({"pumps__0__type": "triplx"}, "pumps.0.type: must be 'triplex' or 'duplex', got 'triplx'"),
        ({"pumps__0__type": "duplex"}, "pumps.0.rod: a duplex needs a rod thinner than"),
        ({"pumps__0__effciency": 0.9}, "unknown key; did you mean 'efficiency'?"),
        ({"zzz": 1}, "zzz: unknown key; here may stand: well, synthetic"),
        ({"pumps": {"name": "1"}}, "pumps: must be a list: write [[pumps]], not [pumps]"),
        ({"mud": [{"density_sg": 1}]}, "mud: must be a table: write [mud], not [[mud]]"),
        ({"pumps": []}, "pumps: needs at least one"),
        ({"rig__lines": "10"}, "rig.lines: must be an integer, got '10'"),
        ({"rig__crown_limit_m": 0.2, "rig__floor_limit_m": 0.3}, "rig.crown_limit_m: must lie"),
        ({"synthetic": "yes"}, "synthetic: must be a boolean, got 'yes'"),
        ({"display": 3}, "display: 3 is no set; use 'metric' or 'oilfield', or a table"),
        ({"display": {"pressure": "m"}}, "display.pressure: 'm' does not measure it; use Pa"),
        ({"display": {"presure": "bar"}}, "display.presure: no such quantity; use length"),
        ({"hole": [{"name": "a", "bottom_m": 10, "diameter_in": 8},
                   {"name": "b", "top_m": 20, "diameter_in": 8}]},
         "hole.1.top_m: 20 m is not where the section above ends, 10 m"),
        ({"feeds": [{"name": "r"}, {"name": "r"}]}, "feeds.1.name: two are called 'r'"),
        ({"feeds": [{"name": "r", "format": "las"}]}, "feeds.0.map: a las feed needs a table"),
        ({"feeds": [{"name": "r", "framing": "8X1"}]}, "feeds.0.framing: must be like 8N1"),
        ({"feeds": [{"name": "r", "ignore": ["0108", "108"]}]},
         "feeds.0.ignore.1: '108' is no WITS item; write record and item"),
        ({"feeds": [{"name": "r", "delimiter": "tabs"}]}, "feeds.0.delimiter: 'tabs' is too long"),
        ({"feeds": [{"name": "r", "format": "delimited", "decimal": ","}]},
         "feeds.0.decimal: ',' is the delimiter as well"),
        ({"alarms": [ALARM | {"action": "run"}]}, "alarms.0.action: too short; say what"),
        ({"alarms": [ALARM | {"channel": "temprature_out"}]},
         "alarms.0.channel: no channel 'temprature_out'; did you mean 'temperature_out'?"),
        ({"alarms": [ALARM | {"high_bar": 3}]}, "alarms.0.high_bar: given twice"),
        ({"alarms": [ALARM | {"low_degC": 3}]}, "give either a high or a low limit, not both"),
        ({"alarms": [ALARM | {"armed": ["static", "drilling"]}]},
         "alarms.0.armed.1: no rig state 'drilling'; did you mean"),
    ],
)  # fmt: skip
def test_each_problem_names_the_key_as_written_and_what_would_be_right(
    changes: dict[str, Any], said: str
) -> None:
    found = problems(well(**changes))
    assert len(found) == 1
    assert said in found[0]


def test_problems_of_one_table_do_not_hide_each_other() -> None:
    found = problems(
        well(pumps__0__liner=1, pumps__0__stroke_in=-1, pumps__0__typ="x", rig__lines=None)
    )
    assert [text.partition(":")[0] for text in found] == [
        "rig.lines", "pumps.0.liner", "pumps.0.stroke_in", "pumps.0.typ",
    ]  # fmt: skip


def test_a_deadband_is_a_difference_and_keeps_no_zero_point() -> None:
    """NIST SP 811 (2008), B.9: t/degC = T/K - 273.15, so a difference of 1 degC is 1 K."""
    alarm = Alarm.model_validate(ALARM | {"deadband_degC": 1})
    assert alarm.high == pytest.approx(355.15)
    assert alarm.deadband == 1.0


def test_an_item_checks_channel_unit_and_limits() -> None:
    for raw, said in (
        ({"channel": "hookload", "unit": "kN"}, "did you mean 'hook_load'"),
        ({"channel": "bit_depth", "unit": "m"}, "worked out here; a feed cannot fill it"),
        ({"channel": "hook_load", "unit": "ton"}, "no unit 'ton'"),
        ({"channel": "hook_load", "unit": "m"}, "'m' is a length; hook_load takes N, kN"),
        ({"channel": "hook_load", "unit": "kN", "low": 2, "high": 1}, "2 is not below high, 1"),
    ):
        with pytest.raises(ValueError, match=said):
            Item.model_validate(raw)


@pytest.mark.parametrize("layout", ["%H:%M:%S", "%d.%m.%Y", "YYMMDD", "%d %H:%M"])
def test_a_time_layout_must_say_day_and_time(layout: str) -> None:
    with pytest.raises(ValueError, match="does not say both day and time"):
        TimeColumn(columns=("t",), layout=layout)


def test_the_age_limit_of_a_feed_is_five_seconds_or_three_intervals() -> None:
    assert Feed(name="a").stale_after == 5.0
    assert Feed(name="a", interval_s=10).stale_after == 30.0
    assert Feed(name="a", interval_s=10, stale_after_s=12).stale_after == 12.0


TEXT = """
well = "Emberholt 4"
[rig]
name = "Quernstone"
block_weight_tf = 32.0
lines = 10
stand_length_m = 28.5
crown_limit_m = 38.0
[[pumps]]
name = "1"
type = "triplex"
liner_in = 6.5
stroke_in = 12
[[string]]
name = "pipe"
outer_in = 5.0
inner_in = 4.276
weight_kg_m = 31.9
[mud]
density_sg = 1.05
"""


def test_the_hash_is_of_the_settings_and_not_of_the_text() -> None:
    same = TEXT.replace("stroke_in = 12", "stroke_mm = 304.8 # same") + "[start]\n"
    other = TEXT.replace("stroke_in = 12", "stroke_in = 12.001")
    assert config_hash(TEXT) == config_hash(same) != config_hash(other)
    assert len(config_hash(TEXT)) == 12
    assert set(config_hash(TEXT)) <= set("0123456789abcdef")


def test_a_key_with_a_blank_is_quoted_in_a_path() -> None:
    assert dotted(("feeds", 0, "map", "Hook load", "unit")) == 'feeds.0.map."Hook load".unit'
