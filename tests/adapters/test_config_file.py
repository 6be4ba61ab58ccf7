"""The well file on disk: every problem with its line."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from adapters.config_file import example_text, load_well, parse_well
from adapters.toml_lines import TomlLines
from engine.errors import ConfigError, InputError

DATA = Path(__file__).parents[1] / "data"


def problems(text: str) -> list[str]:
    with pytest.raises(ConfigError) as caught:
        parse_well(text, "well.toml")
    return list(caught.value.problems)


def test_the_example_is_a_valid_well_file(tmp_path: Path) -> None:
    path = tmp_path / "emberholt.toml"
    path.write_text(example_text(), "utf-8")
    config, text = load_well(str(path))
    assert text == example_text()
    assert config.well == "Emberholt 4"
    assert config.pumps[0].liner == pytest.approx(0.1651)


def test_every_problem_of_a_file_is_found_at_once_with_its_line() -> None:
    with pytest.raises(ConfigError) as caught:
        load_well(str(DATA / "bad_well.toml"))
    found = caught.value.problems
    heads = [": ".join(text.split(": ")[:2]) for text in found]
    assert heads == [
        "line 2: display",
        "line 6: rig.block_weight_t",
        "line 7: rig.lines",
        "line 9: rig.crown_limit_m",
        "line 14: pumps.0.liner",
        "line 15: pumps.0.stroke_in",
        "line 21: pumps.1.liner_mm",
        "line 23: pumps.1.efficency",
        "line 28: string.0.inner_in",
        "line 31: mud.density",
        'line 35: feeds.0.map."Hook load".channel',
        "line 36: feeds.0.map.gain.channel",
        "line 37: feeds.0.map.pressure.unit",
        "line 40: alarms.0.id",
        "line 43: alarms.0.high_kN",
        "line 47: alarms.0.armed.1",
        "line 53: alarms.0.action",
    ]
    assert str(caught.value).startswith(f"{DATA / 'bad_well.toml'}: 17 problem(s)\nline 2: ")
    assert "write one of density_kg_m3, density_sg, density_ppg" in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("lines = 10", "lines = 10 10", "column 12: Expected newline or end"),
        ("[mud]", "[mud", "column 5: Expected ']'"),
        ("[mud]", "[rig]", "column 5: Cannot declare ('rig',) twice: [rig]"),
    ],
)
def test_a_slip_in_the_toml_gives_line_and_column(old: str, new: str, said: str) -> None:
    line = example_text().partition(f"\n{old}")[0].count("\n") + 2
    (found,) = problems(example_text().replace(old, new, 1))
    assert found.startswith(f"line {line}, {said}")


def test_a_text_that_ends_too_early_says_so() -> None:
    (found,) = problems(example_text() + 'x = """\n')
    assert found.endswith("the file ends too early")


def test_a_missing_table_at_the_top_has_no_line() -> None:
    before, _, rest = example_text().partition("[mud]")
    (found,) = problems(before + rest[rest.index("[bit]") :])
    assert found == "mud: missing; it must be given"


def test_an_unknown_zone_is_found_with_its_line() -> None:
    text = example_text().replace('time_zone = "UTC"', 'time_zone = "Ember/Holt"')
    line = text[: text.index("time_zone")].count("\n") + 1
    (found,) = problems(text)
    assert found.startswith(f"line {line}: feeds.0.time_zone: no such zone; write an IANA name")


def test_windows_line_ends_do_not_move_the_lines() -> None:
    text = example_text().replace("lines = 10", "lines = 9")
    assert problems(text) == problems(text.replace("\n", "\r\n"))


def test_a_file_that_is_not_there_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no such well file; write one with: kellydown well init"):
        load_well(str(tmp_path / "none.toml"))
    with pytest.raises(InputError, match="cannot be read"):
        load_well(str(tmp_path))


def test_a_file_that_is_not_utf_8_names_line_and_byte(tmp_path: Path) -> None:
    path = tmp_path / "well.toml"
    path.write_bytes(b'well = "a"\nname = "\xb0"\n')
    with pytest.raises(ConfigError, match="line 2: the byte 0xB0 is not UTF-8"):
        load_well(str(path))


TRICKY = """\
# [[pumps]] in a comment
a.b.c = 1
text = \"\"\"
[[pumps]]
name = 'no key'
\"\"\"
other = '''
x = 1'''
list = [
  1, # one
  "a ] , b",
  [ 2, 3 ],
  { x = 1, y = { z = 2 } },
]
"quoted key" = "x # no comment"
"esc\\u0041ped" = 1
'literal key' = 2

[[pumps]]
name = "1"
[[pumps]]
name = "2"
[pumps.valve]
size = 3
[[pumps.rods]]
d = 1
[[pumps.rods]]
d = 2

[feeds . "r 1"]
k = 1979-05-27T07:32:00Z
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a", "b", "c"), 2), (("a", "b", "x"), 2), (("text",), 3), (("other",), 7),
        (("list",), 9), (("list", 0), 10), (("list", 1), 11), (("list", 2, 1), 12),
        (("list", 3, "y", "z"), 13), (("list", 9), 9), (("quoted key",), 15),
        (("escAped",), 16), (("literal key",), 17), (("pumps", 0, "name"), 20),
        (("pumps", 1), 21), (("pumps", 1, "name"), 22), (("pumps", 1, "gone"), 21),
        (("pumps", 1, "valve", "size"), 24), (("pumps", 1, "rods", 1, "d"), 28),
        (("feeds", "r 1"), 30), (("feeds", "r 1", "k"), 31), (("gone",), None),
    ],
)  # fmt: skip
def test_the_line_of_a_path_is_found(path: tuple[str | int, ...], line: int | None) -> None:
    """Shapes of keys, strings and lists: TOML v1.0.0 specification (toml.io)."""
    tomllib.loads(TRICKY)
    assert TomlLines(TRICKY).line(path) == line


def test_each_key_of_the_example_is_on_the_line_that_names_it() -> None:
    text = example_text()
    lines = text.split("\n")
    finder = TomlLines(text)
    seen: list[int] = []
    for i, alarm in enumerate(tomllib.loads(text)["alarms"]):
        for key in alarm:
            line = finder.line(("alarms", i, key))
            assert line is not None
            assert lines[line - 1].split(" ")[0] == key
            seen.append(line)
    assert all(a < b for a, b in pairwise(seen))
