from __future__ import annotations

import pytest

from engine.commands import Acknowledge, Command, Note, Silence, ZeroPits
from engine.interfaces import FeedHealth, Status
from engine.records.journal import Entry
from tests.helpers import T0
from tests.scene import LONG, alarm, drilling_table, kick, recording
from tests.tui.test_keys import given, rung
from tests.tui.test_screen import Screen, picture

END = T0 + LONG - 1


@pytest.mark.parametrize("page", ["question_mark", "w", "enter", "q"])
@pytest.mark.parametrize(("key", "command"), [("s", Silence()), ("a", Acknowledge())])
async def test_silence_and_acknowledge_work_under_every_page(
    page: str, key: str, command: Command
) -> None:
    """R-59; in the details of an alarm `a` means that alarm."""
    if (page, key) == ("enter", "a"):
        command = Acknowledge("pit-gain")
    assert await given(Screen(kick()), page, key) == [command]


async def test_in_a_text_field_they_are_letters() -> None:
    assert await given(Screen(kick()), "n", "s", "a", "enter") == [Note("sa")]


async def test_they_work_in_the_second_step_of_a_form() -> None:
    keys = ["z", "m", "enter", "s", "y"]
    assert await given(Screen(kick()), *keys) == [Silence(), ZeroPits("m")]


async def test_nothing_is_done_before_the_caution_is_accepted() -> None:
    """R-66."""
    assert await given(Screen(kick(), accepted=False), "a", "s") == []


async def test_the_horn_that_was_silenced_is_told_so() -> None:
    fake = kick()
    screen = Screen(fake)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "HORN SOUNDS: s SILENCES" in await picture(pilot, screen)
        later = recording(
            drilling_table(),
            [
                alarm(END - 9, "pit-gain", "trip", "AB"),
                Entry(END - 5, "command", "silence", "given", {"who": "Ines"}),
            ],
        )
        screen.app._source._fold.happenings = screen.app._source._fold.fresh_happenings()  # type: ignore[attr-defined]
        fake.lines = later.lines
        text = await picture(pilot, screen)
    assert "HORN SILENCED" in text
    assert "SOUNDS" not in text


async def test_a_replay_shows_its_horn_and_makes_no_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen(kick(), replay=True)
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        screen.app._source.seek(END)  # type: ignore[attr-defined]
        text = await picture(pilot, screen)
        screen.steady += 10
        await picture(pilot, screen)
    assert "HORN SOUNDED" in text
    assert times == []


async def test_a_dead_watch_with_its_horn_on_can_be_silenced(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """And no command is left behind for the watch that comes next."""
    screen = Screen(kick())
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        screen.wall, screen.steady = screen.wall + 10, screen.steady + 10
        assert "HORN SOUNDS" in await picture(pilot, screen)
        assert times
        times.clear()
        await pilot.press("s")
        await screen.app.workers.wait_for_complete()
        screen.steady += 10
        text = await picture(pilot, screen)
    assert times == []
    assert "HORN SOUNDS" not in text
    assert screen.fake.posted == []


async def test_a_recording_that_ended_in_good_order_never_rings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fake = kick()
    fake.beat = Status(END, END, running=False)
    screen = Screen(fake)
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "WATCH ENDED" in await picture(pilot, screen)
    assert times == []


async def test_under_a_page_a_picture_comes_once_a_second_or_with_an_alarm() -> None:
    fake = recording(drilling_table())
    screen = Screen(fake)
    shown: list[float] = []
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        await pilot.press("question_mark")
        await pilot.pause()
        original = screen.app.monitor.show
        screen.app.monitor.show = lambda s: (shown.append(screen.steady), original(s))[1]  # type: ignore[method-assign]
        start = screen.steady
        for _ in range(11):  # less than makes a picture too old
            screen.steady += 0.2
            screen.app.show(screen.app._newest)
        assert len(shown) == 2
        fake.lines = kick().lines
        await picture(pilot, screen)
        assert len(shown) == 3
    assert screen.steady - start == pytest.approx(2.2)


async def test_the_page_of_what_is_watched_has_every_limit_and_every_reason() -> None:
    fake = kick()
    feeds = (
        FeedHealth("rig", True, "", END, END, 1800, 7, {"bad_number": 5, "cut_line": 2}),
        FeedHealth("gas", False, "port gone", None, None),
    )
    fake.beat = Status(END, END, feeds=feeds)
    screen = Screen(fake)
    async with screen.app.run_test(size=(120, 55)) as pilot:
        await picture(pilot, screen)
        await pilot.press("w")
        await pilot.pause()
        await pilot.press(*["down"] * 60)
        await pilot.pause(0.5)
        lower = screen.text()
        await pilot.press(*["up"] * 70)
        await pilot.pause(0.5)
        upper = screen.text()
    for words in ("WATCHED, AS AT 20:56:39", "> 1.00 m³     NEW", "< 8500 kPa    armed"):
        assert words in upper
    for words in ("1800 packets, the last at 20:56:39; 7 rejected", "5 bad number", "2 cut line",
                  "gas DOWN: port gone"):  # fmt: skip
        assert words in lower
