"""What the commands write: a tour simulated, imported, reviewed and exported, as others read it."""

from __future__ import annotations

import csv
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from adapters.config_file import example_text
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import SqliteRecorder, create_recording
from engine.commands import Acknowledge
from engine.engine import Engine
from engine.errors import RecordingError
from engine.events import FeedEvent, Frame, LinkDown, LinkUp, Tick, WireBytes
from engine.records.journal import from_iso
from engine.run import head_entry
from engine.sim.rig import Rig
from tests.commands import done, kellydown, make_tour, reviewed
from tui.commands import importing, simulate
from tui.commands.common import config_of, meta_of, parse_time, person, station

HEADER = (
    "time_utc,t_s,block_position_m,hook_load_kN,standpipe_pressure_kPa,flow_in_l_min,"
    "flow_out_l_min,pit_volume_m3,rotary_rpm,torque_kNm,bit_depth_m,hole_depth_m,"
    "weight_on_bit_kN,rop_m_h,in_slips,rig_state,flow_difference_l_min,pit_gain_m3"
)
"""The columns that were asked for, in their order; ours come behind."""
DAY = from_iso("2026-03-14T00:00:00Z")


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return 90 min with a pack-off: a connection and an alarm."""
    return make_tour(tmp_path_factory.mktemp("files"), "pack-off", 1.5)


def keys(item: dict[str, Any], *wanted: str) -> None:
    assert set(wanted) <= set(item), item


def test_a_review_has_the_promised_keys_and_numbers(tour: Path) -> None:
    found = reviewed(tour)
    assert list(found) == [
        "recording", "span", "states", "connections", "depth", "alarms", "events", "trials",
        "blind", "gaps",
    ]  # fmt: skip
    assert found["recording"] == str(tour)
    assert set(found["span"]) == {"start", "end", "frames", "missing_s"}
    assert set(found["depth"]) == {"bit_m", "hole_m"}
    assert found["depth"]["hole_m"][1] > found["depth"]["hole_m"][0] > 2400
    for state in found["states"]:
        assert set(state) == {"state", "start", "end", "seconds"}
    total = from_iso(found["span"]["end"]) - from_iso(found["span"]["start"])
    assert sum(s["seconds"] for s in found["states"]) == pytest.approx(total, abs=0.01)
    assert found["connections"]
    for one in found["connections"]:
        keys(one, "slips_in", "slips_out", "seconds", "bit_depth_m", "hole_depth_m")
    assert found["alarms"]
    for alarm in found["alarms"]:
        assert set(alarm) == {
            "id", "priority", "raised", "acknowledged", "cleared", "value", "limit", "unit"
        }  # fmt: skip
    assert isinstance(found["events"], list)
    for gap in found["gaps"]:
        assert set(gap) == {"start", "end", "channels"}


def test_a_review_agrees_with_the_truth_beside_the_stream(tour: Path) -> None:
    """The project's own target: slips within 3 s, depth within a decimetre."""
    truth = json.loads(tour.with_suffix(".truth.json").read_text(encoding="utf-8"))
    start = from_iso(truth["start"])
    found = reviewed(tour)["connections"]
    assert len(found) == len(truth["connections"])
    for one, true in zip(found, truth["connections"], strict=True):
        assert from_iso(one["slips_in"]) - start == pytest.approx(true["slips_in"], abs=3.0)
        assert from_iso(one["slips_out"]) - start == pytest.approx(true["slips_out"], abs=3.0)
        assert one["bit_depth_m"] == pytest.approx(true["bit_depth_m"], abs=0.1)


def test_a_window_is_cut_out_by_clock_times(tour: Path) -> None:
    part = reviewed(tour, "--from", "06:30", "--to", "2026-03-14T07:00:00Z")
    assert part["span"]["start"] == "2026-03-14T06:30:00.000Z"
    assert part["span"]["end"] == "2026-03-14T07:00:00.000Z"
    assert sum(s["seconds"] for s in part["states"]) == pytest.approx(1800.0, abs=0.01)
    whole = reviewed(tour)
    assert 0 < part["span"]["frames"] < whole["span"]["frames"]


def test_the_page_says_the_same_alarm_and_the_caution(tour: Path) -> None:
    page = done("review", tour).out
    assert "Standpipe pressure high" in page
    assert "not a safety system" in " ".join(page.split())
    assert max(map(len, page.splitlines())) <= 80 + len(str(tour))


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """Return a recording that a watch began and that holds nothing."""
    path = tmp_path / "empty.kdrec"
    meta = meta_of(config_of({"well_file": example_text()}), example_text(), "live", DAY)
    create_recording(path, meta).close()
    return path


def test_an_empty_recording_is_reviewed_exported_and_checked(empty: Path, tmp_path: Path) -> None:
    found = reviewed(empty)
    assert found["span"] == {"start": None, "end": None, "frames": 0, "missing_s": None}
    assert found["depth"] == {"bit_m": [None, None], "hole_m": [None, None]}
    assert [found[k] for k in ("states", "connections", "alarms", "events", "gaps")] == [[]] * 5
    assert "nothing was recorded" in done("review", empty).out
    assert done("export", empty, "--out", tmp_path / "e.csv").out.endswith("e.csv: 0 rows\n")
    assert (tmp_path / "e.csv").read_text(encoding="utf-8").startswith(HEADER + ",")
    assert done("replay", empty, "--check").code == 0
    said = kellydown("replay", empty)
    assert (said.code, "nothing to replay" in said.err) == (2, True)


def test_an_export_starts_with_the_promised_columns_and_holds_every_row(
    tour: Path, tmp_path: Path
) -> None:
    out = tmp_path / "t.csv"
    said = done("export", tour, "--format", "csv", "--out", out).out
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert ",".join(rows[0]).startswith(HEADER + ",")
    with closing(sqlite3.connect(f"file:{tour}?mode=ro", uri=True)) as base:
        (count,) = base.execute("SELECT count(*) FROM rows").fetchone()
        (load,) = base.execute("SELECT hook_load FROM rows ORDER BY t_us LIMIT 1").fetchone()
    assert said == f"{out}: {count} rows\n"
    assert len(rows) == count + 1
    first = dict(zip(rows[0], rows[1], strict=True))
    assert first["time_utc"] == "2026-03-14T06:00:01.000Z"
    assert first["t_s"] == "0"
    assert float(first["hook_load_kN"]) == pytest.approx(load / 1e3, abs=1e-6)


def test_an_existing_export_is_kept_unless_told_otherwise(tour: Path, tmp_path: Path) -> None:
    out = tmp_path / "t.csv"
    out.write_text("precious", encoding="utf-8")
    assert kellydown("export", tour, "--out", out).code == 2
    assert out.read_text(encoding="utf-8") == "precious"
    assert done("export", tour, "--out", out, "--force").code == 0
    assert out.read_text(encoding="utf-8").startswith(HEADER)


def test_an_import_keeps_every_byte_and_checks_out(tour: Path) -> None:
    with closing(SqliteRecording(tour)) as recording:
        kept = b"".join(event.data for event in recording.wire())
        status = recording.status()
    assert kept == tour.with_suffix(".wits").read_bytes()
    assert status is not None
    assert not status.running
    assert "worked out again, identical" in done("replay", tour, "--check").out


def test_an_import_that_fails_half_way_leaves_nothing(
    tour: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_self: SqliteRecorder, _table: object) -> None:
        raise RecordingError("the disk is full")

    monkeypatch.setattr(SqliteRecorder, "rows", full)
    out = tmp_path / "n.kdrec"
    well = tour.with_name("well.toml")
    said = kellydown("import", tour.with_suffix(".wits"), "--well", well, "--out", out)
    assert said[::2] == (1, "kellydown: the disk is full\n")
    assert list(tmp_path.iterdir()) == []


def test_a_simulation_that_is_broken_off_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(_rig: Rig, _chunks: object) -> dict[str, object]:
        raise KeyboardInterrupt

    monkeypatch.setattr(simulate, "truth_json", stop)
    said = kellydown("simulate", "quiet", "--hours", "0.01", "--out", tmp_path / "q.wits")
    assert said[::2] == (1, "kellydown: interrupted\n")
    assert list(tmp_path.iterdir()) == []


def test_a_simulation_is_the_same_for_the_same_seed_and_another_for_another(tmp_path: Path) -> None:
    def made(name: str, seed: int) -> bytes:
        out = tmp_path / name
        done("simulate", "quiet", "--hours", "0.05", "--seed", str(seed), "--out", out)
        return out.read_bytes()

    assert made("a.wits", 3) == made("b.wits", 3) != made("c.wits", 4)
    assert (tmp_path / "a.truth.json").read_bytes() == (tmp_path / "b.truth.json").read_bytes()


def test_an_import_takes_long_silences_as_a_live_watch_would(tmp_path: Path) -> None:
    """All batches of an import go through the engine in order, with ticks in the silences."""
    text = example_text()
    config = config_of({"well_file": text})
    events: list[FeedEvent] = [
        WireBytes(DAY, "rig", b"x"), LinkUp(DAY, "rig"), Frame(DAY + 1, "rig", {"0114": 100.0}),
        LinkDown(DAY + 900, "rig", "gone"),
    ]  # fmt: skip
    meta = meta_of(config, text, "import", DAY)
    path = tmp_path / "n.kdrec"
    with closing(create_recording(path, meta)) as recorder:
        importing._record(Engine(config, head_entry(meta)), recorder, events, 5.0)
    with closing(SqliteRecording(path)) as recording:
        inputs = list(recording.inputs())
        assert sum(isinstance(e, Tick) for e in inputs) > 60
        assert [type(e).__name__ for e in inputs if not isinstance(e, Tick)] == [
            "LinkUp", "Frame", "LinkDown"
        ]  # fmt: skip
        assert [w.data for w in recording.wire()] == [b"x"]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("06:00", 21600.0),
        ("06:00:30", 21630.0),
        ("05:59", 21540.0),  # the minute before the start: as typed
        ("03:00", 86400.0 + 10800.0),  # before the start: the next day
        ("2026-03-14T06:00:00Z", 21600.0),
        ("2026-03-14T06:00", 21600.0),
        ("2026-03-14T08:00:00+02:00", 21600.0),
        ("2026-03-15", 86400.0),
    ],
)
def test_times_are_iso_8601_or_a_clock_on_the_first_day(text: str, seconds: float) -> None:
    """ISO 8601: an offset is honoured, and a time without one is UTC here."""
    assert parse_time(text, DAY + 21600.0) == DAY + seconds
    assert parse_time(None, DAY) is None


def test_a_person_without_a_name_is_called_by_the_login(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOGNAME", "ines")
    assert person("") == "ines"
    assert person("Ola") == "Ola"

    def nobody() -> str:
        raise KeyError("uid")

    monkeypatch.setattr("getpass.getuser", nobody)
    assert person("") == "unknown"
    assert station()


def test_the_head_names_what_was_mapped_and_what_is_expected() -> None:
    text = example_text()
    meta = meta_of(config_of({"well_file": text}), text, "live", DAY)
    assert meta["created"] == "2026-03-14T00:00:00.000Z"
    assert (meta["source"], meta["synthetic"]) == ("live", "0")
    assert "hook_load" in json.loads(meta["channels_mapped"])
    assert json.loads(meta["channels_expected"]) == ["trip_tank_volume"]
    marked = meta_of(config_of({"well_file": text}), text, "synthetic", DAY)
    assert marked["synthetic"] == "1"


def test_a_recording_is_not_changed_by_reading(tour: Path, tmp_path: Path) -> None:
    def state() -> Iterator[tuple[str, bytes]]:
        for path in sorted(tour.parent.iterdir()):
            yield path.name, path.read_bytes()

    before = list(state())
    reviewed(tour)
    done("export", tour, "--out", tmp_path / "x.csv")
    done("replay", tour, "--check")
    with closing(SqliteRecording(tour)) as recording:
        assert not [e for e in recording.inputs() if isinstance(e, Acknowledge)]
    assert list(state()) == before


def test_a_synthetic_recording_makes_its_well_file_synthetic() -> None:
    """The built-in well file says nothing of it: every page of such a recording must."""
    text = example_text()
    assert not config_of({"well_file": text, "synthetic": "0"}).synthetic
    assert config_of({"well_file": text, "synthetic": "1"}).synthetic
