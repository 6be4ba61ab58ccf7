"""Whole files: rows joined and sorted by time, nothing lost, nothing invented, all of it said."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from adapters.file_import import FileEvents, read_file, read_files
from engine.config import Feed
from engine.errors import InputError
from engine.events import BadLine, Frame, WireBytes

DATA = Path(__file__).parents[1] / "data"
SIX = datetime(2026, 3, 14, 6, tzinfo=UTC).timestamp()
HOOK = {"channel": "hook_load", "unit": "kN"}
COLUMNS = {
    "Hook load, mean": HOOK,
    "Pit volume": {"channel": "pit_volume", "unit": "m3"},
    'Stand pipe "A"': {"channel": "standpipe_pressure", "unit": "kPa"},
}


def feed_of(**more: Any) -> Feed:
    raw = {"name": "rig", "format": "delimited", "time": {"columns": ["Time"]}, "map": COLUMNS}
    return Feed.model_validate(raw | more)


def write(path: Path, text: str | bytes) -> str:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return str(path)


def rows(found: FileEvents) -> list[tuple[float, dict[str, float]]]:
    return [(e.at, dict(e.values)) for e in found.events if isinstance(e, Frame)]


def one_column(tmp_path: Path, *lines: str, **more: Any) -> FileEvents:
    """Read a file of a time and a hook load."""
    path = write(tmp_path / "a.csv", "".join(f"{line}\n" for line in ("Time,H", *lines)))
    return read_file(path, feed_of(map={"H": HOOK}, **more))


def test_a_file_of_every_oddity_reads_without_a_value_lost_or_invented() -> None:
    """Counted by hand from the file."""
    path = DATA / "good_interleaved.csv"
    found = read_file(str(path), feed_of())
    h, p, s = COLUMNS
    assert rows(found) == [
        (SIX, {h: 82.4, p: 60.10, s: 13790.0}),
        (SIX + 1, {h: 82.5}),
        (SIX + 2, {h: 82.6, p: 60.11, s: 13800.0}),
        (SIX + 3, {h: 82.8, p: 60.12}),
        (SIX + 4, {h: 82.9, s: 13810.0}),
        (SIX + 7, {}),
    ]
    frames = [e for e in found.events if isinstance(e, Frame)]
    assert frames[0].missing == {}
    assert frames[0].text == {"Remark": "running in"}
    assert frames[1].missing == {p: "placeholder", s: "sentinel"}
    assert frames[4].missing == {p: "rejected"}
    assert frames[5].missing == dict.fromkeys(COLUMNS, "placeholder")
    report = found.report
    assert (report.lines, report.rows, report.merged, report.duplicates) == (14, 10, 3, 1)
    assert (report.conflicts, report.out_of_order) == (1, 1)
    assert {r: (d.count, d.line) for r, d in report.dropped.items()} == {
        "columns": (1, 12), "bad_number": (1, 11), "bad_time": (1, 13),
    }  # fmt: skip
    assert b"".join(e.data for e in found.events if isinstance(e, WireBytes)) == path.read_bytes()


def test_the_report_says_it_in_words() -> None:
    text = read_file(str(DATA / "good_interleaved.csv"), feed_of()).report.text()
    for said in (
        "14 lines, 10 rows with values, 2026-03-14T06:00:00Z to 2026-03-14T06:00:07Z",
        "joined to another row of the same time: 3",
        "values that differ at one time, the later line counts: 1; "
        "first: good_interleaved.csv line 10: Hook load, mean 82.7, 82.8",
        "no value, as sent (sentinel): 1",
        "lines dropped, too few or too many fields: 1; first: good_interleaved.csv line 12: ",
        "values dropped, not a number: 1; first: good_interleaved.csv line 11: 'Pit volume: ",
    ):
        assert said in text


def test_rows_that_go_back_in_time_are_sorted_into_place(tmp_path: Path) -> None:
    found = one_column(
        tmp_path, *(f"2026-03-14 06:00:0{s},{s}" for s in (0, 3, 1, 4, 2))
    )  # fmt: skip
    assert rows(found) == [(SIX + s, {"H": float(s)}) for s in range(5)]
    assert found.report.out_of_order == 2


def test_a_blank_or_bad_field_never_hides_a_value_of_the_same_time(tmp_path: Path) -> None:
    for fields in (("", "82", "nan"), ("82", ""), ("x", "82"), ("82", "x"), ("-9999", "82")):
        found = one_column(tmp_path, *(f"2026-03-14 06:00:00,{f}" for f in fields))
        assert rows(found) == [(SIX, {"H": 82.0})]
        assert found.report.conflicts == 0
        (frame,) = [e for e in found.events if isinstance(e, Frame)]
        assert frame.missing == {}


def test_events_come_in_order_of_time_and_frames_never_share_one(tmp_path: Path) -> None:
    found = one_column(tmp_path, "x,1", *(f"2026-03-14 06:00:0{s},{s}y" for s in (3, 1, 3)))
    assert [e.at for e in found.events] == sorted(e.at for e in found.events)
    times = [e.at for e in found.events if isinstance(e, Frame)]
    assert all(a < b for a, b in pairwise(times))
    bad = [(e.reason, e.at - SIX) for e in found.events if isinstance(e, BadLine)]
    assert bad == [("bad_time", 1), ("bad_number", 1), ("bad_number", 3), ("bad_number", 3)]


def test_the_senders_zone_gives_utc_and_the_doubled_hour_is_told_by_order(tmp_path: Path) -> None:
    """Oslo, 25 October 2026: 03:00 CEST becomes 02:00 CET at 01:00 UTC (IANA tz database)."""
    clock = ["01:59:59", "02:00:00", "02:59:59", "02:00:00", "02:59:59", "03:00:00"]
    lines = [f"2026-10-25 {c},{i}" for i, c in enumerate(clock)]
    found = one_column(tmp_path, *lines, time_zone="Europe/Oslo")
    start = datetime(2026, 10, 24, 23, 59, 59, tzinfo=UTC).timestamp()
    expected = [0, 1, 3600, 3601, 7200, 7201]
    assert rows(found) == [(start + s, {"H": float(i)}) for i, s in enumerate(expected)]
    assert found.report.ambiguous == 4


def test_a_time_that_the_clocks_leave_out_is_kept_and_counted(tmp_path: Path) -> None:
    """Oslo, 29 March 2026: 02:00 CET becomes 03:00 CEST at 01:00 UTC (IANA tz database)."""
    found = one_column(tmp_path, "2026-03-29 02:30:00,1", time_zone="Europe/Oslo")
    assert rows(found)[0][0] == datetime(2026, 3, 29, 1, 30, tzinfo=UTC).timestamp()
    assert found.report.nonexistent == 1


def test_files_are_merged_by_time_and_each_keeps_its_bytes(tmp_path: Path) -> None:
    a = write(tmp_path / "a.csv", "Time,H\n2026-03-14 06:00:00,1\n2026-03-14 06:00:02,3\n")
    b = write(tmp_path / "b.csv", "Time,P\n2026-03-14 06:00:01,60\n2026-03-14 06:00:02,61\n")
    feed = feed_of(map={"H": HOOK, "P": COLUMNS["Pit volume"]})
    found = read_files([a, b], feed)
    assert rows(found) == [
        (SIX, {"H": 1.0}), (SIX + 1, {"P": 60.0}), (SIX + 2, {"H": 3.0, "P": 61.0})
    ]  # fmt: skip
    assert found.report.out_of_order == 0
    for path in (a, b):
        kept = [e.data for e in found.events
                if isinstance(e, WireBytes) and e.feed == f"rig:{Path(path).name}"]  # fmt: skip
        assert b"".join(kept) == Path(path).read_bytes()


def test_a_last_line_without_an_end_is_used_and_said(tmp_path: Path) -> None:
    found = read_file(write(tmp_path / "a.csv", "Time,H\n2026-03-14 06:00:00,50"),
                      feed_of(map={"H": HOOK}))  # fmt: skip
    assert rows(found) == [(SIX, {"H": 50.0})]
    assert "line 2) has no line end; it was used" in found.report.text()


@pytest.mark.parametrize(
    ("text", "more", "said"),
    [
        ("Time,A\n1,2\n", {}, r"no line holds a column name of the map \(Hook load, mean, Pit"),
        ("Tim,Pit volume\n1,2\n", {}, r"no column 'Time' \(did you mean 'Tim'\?\) of the time"),
        ("Time,Pit volume\n1,2\n", {"time": None}, "a file needs its time column"),
        ("Time,Pit volume\n1,2\n", {"time": {"columns": ["Time"], "layout": "seconds"}},
         "counts in seconds, from when"),
        (b"\xff\xfeT\x00", {}, "is UTF-16 text; save it as UTF-8"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_used_says_why(
    tmp_path: Path, text: str | bytes, more: dict[str, Any], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        read_file(write(tmp_path / "a.csv", text), feed_of(**more))


def test_a_zone_or_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_file(str(tmp_path / "none.csv"), feed_of())
    with pytest.raises(InputError, match="'Ember/Holt': no such zone"):
        one_column(tmp_path, time_zone="Ember/Holt")


def test_a_mapped_column_that_is_not_in_the_file_is_said(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", "Time,Pit volum,Hook load, mean\n".replace(", mean", ""))
    with pytest.raises(InputError):
        read_file(path, feed_of())
    path = write(tmp_path / "a.csv", 'Time,Pit volum,"Hook load, mean"\n')
    text = read_file(path, feed_of()).report.text()
    assert "no column 'Pit volume' (did you mean 'Pit volum'?)" in text


NAMES = ("A", "B", "C")
TABLE = st.dictionaries(
    st.integers(0, 50),
    st.dictionaries(st.sampled_from(NAMES), st.floats(-1e6, 1e6), min_size=1),
    min_size=1,
)


@given(TABLE, st.randoms(use_true_random=False))
def test_any_splitting_and_shuffling_of_rows_reads_back_to_the_same_table(
    tmp_path_factory: pytest.TempPathFactory, table: dict[int, dict[str, float]], random: Any
) -> None:
    """Each value stands in a row of its own or with others; rows in any order; blanks anywhere."""
    void = {-9999.0, -9999.25, -999.25, -8888.0}
    table = {t: {n: v for n, v in row.items() if v not in void} for t, row in table.items()}
    lines = []
    for t, row in table.items():
        groups: dict[int, list[str]] = {0: []}
        for name in row:
            groups.setdefault(random.randrange(3), []).append(name)
        for group in groups.values():
            none = random.choice(["", "nan", "-999.25", "--"])
            fields = [repr(row[n]) if n in group else none for n in NAMES]
            lines.append(f"{int(SIX) + t};" + ";".join(fields))
    random.shuffle(lines)
    path = write(tmp_path_factory.mktemp("t") / "t.csv", "\r\n".join(["Time;A;B;C", *lines, ""]))
    feed = feed_of(delimiter=";", map=dict.fromkeys(NAMES, HOOK),
                   time={"columns": ["Time"], "layout": "unix"})  # fmt: skip
    found = read_file(path, feed)
    assert rows(found) == [(SIX + t, table[t]) for t in sorted(table)]
    assert found.report.rows == len(lines) == found.report.lines - 1
    assert found.report.dropped == {}
    assert b"".join(e.data for e in found.events if isinstance(e, WireBytes)) == (
        Path(path).read_bytes()
    )
