"""What the screen, the journal in words and the command line say of the second copy (R-47)."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from engine.errors import InputError
from engine.records.journal import Entry
from engine.records.words import what
from tests.helpers import T0
from tests.scene import LONG, alarm, drilling_table, recording
from tests.tui.test_screen import SIZES, Screen, picture
from tui.commands.record import copy_in

END = T0 + LONG - 1
PLACE = "/mnt/blue/tour.kdrec"


def copy(at: float, problem: str = "", to: float | None = None, place: str = PLACE) -> Entry:
    """Return what the watch says of the copy."""
    details = {"place": place, "problem": problem, "complete_to": to, "who": "watch"}
    return Entry(at, "command", "second_copy", "given", details)


def screen_of(*entries: Entry) -> Screen:
    return Screen(recording(drilling_table(), list(entries)))


@pytest.mark.parametrize("size", SIZES)
async def test_a_copy_that_lacks_something_is_on_the_screen_with_how_much_and_why(
    size: tuple[int, int],
) -> None:
    screen = screen_of(copy(END - 900), copy(END - 120, "the disk is full", END - 121))
    async with screen.app.run_test(size=size) as pilot:
        text = await picture(pilot, screen)
    assert "COPY 2m BEHIND" in text
    assert "the disk is full" in text


async def test_the_lag_on_the_screen_grows(monkeypatch: pytest.MonkeyPatch) -> None:
    for lag, shown in ((40, "40s"), (400, "6m"), (7 * 3600, "7h")):
        screen = screen_of(copy(END - 5, "there is no folder", END - lag))
        async with screen.app.run_test(size=(120, 36)) as pilot:
            assert f"COPY {shown} BEHIND" in await picture(pilot, screen)


async def test_the_alarm_of_a_late_copy_says_how_late_it_is() -> None:
    any_trip = alarm(END - 30, "pit-gain", "trip", "AB", value=2.0)
    details = {**any_trip.details, "label": "Second copy late", "priority": 4, "unit": "none"}
    late = replace(any_trip, id="second-copy-late", details=details)
    for said, words in (
        (copy(END - 330, "unplugged", END - 330), "Second copy late  5m behind"),
        (copy(END - 3), "Second copy late  complete again"),
    ):
        screen = screen_of(said, late)
        async with screen.app.run_test(size=(120, 36)) as pilot:
            assert words in await picture(pilot, screen)


async def test_a_complete_copy_and_none_make_no_flag() -> None:
    for entries in ((copy(END - 5),), (), (copy(END - 9, "gone", END - 9), copy(END - 5))):
        screen = screen_of(*entries)
        async with screen.app.run_test(size=(120, 36)) as pilot:
            assert "BEHIND" not in await picture(pilot, screen)


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ((copy(END - 9),), (PLACE, "complete, and written along")),
        ((), ("none is kept (--copy FOLDER)",)),
        ((copy(END - 9, "unplugged [x]", END - 60),), (PLACE, "unplugged [x]", "60s behind")),
        ((copy(END - 9, "unplugged"),), ("it is not known to hold anything",)),
        ((copy(END - 9), copy(END - 3, place="")), ("none is kept",)),
    ],
)
async def test_the_page_of_what_is_watched_says_where_the_copy_is_and_how_far(
    entries: tuple[Entry, ...], words: tuple[str, ...]
) -> None:
    screen = screen_of(*entries)
    async with screen.app.run_test(size=(120, 55)) as pilot:
        await picture(pilot, screen)
        await pilot.press("w")
        await pilot.pause()
        text = screen.text()
    for one in ("Second copy of the recording", *words):
        assert one in text


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (copy(END), f"second copy complete, and written along: {PLACE}"),
        (
            copy(END, "the disk is full", T0),
            "SECOND COPY NOT COMPLETE: the disk is full; complete to "
            f"2026-05-28T20:26:40.000Z: {PLACE}",
        ),
        (
            copy(END, "gone"),
            f"SECOND COPY NOT COMPLETE: gone; not known to hold anything: {PLACE}",
        ),
        (copy(END, place=""), "no second copy of the recording is kept any more"),
    ],
)
def test_the_journal_says_what_where_and_since_when(entry: Entry, words: str) -> None:
    fields = {"kind": entry.kind, "id": entry.id, "event": entry.event, **entry.details}
    assert what(fields, {}) == words


def test_the_copy_has_the_name_of_the_recording_in_the_folder_given(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    assert copy_in(None, path) is None
    assert copy_in(str(tmp_path / "stick"), path) == tmp_path / "stick" / "tour.kdrec"
    assert not (tmp_path / "stick").exists(), "a folder may be that of a disk not plugged in"
    (tmp_path / "here").symlink_to(tmp_path)
    for same in (tmp_path, tmp_path / "here", os.path.relpath(tmp_path)):
        with pytest.raises(InputError, match="the recording itself is there; name a folder on"):
            copy_in(str(same), path)


def test_one_disk_for_both_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "b").mkdir()
    copy_in(str(tmp_path / "b"), tmp_path / "tour.kdrec")
    assert "on the disk of the recording; one fault can take both" in capsys.readouterr().out
