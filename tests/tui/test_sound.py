"""What the screen does about sound: the test at the sign-on, the banner, the bell, the spare."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from engine.alarms.urgency import Urgency
from engine.commands import Command, HornTest, SoundHorn
from engine.interfaces import Status
from engine.records.journal import Entry, Journal
from tests.helpers import T0, FakeRecording
from tests.scene import LONG, alarm, drilling_table, kick, recording
from tests.tui.test_keys import rung
from tests.tui.test_screen import SIZES, Screen, picture

END = T0 + LONG - 1
RELAY = {"outputs": [{"kind": "relay", "port": "loop://", "name": "lamp"}]}
BOTH = {"outputs": [{"kind": "bell"}, *RELAY["outputs"]]}


def quiet(*entries: Entry) -> FakeRecording:
    return recording(drilling_table(), list(entries))


def outputs(working: str, failed: str, at: float = END) -> Entry:
    """Return what the watch says of its outputs."""
    details = {"working": working, "failed": failed, "who": "watch"}
    return Entry(at, "command", "horn_outputs", "given", details)


def posted(screen: Screen) -> list[Command]:
    return [command for command, _, _ in screen.fake.posted]


async def press(screen: Screen, pilot: object, *keys: str) -> str:
    """Press keys one second apart; return the picture after them."""
    for key in keys:
        screen.steady += 1.0
        await pilot.press(key)  # type: ignore[attr-defined]
        await pilot.pause()  # type: ignore[attr-defined]
    await screen.app.workers.wait_for_complete()
    return await picture(pilot, screen)  # type: ignore[arg-type]


@pytest.mark.parametrize("size", SIZES)
async def test_the_horn_is_tested_at_the_sign_on_and_a_yes_takes_the_banner_away(
    size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """R-61."""
    screen = Screen(quiet(), accepted=False)
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=size) as pilot:
        assert "NO SOUND" in await picture(pilot, screen)
        assert times == []
        text = await press(screen, pilot, "y")
        assert len(times) == 1
        for words in ("THE HORN SOUNDS: DID YOU HEAR IT?", "bell: rung by this terminal",
                      "y  I heard it", "n  I did not hear it", "h  sound it again",
                      "NO SOUND ", "not tested since the sign-on"):  # fmt: skip
            assert words in text
        text = await press(screen, pilot, "y")
    assert "NO SOUND" not in text
    assert "DID YOU HEAR" not in text
    assert posted(screen) == [HornTest(heard=True, outputs="bell: rung by this terminal")]
    assert screen.fake.posted[0][1:] == ("Ines", "doghouse")


@pytest.mark.parametrize(
    ("keys", "why", "answers"),
    [
        ("n", "the test was not heard; h tests again", [False]),
        ("escape", "not tested since the sign-on; h tests it", []),
        ("h h n", "the test was not heard; h tests again", [False]),
        ("n h escape", "the test was not heard; h tests again", [False]),
        ("n h y", "", [False, True]),
    ],
)
async def test_until_somebody_heard_it_the_banner_stays(
    keys: str, why: str, answers: list[bool]
) -> None:
    """R-61; no key but a yes to a test takes it away."""
    screen = Screen(quiet(), accepted=False)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await press(screen, pilot, "y", *keys.split())
        assert ("NO SOUND" in text, why in text) == (bool(why), True)
        if why:
            text = await press(screen, pilot, "a", "s", "c", "enter", "escape")
            assert "NO SOUND" in text
    assert [c.heard for c in posted(screen) if isinstance(c, HornTest)] == answers


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 55)])
async def test_what_the_watch_says_of_its_outputs_comes_onto_the_open_page(
    size: tuple[int, int],
) -> None:
    fake = quiet()
    screen = Screen(fake, accepted=False, horn=BOTH)
    async with screen.app.run_test(size=size) as pilot:
        text = await press(screen, pilot, "y")
        assert "no answer yet from the watch: lamp" in text
        assert posted(screen) == [SoundHorn()]
        fake.lines = quiet(outputs("", "lamp: port gone")).lines
        text = await picture(pilot, screen)
        assert "failed: lamp: port gone" in text
        await press(screen, pilot, "y")
    said = "bell: rung by this terminal; failed: lamp: port gone"
    assert posted(screen)[1:] == [HornTest(heard=True, outputs=said)]


async def test_an_answer_of_an_earlier_test_is_not_taken_for_this_one() -> None:
    screen = Screen(quiet(outputs("lamp", "", END - 600)), horn=RELAY)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        text = await press(screen, pilot, "h")
    assert "no answer yet from the watch: lamp" in text
    assert "worked" not in text


@pytest.mark.parametrize(
    ("horn", "said", "shown"),
    [
        (RELAY, ("", "lamp: port gone"), "NO SOUND"),
        (RELAY, ("siren", "lamp: port gone"), "HORN FAULT"),
        (BOTH, ("", "lamp: port gone"), "HORN FAULT"),
        (RELAY, ("lamp", ""), ""),
    ],
)
async def test_outputs_that_fail_stand_on_the_screen_until_they_work(
    horn: Mapping[str, object], said: tuple[str, str], shown: str
) -> None:
    """R-61: NO SOUND when nothing is left that sounds."""
    fake = quiet(outputs(*said))
    screen = Screen(fake, horn=horn)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
        row = text.splitlines()[1]
        assert [flag for flag in ("NO SOUND", "HORN FAULT") if flag in row] == [shown] * bool(shown)
        assert ("lamp: port gone" in row) == bool(shown)
        fake.lines = quiet(outputs(*said), outputs("lamp", "")).lines
        text = await picture(pilot, screen)
    assert "NO SOUND" not in text
    assert "HORN FAULT" not in text


async def test_no_sound_stands_beside_all_else_that_is_unusual_at_the_smallest_size() -> None:
    """R-60."""
    screen = Screen(kick(), synthetic=True, accepted=False)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await press(screen, pilot, "y", "n")
    row = text.splitlines()[1]
    for words in ("SYNTHETIC DATA", "NO SOUND", "HORN SOUNDS: s SILENCES"):
        assert words in row


async def test_a_replay_and_an_ended_watch_have_no_horn_to_test() -> None:
    for screen in (
        Screen(quiet(), replay=True, accepted=False), Screen(quiet(), accepted=False),
    ):  # fmt: skip
        screen.fake.beat = Status(END, END, running=False)
        async with screen.app.run_test(size=(80, 24)) as pilot:
            await picture(pilot, screen)
            text = await press(screen, pilot, "y", "h")
        assert "DID YOU HEAR" not in text
        assert "NO SOUND" not in text
        assert posted(screen) == []


def escalated(level: int) -> FakeRecording:
    """Return an alarm of priority 1 that was told louder `level` times."""
    entries = [alarm(END - 70, "pit-gain", "trip", "AB", priority=1)]
    for n in range(1, level + 1):
        told = alarm(END - 70 + 30 * n, "pit-gain", "escalate", "BB", priority=1, level=n)
        entries.append(told)
    return quiet(*entries)


@pytest.mark.parametrize(("level", "bells"), [(0, 6), (1, 11), (2, 21)])
async def test_the_bell_rings_faster_for_an_alarm_that_was_told_louder(
    level: int, bells: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """R-14: in ten seconds, every 2 s, 1 s, 0.5 s."""
    screen = Screen(escalated(level))
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        times.clear()
        screen.app._sound._rang_at = float("-inf")
        for _ in range(41):
            screen.app._sound.follow(screen.app._newest)
            screen.steady += 0.25
        assert screen.app._newest.urgency == Urgency(1, level)
    assert len(times) == bells


async def test_an_alarm_told_louder_sounds_again_after_a_silence() -> None:
    """R-14; so does the watch's own horn."""
    silence = Entry(END - 60, "command", "silence", "given", {"who": "Ines"})
    trip = alarm(END - 70, "pit-gain", "trip", "AB", priority=1)
    screen = Screen(quiet(trip, silence))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "HORN SILENCED" in await picture(pilot, screen)
        told = alarm(END - 40, "pit-gain", "escalate", "BB", priority=1, level=1)
        screen.fake.lines = Journal().write([trip, silence, told])
        assert "HORN SOUNDS" in await picture(pilot, screen)


async def test_without_a_bell_in_the_well_file_the_terminal_is_quiet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Screen(kick(), horn=RELAY)
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        assert "HORN SOUNDS" in await picture(pilot, screen)
    assert times == []


class Spare:
    def __init__(self) -> None:
        self.calls: list[Urgency | None] = []

    def follow(self, urgency: Urgency | None) -> None:
        self.calls.append(urgency)


async def test_the_screen_sounds_the_outputs_when_the_watch_is_there_no_more() -> None:
    """While it is there, it sounds them: two would fight over a relay."""
    spare = Spare()
    screen = Screen(kick(), horn=RELAY, spare=spare)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        assert set(spare.calls) <= {None}
        screen.wall += 10
        await picture(pilot, screen)
        assert spare.calls[-1] == Urgency(1)
        await pilot.press("s")
        await screen.app.workers.wait_for_complete()
        await picture(pilot, screen)
        assert spare.calls[-1] is None


async def test_an_alarm_that_comes_back_after_an_acknowledgement_begins_at_the_first_step() -> None:
    """R-14: as long as somebody answers, it is not told louder."""
    told = [
        alarm(END - 90, "pit-gain", "trip", "AB", priority=1),
        alarm(END - 60, "pit-gain", "escalate", "BB", priority=1, level=1),
        alarm(END - 50, "pit-gain", "ack", "BC", priority=1),
        alarm(END - 40, "pit-gain", "re_alarm", "CB", priority=1),
    ]
    screen = Screen(quiet(*told))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        await picture(pilot, screen)
        assert screen.app._newest.urgency == Urgency(1, 0)


async def test_an_alarm_that_is_kept_silent_in_a_flood_is_shown_but_not_heard(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """R-15: a flood must not drown what is urgent."""
    screen = Screen(quiet(alarm(END - 9, "torque-high", "trip", "AB", sound=False)))
    times = rung(screen, monkeypatch)
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
        assert "Torque high" in text
        assert "HORN SOUNDS" not in text
    assert times == []
