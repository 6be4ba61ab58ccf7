from __future__ import annotations

from collections.abc import Callable

import pytest
from textual.geometry import Region
from textual.pilot import Pilot

from engine.block import Block, Quality
from engine.interfaces import Status
from tests.helpers import FakeRecording
from tests.scene import alarm, drilling_table, kick, recording, well
from tui.app import MonitorApp
from tui.follow import Follower, Source
from tui.glyphs import ASCII, UNICODE, Glyphs
from tui.replay import ReplayFollower
from tui.widgets.lines import Lines

SIZES = [(80, 24), (120, 36), (200, 55)]


class Screen:
    """An app on a fake recording, with clocks set by hand."""

    def __init__(self, fake: FakeRecording, glyphs: Glyphs = UNICODE, **more: object) -> None:
        self.fake = fake
        assert fake.beat is not None
        self.wall, self.steady = fake.beat.wall + 0.4, 100.0
        config = well(synthetic=bool(more.pop("synthetic", False)), horn=more.pop("horn", {}))
        kind = ReplayFollower if more.pop("replay", False) else Follower
        source: Source = kind(fake, config, lambda: self.wall)
        self.app = MonitorApp(
            source, "Ines", "doghouse", glyphs=glyphs, accepted=bool(more.pop("accepted", True)),
            clock=lambda: self.steady, **more,  # type: ignore[arg-type]
        )  # fmt: skip

    def text(self) -> str:
        """What is on the terminal, without colour."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join("".join(s.text for s in strip) for strip in strips)


async def picture(pilot: Pilot[str], screen: Screen) -> str:
    """Read, show and return one picture."""
    # On the reading thread: the tick polls there too, and a follower is not for two threads.
    screen.app.show(await screen.app._reader.ask(screen.app._source.poll))
    before = ""
    for _ in range(20):  # a layout may need several rounds of messages on a busy machine
        await pilot.pause()
        if (now := screen.text()) == before:
            return now
        before = now
    return before


@pytest.mark.parametrize("size", SIZES)
async def test_an_influx(golden: Callable[[str, str], None], size: tuple[int, int]) -> None:
    """R-60."""
    screen = Screen(kick(), synthetic=True)
    async with screen.app.run_test(size=size) as pilot:
        golden(f"influx_{size[0]}x{size[1]}.txt", await picture(pilot, screen))


@pytest.mark.parametrize("size", SIZES)
async def test_steady_drilling(golden: Callable[[str, str], None], size: tuple[int, int]) -> None:
    """R-60."""
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=size) as pilot:
        golden(f"drilling_{size[0]}x{size[1]}.txt", await picture(pilot, screen))


async def test_a_stopped_watch(golden: Callable[[str, str], None]) -> None:
    screen = Screen(kick())
    async with screen.app.run_test(size=(80, 24)) as pilot:
        screen.wall += 10
        golden("stopped_80x24.txt", await picture(pilot, screen))


async def test_plain_characters(golden: Callable[[str, str], None]) -> None:
    """R-61: every character is ASCII, on every page."""
    screen = Screen(kick(), ASCII, accepted=False)
    async with screen.app.run_test(size=(120, 36)) as pilot:
        for _ in range(2):  # the caution, then the horn
            assert (await picture(pilot, screen)).isascii()
            await pilot.press("y")
            await pilot.pause()
        screen.steady += 7.0
        text = await picture(pilot, screen)
        golden("plain_120x36.txt", text)
        for key in ("question_mark", "q", "enter", "z", "d", "t", "n"):
            await pilot.press(key)
            await pilot.pause()
            assert screen.text().isascii(), key
            await pilot.press("escape")
            screen.steady += 1


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (160, 40)])
async def test_all_that_is_urgent_shows_at_every_size(size: tuple[int, int]) -> None:
    """R-60: state, urgent alarms with the action, depth, flow and pits."""
    screen = Screen(kick())
    async with screen.app.run_test(size=size) as pilot:
        text = await picture(pilot, screen)
    for words in (
        "DRILLING, ROTARY", "▲ NEW", "P2 Pit gain", "P2 Flow out above flow in",
        "do: Pick up, stop the pumps, check for flow; shut in if it flows", "2394.47 m",
        "+618", "+2.97", "OUT OF SLIPS", "FEED rig up", "q quit",
    ):  # fmt: skip
        assert words in text


async def test_no_number_stands_within_three_seconds_of_the_last_heartbeat() -> None:
    """R-02; the readings, the depths and the balance are all dashes."""
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "1015.5" in await picture(pilot, screen)
        screen.wall += 3.0
        text = await picture(pilot, screen)
    assert "WATCH STOPPED 3s AGO" in text
    assert "STATE UNKNOWN" in text
    assert "ALARMS UNKNOWN: NO WATCH" in text
    for number in ("1015.5", "2394.47", "2712", "41.20", "11800"):
        assert number not in text
    assert text.count("----") >= 20


async def test_numbers_go_when_the_recording_does_not_answer() -> None:
    """The last picture may not stand when polls fail or hang."""
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "1015.5" in await picture(pilot, screen)
        screen.app._tick.run()
        await pilot.pause(0.1)
        screen.fake.problem = OSError("disk gone")
        for _ in range(2):
            screen.steady += 2.6
            screen.app._tick.run()
            await pilot.pause(0.1)
        text = screen.text()
    assert "NO WATCH SEEN" in text
    assert "cannot read the recording: disk gone" in text
    assert "1015.5" not in text


async def test_the_clock_moves_with_data_only() -> None:
    """The newest sample is 20:56:39; nothing newer was measured."""
    fake = recording(drilling_table())
    screen = Screen(fake)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "20:56:39 UTC" in await picture(pilot, screen)
        screen.wall += 2.0
        fake.beat = Status(screen.wall, screen.wall)
        assert "20:56:39 UTC" in await picture(pilot, screen)


async def test_a_value_out_of_range_is_shown_with_its_mark() -> None:
    """R-03."""
    table = drilling_table()
    block = table["flow_out"]
    value, quality = block.value.copy(), block.quality.copy()
    value[-1], quality[-1] = 0.2833, int(Quality.OUT_OF_RANGE)
    table["flow_out"] = Block(block.t, value, quality)
    screen = Screen(recording(table))
    async with screen.app.run_test(size=(120, 36)) as pilot:
        line = next(
            x for x in (await picture(pilot, screen)).splitlines() if x.startswith("FLOW OUT ")
        )
    assert "16998 L/min" in line
    assert "RANGE" in line
    assert " R " in line


async def test_a_screen_without_colour_paints(monkeypatch: pytest.MonkeyPatch) -> None:
    """R-56 and no-color.org: the state is told by words and shapes, and nothing breaks."""
    monkeypatch.setenv("NO_COLOR", "1")
    screen = Screen(kick(), synthetic=True)
    async with screen.app.run_test(size=(120, 36)) as pilot:
        text = await picture(pilot, screen)
        colors = [
            color.get_truecolor()
            for widget in screen.app.monitor.query(Lines)
            for strip in widget.render_lines(Region(0, 0, *widget.size))
            for segment in strip
            if segment.style
            for color in (segment.style.color, segment.style.bgcolor)
            if color
        ]
        assert len(colors) > 100
        assert all(max(c) - min(c) <= 1 for c in colors)
    for words in ("▲ NEW", "▽ RETURNED", "△ ACKED", "HIGH", "SYNTHETIC DATA"):
        assert words in text


@pytest.mark.parametrize("size", [(79, 24), (80, 23), (20, 5)])
async def test_too_small_a_terminal_is_told_so(size: tuple[int, int]) -> None:
    screen = Screen(kick())
    async with screen.app.run_test(size=size) as pilot:
        text = await picture(pilot, screen)
    if size[0] > 60:
        assert f"This terminal has {size[0]} columns and {size[1]} rows." in text
        assert "4 alarms, 3 not acknowledged." in text
    assert "HOOK" not in text


async def test_every_size_draws_and_comes_back(golden: Callable[[str, str], None]) -> None:
    screen = Screen(kick(), synthetic=True)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        for size in [(200, 55), (79, 20), (81, 24), (119, 90), (400, 30), (120, 36)]:
            await pilot.resize_terminal(*size)
            await picture(pilot, screen)
        golden("influx_120x36.txt", await picture(pilot, screen))


async def test_both_themes_say_the_same(golden: Callable[[str, str], None]) -> None:
    """R-58: a theme changes colours, never a character."""
    screen = Screen(kick(), synthetic=True)
    async with screen.app.run_test(size=(120, 36)) as pilot:
        await pilot.press("l")
        await pilot.pause()
        assert screen.app.theme == "noon"
        golden("influx_120x36.txt", await picture(pilot, screen))


async def test_the_caution_must_be_accepted_first() -> None:
    """R-66."""
    screen = Screen(recording(drilling_table()), accepted=False)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
        for words in (
            "additional aid", "not a safety system", "not the only alarm", "local rules",
            "approved well-control procedures", "licensed practice",
        ):  # fmt: skip
            assert words in text
        for key in ("a", "escape", "enter", "z"):
            await pilot.press(key)
        assert "BEFORE YOU START" in screen.text()
        await pilot.press("y")
        await pilot.pause()
        assert "BEFORE YOU START" not in screen.text()


async def test_alarms_stay_in_sight_and_move_while_a_page_is_open() -> None:
    fake = recording(drilling_table())
    screen = Screen(fake)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        await pilot.press("question_mark")
        fake.lines = kick().lines
        text = await picture(pilot, screen)
    assert "KEYS AND MARKS" in text
    assert "P2 Pit gain" in text


async def test_text_from_outside_is_never_markup() -> None:
    table = drilling_table()
    end = float(table["hook_load"].t[-1])
    fake = recording(
        table, [alarm(end, "pit-gain", "trip", "AB", label="[b]x[/]", action="[/red]")]
    )
    screen = Screen(fake)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "[b]x[/]" in await picture(pilot, screen)
        await pilot.press("enter")
        await pilot.pause()
        assert "[/red]" in screen.text()


async def test_a_picture_without_news_paints_nothing() -> None:
    """Only lines that differ are painted."""
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=(120, 36)) as pilot:
        await picture(pilot, screen)
        before = [w._strips[:] for w in screen.app.monitor.query(Lines)]
        await picture(pilot, screen)
        after = [w._strips for w in screen.app.monitor.query(Lines)]
    for old, new in zip(before, after, strict=True):
        assert all(a == b for a, b in zip(old, new, strict=True))
