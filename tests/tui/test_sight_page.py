"""The page of detectors that cannot see, and the header that says so (R-32)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from engine.detect.kinds import EVENT_KINDS
from engine.detect.listing import detector_list, with_journal
from engine.records.journal import Entry
from engine.records.sight import WELL_CONTROL
from tests.helpers import T0
from tests.scene import drilling_table, recording, well
from tests.tui.test_screen import Screen, picture
from tui.cli import main

SIZES = [(80, 24), (120, 36), (200, 55)]
WHY = "no trip_tank_volume"


def screen(*entries: Entry) -> Screen:
    from engine.records.journal import Journal

    fake = recording(drilling_table())
    fake.lines = [*fake.lines, *Journal().write(entries)]
    return Screen(fake)


def blind(kind: str, why: str, event: str = "blind") -> Entry:
    return Entry(T0, "detector", kind, event, {"reason": why})


@pytest.mark.parametrize("size", SIZES)
async def test_the_header_names_a_blind_detector_of_well_control(size: tuple[int, int]) -> None:
    one = screen(blind("swab", WHY), blind("stick_slip", "no torque"))
    async with one.app.run_test(size=size) as pilot:
        header = "\n".join((await picture(pilot, one)).splitlines()[:2])
    assert "CANNOT SEE SWAB: b" in header


@pytest.mark.parametrize(
    "entries",
    [
        (),
        (blind("stick_slip", "no torque"),),
        (blind("swab", WHY), blind("swab", WHY, "sees")),
        (blind("influx_at_connection", "too few connections are known"),),
        (blind("annulus_pressure", "no annulus_pressure"),),  # this rig never had the gauge
    ],
)
async def test_the_header_is_quiet_about_the_rest(entries: tuple[Entry, ...]) -> None:
    one = screen(*entries)
    async with one.app.run_test(size=(120, 36)) as pilot:
        assert "CANNOT SEE" not in await picture(pilot, one)


@pytest.mark.parametrize("size", SIZES)
async def test_key_b_shows_which_and_why_and_what_is_called(size: tuple[int, int]) -> None:
    call = {"severity": "warning", "evidence": {"volume_m3": 0.5, "witnesses": ["pit volume"]}}
    one = screen(
        blind("swab", WHY), blind("drilling_break", "no rop"),
        Entry(T0, "event", "loss", "warning", call),
    )  # fmt: skip
    async with one.app.run_test(size=size) as pilot:
        await picture(pilot, one)
        await pilot.press("b")
        text = await picture(pilot, one)
    rows = [row.strip() for row in text.splitlines()]
    assert any(row.startswith("DETECTORS, AS AT") and "2 CANNOT SEE" in row for row in rows)
    swab = next(i for i, row in enumerate(rows) if row.startswith("! swab"))
    assert rows[swab].endswith(WHY)
    assert rows[swab + 1].startswith("drilling break")  # well control comes first
    loss = next(i for i, row in enumerate(rows) if row.startswith("loss"))
    assert "warning since" in rows[loss]
    assert rows[loss + 1] == "seen by pit volume"


async def test_with_nothing_blind_the_page_says_so() -> None:
    one = screen()
    async with one.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, one)
        await pilot.press("b")
        text = await picture(pilot, one)
    assert "Every detector sees what it needs" in text


def test_kinds_of_well_control_are_kinds() -> None:
    assert set(EVENT_KINDS) >= WELL_CONTROL


def test_every_detector_tells_its_rule_and_every_setting_its_table() -> None:
    found = detector_list(well())
    assert all(one["kinds"] and len(one["rule"]) > 30 for one in found)
    influx = next(one for one in found if one["kinds"] == ["influx"])
    warning = next(s for s in influx["settings"] if s["name"] == "warning")
    assert (warning["table"], warning["quantity"]) == ("influx", "volume")
    assert warning["value"] == warning["default"] == pytest.approx(0.318, abs=1e-3)
    leak = next(s for s in influx["settings"] if s["name"] == "leak")
    assert leak["reason"].startswith("What is never called")  # from the class it is made from


def test_the_journal_adds_blind_minutes_and_calls() -> None:
    from engine.records.journal import Journal

    call = {"severity": "warning", "evidence": {}}
    lines = Journal().write(
        [blind("influx", "no pit_volume"), Entry(T0 + 5, "event", "influx", "warning", call)]
    )
    found = with_journal(detector_list(well()), lines, T0, T0 + 120)
    influx = next(one for one in found if one["kinds"] == ["influx"])
    assert influx["blind"][0]["minutes"] == 2.0
    assert influx["blind_now"] == {"influx": "no pit_volume"}
    assert influx["calls"] == {"influx": {"count": 1, "severities": ["warning"]}}
    others = [one for one in found if one is not influx]
    assert all(not one["blind"] and not one["calls"] for one in others)


def test_the_command_lists_a_well_file_and_wants_one_of_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "w.toml"
    assert main(["well", "init", str(path)]) == 0
    capsys.readouterr()
    assert main(["detectors", "--well", str(path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert [d["kinds"] for d in said["detectors"]] == [d["kinds"] for d in detector_list(well())]
    assert main(["detectors", "--well", str(path)]) == 0
    page = capsys.readouterr().out
    assert "[detect.influx] warning = 0.318" in page
    assert all(len(row) <= 80 for row in page.splitlines())
    assert main(["detectors"]) == 2
    assert "give --well WELL.toml" in capsys.readouterr().err
