"""``docs/recording.md`` is true: a person with any SQL tool can go by it (R-51)."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np

from adapters.sqlite_schema import APPLICATION_ID, SCHEMA
from adapters.sqlite_store import create_recording
from engine.block import Quality
from engine.channels import CHANNELS
from engine.interfaces import JournalLine
from engine.records import codec
from engine.records.journal import Entry, Journal
from engine.states import RigState
from tests.helpers import T0, full_table

PAGE = (Path(__file__).parents[2] / "docs" / "recording.md").read_text(encoding="utf-8")


def made(path: Path) -> Path:
    t = np.concatenate([T0 + np.arange(90.0), T0 + 200 + np.arange(5.0)])
    lines: list[JournalLine] = Journal().write(
        [Entry(T0, "watch", "w", "start"), Entry(T0 + 1, "alarm", "kick", "trip")]
    )
    with closing(create_recording(path, {"well": "Emberholt 4"})) as recorder:
        recorder.rows(full_table(t))
        recorder.journal(lines)
    return path


def test_the_page_lists_every_table_and_column(tmp_path: Path) -> None:
    with closing(sqlite3.connect(made(tmp_path / "a.kdrec"))) as raw:
        tables = [
            name
            for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if not name.startswith("sqlite_")
        ]
        for table in tables:
            (line,) = re.findall(rf"^\| `{table}` .*$", PAGE, re.MULTILINE)
            columns = {row[1] for row in raw.execute(f"PRAGMA table_info({table})")}
            assert {c for c in columns - CHANNELS.keys() if f"`{c}`" not in line} == set()
    assert len(tables) == len(re.findall(r"^\| `\w+` \|", PAGE, re.MULTILINE))


def test_the_page_names_the_numbers_in_the_file() -> None:
    assert f"`PRAGMA application_id` is {APPLICATION_ID} " in PAGE
    assert f"`PRAGMA user_version` is the version of this layout: {SCHEMA}." in PAGE
    text = " ".join(PAGE.split())
    for state in RigState:
        assert f"{state.value} {state.id}" in text
    for bit in Quality:
        assert f"| {bit.value} | " in text
    for kind in codec._KIND.values():
        assert f"`{kind}`" in PAGE


def test_the_questions_on_the_page_can_be_asked(tmp_path: Path) -> None:
    (block,) = re.findall(r"```sql\n(.*?)```", PAGE, re.DOTALL)
    first, trips, gaps = [q for q in block.split(";") if q.strip()]
    with closing(sqlite3.connect(made(tmp_path / "a.kdrec"))) as raw:
        assert len(raw.execute(first).fetchall()) == 60
        assert raw.execute(trips).fetchall() == [("2026-05-28T20:26:41.000Z", "kick")]
        assert raw.execute(gaps).fetchall() == [("2026-05-28 20:30:00", 111.0)]
