"""Declaring a transfer and zeroing the unexplained volume, from the screen and as a command."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.commands import Command, DeclareTransfer, RebaseBalance
from engine.engine import Engine
from engine.errors import InputError
from engine.records.journal import read
from engine.units import BBL
from tests.cards import running_watch
from tests.commands import done, kellydown
from tests.scene import kick
from tests.tui.test_over import Screen, given
from tui.commands.declare import command_of


async def typed(*keys: str) -> list[Command]:
    return await given(Screen(kick()), *keys)


def letters(text: str) -> list[str]:
    named = {" ": "space", "-": "minus", ".": "full_stop"}
    return [named.get(letter, letter) for letter in text]


async def test_one_key_opens_the_form_that_declares_a_transfer() -> None:
    """K-01, R-30: making declaring one key; what, volume, flow, minutes, then a second step."""
    keys = ["m", *letters("pill out"), "enter", *letters("-4.5"), "enter", *letters("600"),
            "enter", *letters("20"), "enter", "y"]  # fmt: skip
    [command] = await typed(*keys)
    assert isinstance(command, DeclareTransfer)
    assert (command.what, command.volume, command.minutes) == ("pill out", -4.5, 20.0)
    assert command.flow == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("volume", "flow", "minutes"), [("0", "600", "20"), ("5", "-6", "20"), ("5", "600", "3"),
                                    ("five", "600", "20")],
)  # fmt: skip
async def test_what_cannot_be_is_not_declared(volume: str, flow: str, minutes: str) -> None:
    keys = ["m", "x", "enter", *letters(volume), "enter", *letters(flow), "enter",
            *letters(minutes), "enter", "y", "escape"]  # fmt: skip
    assert await typed(*keys) == []


async def test_the_unexplained_volume_is_zeroed_with_a_reason_only() -> None:
    """R-30: a zero reset asks for the reason."""
    assert await typed("u", "enter", "escape") == []
    assert await typed("u", "m", "enter", "y") == [RebaseBalance("m")]


def test_what_is_typed_becomes_the_command_in_si() -> None:
    said = command_of("reserve to active", "60bbl", "4bbl/min", 20.0)
    assert said.volume == pytest.approx(60 * BBL)
    assert said.flow == pytest.approx(4 * BBL / 60)
    assert command_of("out", "-5m3", "10l/s", 20.0).volume == -5.0


@pytest.mark.parametrize(
    ("volume", "flow", "minutes", "says"),
    [
        ("5", "10l/s", 20.0, "--volume 5: write a volume with its unit: 5m3 or -30bbl"),
        ("5m3", "10m", 20.0, "--flow 10m: write a flow with its unit"),
        ("0m3", "10l/s", 20.0, "must not be 0"),
        ("5m3", "-10l/s", 20.0, "must be above 0"),
        ("5m3", "10l/s", 5.0, "at this flow it takes 8 min"),
    ],
)
def test_what_is_wrong_is_said_with_what_would_be_right(
    volume: str, flow: str, minutes: float, says: str
) -> None:
    with pytest.raises(InputError, match="declare: ") as error:
        command_of("reserve", volume, flow, minutes)
    assert says in str(error.value)


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Engine]]:
    path = tmp_path_factory.mktemp("declare") / "tour.kdrec"
    with running_watch(path) as engine:
        yield path, engine


def test_a_running_watch_takes_a_declaration_from_the_command_line(
    live: tuple[Path, Engine],
) -> None:
    path, engine = live
    out = done("declare", path, "--volume", "5m3", "--flow", "10l/s", "--minutes", "20",
               "--what", "reserve to active", "--by", "Ines").out  # fmt: skip
    assert out == "reserve to active: declared by Ines\n"
    with closing(SqliteRecording(str(path))) as recording:
        line = next(f for f in map(read, recording.journal()) if f["id"] == "declare_transfer")
    assert (line["volume_m3"], line["who"]) == (5.0, "Ines")
    assert [d.what for d in engine.detectors.declared] == ["reserve to active"]


def test_a_declaration_needs_a_name(live: tuple[Path, Engine]) -> None:
    answer = kellydown("declare", live[0], "--volume", "5m3", "--flow", "10l/s", "--minutes", "20",
                       "--what", "x")  # fmt: skip
    assert "--by NAME" in answer.err
