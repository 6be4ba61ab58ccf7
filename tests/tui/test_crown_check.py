"""The header says that the crown check is due until it is signed. SC-23 second half, R-43."""

from __future__ import annotations

import pytest

from engine.commands import Command, CrownCheck, SlipLine
from engine.engine import Engine
from engine.records.journal import Entry, from_iso
from engine.snapshot import Snapshot, WatchView
from tests.helpers import T0, issue
from tests.scene import drilling_table, recording, well
from tests.tui.test_screen import Screen, picture
from tui.fold import Fold

NOON = from_iso("2026-03-14T12:00:00Z")


def snapshot(now: float, *given: tuple[float, Command], **changes: object) -> Snapshot:
    """Return what the screen knows at `now` after commands at their times. [s after noon]"""
    config = well(**changes)
    engine = Engine(config, Entry(NOON - 3600, "watch", "Emberholt 4", "start", {}))
    fold = Fold(config)
    for at, command in given:
        fold.happenings.take(engine.take([issue(command, NOON + at)])[1])
    return fold.snapshot(NOON + now, WatchView(True, 0.0), ())


def test_a_slip_shows_until_the_check_is_signed() -> None:
    checked, slip = (0.0, CrownCheck()), (600.0, SlipLine(12.0))
    assert snapshot(60.0, checked).crown_due == ""
    assert snapshot(600.0, checked, slip).crown_due.startswith("the line was slipped at")
    assert snapshot(1200.0, checked, slip, (900.0, CrownCheck())).crown_due == ""


def test_the_next_tour_asks_for_it_again_on_the_clock_of_the_well() -> None:
    """18:00 in Tokyo is 09:00 UTC: at noon UTC the next tour starts 9 h later."""
    checked = (0.0, CrownCheck())
    assert snapshot(6 * 3600.0, checked).crown_due == "the tour began at 2026-03-14 18:00 UTC"
    tokyo = {"tour": {"time_zone": "Asia/Tokyo"}}
    assert snapshot(6 * 3600.0, checked, **tokyo).crown_due == ""
    assert snapshot(9 * 3600.0, checked, **tokyo).crown_due != ""


def test_before_there_is_a_journal_nothing_is_due() -> None:
    assert snapshot(0.0).crown_due == ""
    assert snapshot(float("inf")).crown_due == ""


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_the_header_shows_it_and_is_quiet_once_signed(size: tuple[int, int]) -> None:
    async def header(*given: tuple[float, Command]) -> str:
        engine = Engine(well(), Entry(T0 - 60, "watch", "Emberholt 4", "start", {}))
        fake = recording(drilling_table())
        for at, command in given:
            fake.lines += engine.take([issue(command, T0 + at)])[1]
        screen = Screen(fake)
        async with screen.app.run_test(size=size) as pilot:
            return "\n".join((await picture(pilot, screen)).splitlines()[:2])

    assert "CROWN CHECK DUE" in await header((60.0, CrownCheck()), (900.0, SlipLine(12.0)))
    assert "CROWN CHECK DUE" not in await header((900.0, CrownCheck()))
