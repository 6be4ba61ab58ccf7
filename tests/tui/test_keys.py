from __future__ import annotations

from itertools import pairwise

import pytest

from engine.commands import (
    Acknowledge,
    Command,
    Note,
    Reset,
    SetDepth,
    SetSpeed,
    Silence,
    TareNow,
    ZeroPits,
)
from engine.errors import InputError
from engine.snapshot import Snapshot
from tests.helpers import T0
from tests.scene import LONG, alarm, drilling_table, kick, recording
from tests.tui.test_screen import Screen, picture
from tui.format import Formatter
from tui.keys import REPLAY, VIEW, WATCH, RepeatGuard
from tui.screens.asks import time_of

END = T0 + LONG - 1


def test_every_key_is_single_and_plain_and_can_be_moved() -> None:
    """R-59: no chords; every binding has an id of its own."""
    bindings = [*WATCH, *VIEW, *REPLAY]
    keys = [key for b in bindings for key in b.key.split(",")]
    assert len(set(keys)) == len(keys)
    assert not [key for key in keys if "+" in key or key.isupper()]
    assert len({b.id for b in bindings}) == len(bindings)


def test_a_key_seen_again_within_a_fifth_of_a_second_is_dropped() -> None:
    """R-59."""
    at = [10.0]
    guard = RepeatGuard(lambda: at[0])
    allowed = []
    for at[0] in (10.0, 10.03, 10.2, 10.45, 10.5):
        allowed.append(guard.allows("a"))
    assert allowed == [True, False, False, True, False]
    assert guard.allows("s")


async def given(screen: Screen, *keys: str) -> list[Command]:
    """Press `keys` one second apart and return the commands posted."""
    async with screen.app.run_test(size=(120, 36)) as pilot:
        await picture(pilot, screen)
        for key in keys:
            screen.steady += 1.0
            await pilot.press(key)
            await pilot.pause()
        await screen.app.workers.wait_for_complete()
        await pilot.pause()
    assert all((who, where) == ("Ines", "doghouse") for _, who, where in screen.fake.posted)
    return [command for command, _, _ in screen.fake.posted]


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ("a", Acknowledge()),
        ("s", Silence()),
        ("z m u d enter y", ZeroPits("mud")),
        ("t enter o k enter y", TareNow("ok")),
        ("n h i enter", Note("hi")),
        ("d 2 4 0 0 full_stop 5 enter enter t a l l y enter y", SetDepth(2400.5, None, "tally")),
        ("d 1 enter 2 enter x enter y", SetDepth(1.0, 2.0, "x")),
        ("down a", Acknowledge("pit-gain")),
        ("down down a", Acknowledge("flow-out-high")),
        ("down down down up a", Acknowledge("flow-out-high")),
        ("down enter a", Acknowledge("pit-gain")),
        ("f", SetSpeed(5.0)),
    ],
)
async def test_a_key_gives_its_command(keys: str, expected: Command) -> None:
    """R-59: acknowledge and silence one step, the others two, with a reason."""
    assert await given(Screen(kick(), synthetic=True), *keys.split()) == [expected]


@pytest.mark.parametrize(
    "keys",
    [
        "z m u d enter escape",  # the second step was not taken
        "z enter enter y",  # no reason
        "z y",  # y is a letter of the reason
        "d 9 enter 2 enter x enter y",  # the bit below the hole
        "d n o enter enter x enter y",  # no number
        "d enter enter x enter y",  # neither depth
        "d minus 5 enter enter x enter y",  # below zero
        "n escape",
        "r",  # nothing is latched
        "space",  # no replay
    ],
)
async def test_nothing_is_sent_unless_it_is_meant(keys: str) -> None:
    """R-59."""
    assert await given(Screen(kick(), synthetic=True), *keys.split()) == []


async def test_real_time_has_one_speed() -> None:
    assert await given(Screen(kick()), "f") == []


async def test_a_latched_alarm_is_reset() -> None:
    fake = recording(
        drilling_table(),
        [alarm(END - 9, "pit-gain", "clear", "BE"), alarm(END - 5, "pit-gain", "ack", "EF")],
    )
    assert await given(Screen(fake), "r") == [Reset("pit-gain")]


async def test_a_held_key_acknowledges_once() -> None:
    """R-59."""
    screen = Screen(kick())
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        for _ in range(5):
            screen.steady += 0.03
            await pilot.press("a")
        await screen.app.workers.wait_for_complete()
    assert [command for command, _, _ in screen.fake.posted] == [Acknowledge()]


async def test_a_command_that_cannot_be_kept_is_told() -> None:
    screen = Screen(kick())
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        screen.fake.problem = InputError("the disk is full")
        await pilot.press("a")
        await screen.app.workers.wait_for_complete()
        await pilot.pause()
        assert "acknowledge: not done: the disk is full" in screen.text()


@pytest.mark.parametrize(
    ("owns", "keys", "result"),
    [(True, "q x", "stop"), (True, "q w", "leave"), (False, "q w", "leave")],
)
async def test_leaving_says_what_becomes_of_the_watch(owns: bool, keys: str, result: str) -> None:
    screen = Screen(kick(), owns_watch=owns)
    await given(screen, *keys.split())
    assert screen.app.return_value == result


async def test_a_screen_that_did_not_start_the_watch_cannot_stop_it() -> None:
    screen = Screen(kick(), owns_watch=False)
    await given(screen, "q", "x", "escape")
    assert screen.app.return_value is None


def rung(screen: Screen, monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Collect when the bell rings."""
    times: list[float] = []
    monkeypatch.setattr(screen.app, "bell", lambda: times.append(screen.steady))
    return times


async def test_the_bell_rings_every_two_seconds_while_the_horn_sounds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Screen(kick())
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)):
        times.clear()
        screen.app._rang_at = float("-inf")
        for _ in range(25):
            screen.steady += 0.2
            screen.app.show(await screen.app._reader.ask(screen.app._source.poll))
        rings = times[:]
    assert [round(b - a, 1) for a, b in pairwise(rings)] == [2.0, 2.0]


async def test_the_bell_rings_for_a_stopped_watch_until_silenced(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Screen(recording(drilling_table()))
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        assert times == []
        screen.wall += 10
        await picture(pilot, screen)
        assert len(times) == 1
        await pilot.press("s")
        await screen.app.workers.wait_for_complete()
        screen.steady += 5
        await picture(pilot, screen)
        assert len(times) == 1


async def test_replay_keys_move_the_replay() -> None:
    screen = Screen(recording(drilling_table(), [alarm(T0 + 99, "pit-gain", "trip", "AB")]),
                    replay=True)  # fmt: skip
    source = screen.app._source
    async with screen.app.run_test(size=(80, 24)) as pilot:

        async def at(*keys: str) -> Snapshot:
            for key in keys:
                await pilot.press(key)
                await pilot.pause()
            await screen.app.workers.wait_for_complete()
            return await screen.app._reader.ask(source.poll)

        await picture(pilot, screen)
        assert (await at("right_square_bracket")).now == T0 + 99
        assert (await at("right", "right")).now == T0 + 101
        assert (await at("left")).now == T0 + 100
        assert (await at("greater_than_sign")).watch.speed == 2
        assert (await at("less_than_sign")).watch.speed == 1
        assert not (await at("space")).watch.paused
        # T0 is 20:26:40 UTC
        assert (await at("space", *["g", "2", "0", "colon", "3", "0", "enter"])).now == T0 + 200
        assert (await at("a")).alarms[0].state == "B"
        assert "this is a replay" in screen.text()


def test_a_time_of_day_is_the_nearest_one() -> None:
    """Over midnight as well: 1780000000 is 2026-05-28 20:26:40 UTC."""
    fmt = Formatter()
    assert time_of("20:30", T0, fmt) == T0 + 200
    assert time_of("20:26:41", T0, fmt) == T0 + 1
    assert time_of("01:00", T0, fmt) == T0 + 4 * 3600 + 33 * 60 + 20
    with pytest.raises(InputError, match="'25:00' is no time of day"):
        time_of("25:00", T0, fmt)
