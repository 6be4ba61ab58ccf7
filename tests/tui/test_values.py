from __future__ import annotations

import pytest

from engine.block import Block, Quality
from engine.interfaces import FeedHealth, Status
from engine.records.words import what
from tests.helpers import T0
from tests.scene import LONG, drilling_table, recording
from tests.tui.test_screen import Screen, picture
from tui.screens.monitor import TURN_BACK_S
from tui.widgets.values import Values
from tui.words import doubt, gone_role, why_gone

END = T0 + LONG - 1


def left_column(text: str) -> list[str]:
    """Return the names in the list of values at 80x24."""
    return [line[:9].strip() for line in text.splitlines()[11:22]]


async def test_values_without_room_come_in_turn_and_go_back() -> None:
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        before = left_column(await picture(pilot, screen))
        await pilot.press("v")
        after = left_column(await picture(pilot, screen))
        said = screen.text()
        timer = screen.app.monitor._turn_back
        assert timer is not None
        assert timer._interval == TURN_BACK_S
        screen.app.monitor.query_one(Values).back()
        again = left_column(await picture(pilot, screen))
        await pilot.press("v", "v")
        assert left_column(await picture(pilot, screen)) == before
    assert before[0] == "HOOK"
    assert before[-1] == "TEMP OUT"
    assert after[:5] == ["PUMP 1", "PUMP 2", "TEMP IN", "DENS IN", "TARE"]
    assert "values 12 to 16 of 16" in said
    assert again == before


@pytest.mark.parametrize(
    ("size", "big"),
    [
        ((80, 24), set()),
        ((120, 36), {"HOOK", "WOB", "SPP"}),
        ((200, 55), {"HOOK", "WOB", "SPP", "ROP", "TORQUE", "RPM"}),
    ],
)
async def test_what_has_a_tile_is_not_listed_twice(size: tuple[int, int], big: set[str]) -> None:
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=size) as pilot:
        await picture(pilot, screen)
        rows = screen.app.monitor.query_one(Values)._rows
    listed = {row[0][0].strip() for row in rows if row}
    always = {"HOOK", "WOB", "ROP", "TORQUE", "RPM", "SPP", "FLOW IN", "FLOW OUT", "PITS", "BLOCK"}
    assert always - listed == big


async def rows_at(age: float, *, speed: float = 1.0) -> str:
    """Return the row of the hook load when the newest rows are `age` s old."""
    fake = recording(drilling_table())
    fake.beat = Status(END, END + age, speed=speed)
    screen = Screen(fake)
    screen.wall = END
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
    return next(x for x in text.splitlines() if x.startswith("HOOK "))[:44]


@pytest.mark.parametrize(
    ("age", "speed", "shown"), [(0.9, 1, ""), (2.9, 1, ""), (4.2, 1, "4s"), (4.2, 5, ""),
                                (16.0, 5, "16s")],
)  # fmt: skip
async def test_an_age_shows_once_it_says_something(age: float, speed: float, shown: str) -> None:
    """R-02; below 3 s of wall time it would only flicker."""
    row = await rows_at(age, speed=speed)
    assert "1015.5 kN" in row
    assert row[35:].strip(" ━─┃") == shown


async def test_what_need_not_be_there_has_no_age() -> None:
    """In slips for a minute and a half; the last weight on bit is of before that."""
    screen = Screen(recording(drilling_table(800)))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
    row = next(x for x in text.splitlines() if x.startswith("WOB "))[:44]
    assert row.split() == ["WOB", "----", "kN", "in", "slips"]


def test_reasons_of_normal_work_are_not_coloured_as_trouble() -> None:
    assert why_gone("weight_on_bit", int(Quality.NOT_APPLICABLE)) == "off bottom"
    assert why_gone("stand_remaining", int(Quality.NOT_APPLICABLE)) == "not now"
    for calm in ("off bottom", "in slips", "not now", "not yet"):
        assert gone_role(calm) == "label"
    for trouble in ("stale", "link down", "no tare", "no data", "watch stopped", "not sent"):
        assert gone_role(trouble) == "changed"


def test_an_old_reference_is_called_by_its_name() -> None:
    assert doubt(int(Quality.OLD_REFERENCE), "weight_on_bit") == ("O", "old tare")
    assert doubt(int(Quality.OLD_REFERENCE), "bit_depth") == ("O", "unsure")
    assert doubt(int(Quality.OLD_REFERENCE | Quality.CONFLICT), "tare") == ("C", "disputed")


async def test_a_doubtful_flow_is_marked_in_the_balance_without_colour() -> None:
    table = drilling_table()
    block = table["flow_out"]
    quality = block.quality.copy()
    quality[-1] = int(Quality.FROZEN)
    table["flow_out"] = Block(block.t, block.value, quality)
    screen = Screen(recording(table))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
    row = next(x for x in text.splitlines() if x.startswith("IN  "))
    assert "OUT     2736 L/min F" in row
    assert "FROZEN" in next(x for x in text.splitlines() if x.startswith("FLOW OUT"))


@pytest.mark.parametrize(
    ("feed", "words"),
    [
        (FeedHealth("rig", True, "", END, END, 9, 0), "FEED rig up  9 packets  0 rejected"),
        (FeedHealth("rig", True, "", END, END - 30, 9, 0), "up  last packet 30s ago  9 packets"),
        (FeedHealth("rig", True, "", None, None, 0, 0), "up  no packet yet  0 packets"),
        (FeedHealth("rig", False, "port gone", None, None, 0, 4, {"cut_line": 1, "bad_number": 3}),
         "DOWN port gone   no packet yet  0 packets  4 rejected  bad number 3  cut line 1"),
    ],
)  # fmt: skip
async def test_a_feed_says_how_it_is_doing(feed: FeedHealth, words: str) -> None:
    fake = recording(drilling_table())
    fake.beat = Status(END, END, feeds=(feed,))
    screen = Screen(fake)
    screen.wall = END
    async with screen.app.run_test(size=(120, 36)) as pilot:
        assert words in await picture(pilot, screen)


async def test_too_small_a_terminal_still_says_that_the_data_are_not_real() -> None:
    """R-07."""
    screen = Screen(recording(drilling_table()), synthetic=True)
    async with screen.app.run_test(size=(70, 20)) as pilot:
        assert "SYNTHETIC DATA" in await picture(pilot, screen)


@pytest.mark.parametrize(
    ("id_", "event", "more", "words"),
    [
        ("set_speed", "given", {"factor": 20.0}, "set speed by Ines: factor 20"),
        ("zero_pits", "given", {"reason": "mud", "old_base_m3": 59.25},
         "zero pits by Ines: mud, old base m3 59.25"),
        ("silence", "no_effect", {"reason": "no horn"}, "silence by Ines without effect: no horn"),
        ("note", "given", {"text": "slow pump"}, "note by Ines: slow pump"),
    ],
)  # fmt: skip
def test_a_command_reads_as_a_person_would_say_it(
    id_: str, event: str, more: dict[str, object], words: str
) -> None:
    fields = {"kind": "command", "id": id_, "event": event, "who": "Ines", "station": "x", **more}
    assert what(fields, {}) == words
