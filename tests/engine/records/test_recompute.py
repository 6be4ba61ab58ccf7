"""A replay check: a recording that was touched anywhere is found out, and the place is named."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from shutil import copyfile

import pytest

from adapters.config_file import example_text, parse_well
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.commands import (
    Acknowledge,
    ChangeLimit,
    Command,
    Issued,
    Note,
    OutOfService,
    ReturnToService,
    Shelve,
    Unshelve,
    ZeroPits,
)
from engine.engine import Engine
from engine.events import Frame, LinkDown, LinkUp, Tick
from engine.interfaces import InputEvent, Status
from engine.records.journal import broken_at, iso
from engine.records.recompute import compare
from engine.run import head_entry
from tests.check_rows import row
from tests.commands import kellydown
from tui.commands.common import meta_of

START = 1_780_000_000.0
TEXT = example_text()
CONFIG = parse_well(TEXT, "example")


ORDERS: dict[int, Command] = {
    20: Shelve("torque-high", 100.0, "making up"),
    25: ChangeLimit("hook-load-high", 1.5e6, "jars in the string"),
    30: OutOfService("returns-hot", "Ada Brun", "gauge removed"),
    100: Shelve("influx", 60.0, "refused: of priority 1"),
    150: ReturnToService("returns-hot", "Ada Brun", "gauge back"),
    205: Shelve("pressure-low", 600.0, "testing the pumps"),
    210: Unshelve("pressure-low", "done"),
}
"""What a person does to alarms, by the second; the first shelf ends by itself at 120.5 s."""


def inputs() -> list[InputEvent]:
    """Return five minutes: a string too heavy for its alarm, seen by the driller; a lost line."""
    events: list[InputEvent] = [LinkUp(START, "rig")]
    for i in range(1, 250):
        load = 160.0 if 60 <= i < 90 else 120.0
        events.append(Frame(START + i, "rig", {"0112": 12.0, "0114": load, "0126": 60.0}))
        if i == 75:
            events.append(Issued(START + i + 0.5, Acknowledge(), "Ines", "doghouse"))
        if i in ORDERS:
            events.append(Issued(START + i + 0.5, ORDERS[i], "Ines", "doghouse"))
        if i == 200:
            events.append(Issued(START + i + 0.5, ZeroPits("new mud"), "Ines", "doghouse"))
    events.append(LinkDown(START + 250, "rig", "cable"))
    events += [Tick(START + 250 + i) for i in range(1, 50)]
    events.append(Issued(START + 300, Note("end"), "Ines", "doghouse"))
    return events


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("recompute") / "whole.kdrec"
    meta = meta_of(CONFIG, TEXT, "live", START)
    engine, events = Engine(CONFIG, head_entry(meta)), inputs()
    with closing(create_recording(path, meta)) as recorder:
        for cut in range(0, len(events), 7):
            batch = events[cut : cut + 7]
            recorder.inputs(batch)
            tables, lines = engine.take(batch)
            for table in tables:
                recorder.rows(table)
            recorder.journal(lines)
        recorder.status(Status(START + 300, START + 300, running=False))
    return path


@pytest.fixture
def differences(whole: Path, tmp_path: Path) -> Callable[..., list[str]]:
    """Touch a copy with SQL statements and return what the check finds."""

    def touched(*statements: str) -> list[str]:
        path = tmp_path / "touched.kdrec"
        copyfile(whole, path)
        with closing(sqlite3.connect(path)) as base:
            for statement in statements:
                assert base.execute(statement).rowcount > 0, statement
            base.commit()
        with closing(SqliteRecording(path)) as recording:
            found = compare(recording, CONFIG)
        said = kellydown("replay", path, "--check")
        assert said.code == (1 if found else 0)
        assert said.out.splitlines()[: len(found)] == found or not found
        return found

    return touched


def t(second: int) -> str:
    return f"t_us = {round((START + second) * 1e6)}"


@row("G33")
def test_an_untouched_recording_is_identical(
    whole: Path, differences: Callable[..., list[str]]
) -> None:
    """The recording was made in batches of 7, the check works in one: R-53."""
    with closing(SqliteRecording(whole)) as recording:
        assert len(recording.journal()) >= 8
        assert broken_at(recording.journal()) is None
    assert differences(f"UPDATE rows SET hook_load = hook_load WHERE {t(9)}") == []


@pytest.mark.parametrize(
    ("change", "second", "channel"),
    [
        ("hook_load = hook_load * (1 + 2.3e-16)", 9, "hook_load"),  # the last bit
        ("pit_volume = NULL", 9, "pit_volume"),
        ("weight_on_bit = 0.0", 280, "weight_on_bit"),  # it was unknown
        ("rig_state = rig_state + 1", 9, "rig_state"),
    ],
)
def test_a_flipped_value_is_found_with_its_channel_and_time(
    change: str, second: int, channel: str, differences: Callable[..., list[str]]
) -> None:
    found = differences(f"UPDATE rows SET {change} WHERE {t(second)}")
    assert found == [f"{channel}: differs at 1 rows, first {iso(START + second)}"]


def test_a_flipped_quality_bit_is_found(differences: Callable[..., list[str]]) -> None:
    """One bit of the second channel's quality, bytes 3 and 4 of the blob."""
    flipped = "CAST(substr(quality, 1, 2) || x'0008' || substr(quality, 5) AS BLOB)"
    found = differences(f"UPDATE rows SET quality = {flipped} WHERE {t(9)}")
    assert found == [f"hook_load: differs at 1 rows, first {iso(START + 9)}"]


def test_a_removed_row_is_found(differences: Callable[..., list[str]]) -> None:
    (found,) = differences(f"DELETE FROM rows WHERE {t(9)}")
    assert found == f"rows from {iso(START + 9)}: other times than recorded"


def test_removed_rows_at_the_end_are_found(differences: Callable[..., list[str]]) -> None:
    later = f"t_us > {round((START + 290) * 1e6)}"
    (found,) = differences(f"DELETE FROM rows WHERE {later}")
    assert found == f"rows: the last 9 are not recorded, up to {iso(START + 299)}"


def test_all_rows_of_a_span_between_two_commands_removed_are_found(
    differences: Callable[..., list[str]],
) -> None:
    """Commands cut the input into tables: a whole table gone must not look like an end."""
    early = f"t_us < {round((START + 75.2) * 1e6)}"
    (found,) = differences(f"DELETE FROM rows WHERE {early}")
    assert found == f"rows: 76 before {iso(START + 76)} are not recorded"


@pytest.mark.parametrize("second", [-5, 9.5, 400])
def test_an_added_row_is_found_wherever_it_is(
    second: float, differences: Callable[..., list[str]]
) -> None:
    us = round((START + second) * 1e6)
    copy = f"INSERT INTO rows (t_us, quality) SELECT {us}, quality FROM rows WHERE {t(9)}"
    (found,) = differences(copy)
    assert found.startswith("rows")
    assert (iso(START + second) if second < 300 else "1 recorded after the last input") in found


@pytest.mark.parametrize("line", [1, 3, 5])
def test_a_removed_journal_line_is_found(line: int, differences: Callable[..., list[str]]) -> None:
    found = differences(f"DELETE FROM journal WHERE seq = {line}")
    assert found[0] == f"journal line {line + 1}: the chain of hashes is broken here"
    assert any("lines recorded" in one for one in found)


def test_a_removed_last_journal_line_is_found(
    whole: Path, differences: Callable[..., list[str]]
) -> None:
    with closing(SqliteRecording(whole)) as recording:
        n = len(recording.journal())
    assert differences(f"DELETE FROM journal WHERE seq = {n}") == [
        f"journal: {n - 1} lines recorded, {n} worked out"
    ]


def test_a_changed_byte_of_the_journal_is_found(
    whole: Path, differences: Callable[..., list[str]]
) -> None:
    with closing(SqliteRecording(whole)) as recording:
        seq = next(line.seq for line in recording.journal() if "Ines" in line.text)
    found = differences(
        f"UPDATE journal SET text = replace(text, 'Ines', 'Inea') WHERE seq = {seq}"
    )
    assert found[0] == f"journal line {seq + 1}: the chain of hashes is broken here"
    assert found[1].startswith(f"journal line {seq}: ")
    assert '"Inea"' in found[1].split(" worked out as ")[0]
    assert '"Ines"' in found[1].split(" worked out as ")[1]


def test_a_journal_forged_with_its_chain_is_found(differences: Callable[..., list[str]]) -> None:
    """A line moved in time, in the column that a review reads; the text and chain still hold."""
    found = differences("UPDATE journal SET at = at + 60 WHERE seq = 3")
    assert found[0].startswith("journal line 3: kept at ")


@pytest.mark.parametrize("bad", ["'{'", "'[1]'", "'{\"seq\":3}'", "''"])
def test_a_journal_line_that_is_none_is_named_and_no_crash(
    bad: str, differences: Callable[..., list[str]], tmp_path: Path
) -> None:
    found = differences(f"UPDATE journal SET text = {bad} WHERE seq = 3")
    assert found[0] == "journal line 3: the chain of hashes is broken here"
    said = kellydown("review", tmp_path / "touched.kdrec")
    assert (said.code, said.out) == (1, "")
    assert "journal line 3: damaged" in said.err


def test_a_changed_byte_of_the_input_is_found(differences: Callable[..., list[str]]) -> None:
    """One digit of one hook load as it came: 120 becomes 121 kdaN."""
    found = differences("UPDATE inputs SET body = replace(body, '120.0', '121.0') WHERE seq = 10")
    assert f"hook_load: differs at 1 rows, first {iso(START + 9)}" in found


@pytest.mark.parametrize("seq", [10, 80, 290])
def test_a_removed_input_is_found(seq: int, differences: Callable[..., list[str]]) -> None:
    assert differences(f"DELETE FROM inputs WHERE seq = {seq}")


def test_an_input_that_is_none_is_named(whole: Path, tmp_path: Path) -> None:
    path = tmp_path / "touched.kdrec"
    copyfile(whole, path)
    with closing(sqlite3.connect(path)) as base:
        base.execute("UPDATE inputs SET body = substr(body, 2) WHERE seq = 10")
        base.commit()
    said = kellydown("replay", path, "--check")
    assert said.code == 1
    assert "input 10: not JSON" in said.err


KILLED = "UPDATE status SET running = 1"


def test_a_killed_watch_may_lack_the_very_end_of_what_followed(
    differences: Callable[..., list[str]],
) -> None:
    """Inputs are kept first: R-46."""
    rows = f"DELETE FROM rows WHERE t_us > {round((START + 298) * 1e6)}"
    line = "DELETE FROM journal WHERE seq = (SELECT max(seq) FROM journal)"
    assert differences(KILLED, rows, line) == []


def test_a_killed_watch_lacks_nothing_in_the_middle(
    differences: Callable[..., list[str]],
) -> None:
    assert differences(KILLED, f"DELETE FROM rows WHERE {t(9)}")
    assert differences(KILLED, "DELETE FROM journal WHERE seq = 3")
    assert differences(KILLED, "DELETE FROM inputs WHERE seq = 290")
