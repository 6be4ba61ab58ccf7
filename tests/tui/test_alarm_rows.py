from __future__ import annotations

import pytest

from engine.block import Quality
from tests.helpers import T0
from tests.scene import LONG, alarm, drilling_table, kick, recording
from tests.tui.test_screen import Screen, picture

END = T0 + LONG - 1
LONG_ACTION = (
    "Check the pumps at constant strokes; if they are sound, look at the gauge line, then prepare "
    "to pull for a washout"
)


@pytest.mark.parametrize(("size", "rows"), [((80, 24), 2), ((120, 36), 1)])
async def test_an_action_is_wrapped_and_not_cut(size: tuple[int, int], rows: int) -> None:
    fake = recording(
        drilling_table(), [alarm(END - 9, "pressure-low", "trip", "AB", action=LONG_ACTION)]
    )
    screen = Screen(fake)
    async with screen.app.run_test(size=size) as pilot:
        lines = (await picture(pilot, screen)).splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("  do: "))
    words = " ".join(" ".join(lines[start : start + rows]).split())
    assert words == f"do: {LONG_ACTION}"


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 55)])
async def test_a_long_name_gives_way_to_the_numbers(size: tuple[int, int]) -> None:
    """Value, limit and time since the trip are whole; a cut name ends in two dots."""
    fake = recording(
        drilling_table(),
        [alarm(END - 754, "flow-out-high", "trip", "AB", label="Flow out " * 12, value=0.0095)],
    )
    screen = Screen(fake)
    async with screen.app.run_test(size=size) as pilot:
        text = await picture(pilot, screen)
    line = next(x for x in text.splitlines() if "P2 Flow out" in x)
    assert ".. " in line
    assert "now 24 L/min, " in line
    assert "limit 500" in line
    assert "12:34" in line


async def test_an_alarm_says_where_its_value_is_now() -> None:
    """Raised at 14800 kPa a quarter of an hour ago; it is 11800 now and has returned."""
    screen = Screen(kick())
    async with screen.app.run_test(size=(120, 36)) as pilot:
        text = await picture(pilot, screen)
    assert "now 11800 kPa, raised at 14800, high limit 14500" in text


async def test_a_limit_without_a_value_is_blind_and_counted() -> None:
    """A row of bad quality neither trips nor clears a limit: pressure has two."""
    table = drilling_table()
    table["standpipe_pressure"].quality[-1] = int(Quality.FROZEN)
    screen = Screen(recording(table))
    async with screen.app.run_test(size=(200, 55)) as pilot:
        text = await picture(pilot, screen)
    assert "NO ALARMS  2 limits blind: key w" in text
    assert text.count("BLIND") == 2
    assert "FROZEN" in text


async def test_no_data_at_all_is_never_just_no_alarms() -> None:
    """The watch lives, the line is silent."""
    table = drilling_table()
    for block in table.values():
        block.value[-1], block.quality[-1] = float("nan"), int(Quality.STALE)
    screen = Screen(recording(table))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
    assert "NO ALARMS" not in text
    assert "EVERY LIMIT BLIND, NOTHING CAN ALARM" in text
    assert "do: Go by the rig's own gauges; look at the line" in text


async def test_a_limit_that_means_nothing_now_is_not_called_blind() -> None:
    """In slips the gain is not watched, so nobody need look for it."""
    table = drilling_table(800)
    table["pit_gain"].value[-1] = float("nan")
    table["pit_gain"].quality[-1] = int(Quality.STALE)
    entries = [alarm(T0 + 702, name, "suppress", "AH") for name in ("pit-gain", "pit-loss")]
    screen = Screen(recording(table, entries))
    async with screen.app.run_test(size=(200, 55)) as pilot:
        text = await picture(pilot, screen)
    assert "IN SLIPS" in text
    assert "blind:" not in text
    assert "BLIND" not in text
    row = next(x for x in text.splitlines() if x.startswith("Pit gain  "))
    assert "not armed" in row
    assert "2 not armed in this rig state" in text


async def test_alarms_of_a_dead_watch_stand_as_before_and_say_what_to_do() -> None:
    screen = Screen(kick())
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        screen.wall += 10
        text = await picture(pilot, screen)
        roles = {role for row in screen.app.monitor.query_one("#alarms")._rows for _, role in row}  # type: ignore[attr-defined]
    assert "ALARMS UNKNOWN: NO WATCH  4 stood before" in text
    assert "do: Nothing alarms here. Go by the rig's own gauges; start the watch again." in text
    assert not [role for role in roles if role.startswith("alarm_")]
