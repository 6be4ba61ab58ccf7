"""LAS 2.0 files against the standard's own rules.

CWLS: Canadian Well Logging Society, LAS Version 2.0: A Digital Standard for Logs, update of
January 2014.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from adapters.file_import import FileEvents, read_file
from adapters.las_header import header_line
from engine.config import Feed
from engine.errors import InputError
from engine.events import Frame, WireBytes

DATA = Path(__file__).parents[1] / "data"
SIX = datetime(2026, 3, 14, 6, tzinfo=UTC).timestamp()
MAP = {
    "HKLA": {"channel": "hook_load", "unit": "kdaN"},
    "SPPA": {"channel": "standpipe_pressure", "unit": "kPa"},
    "TVA": {"channel": "pit_volume", "unit": "m3"},
}


def read(path: Path, **more: Any) -> FileEvents:
    raw = {"name": "rig", "format": "las", "map": MAP, "sentinels": [-999.25]}
    return read_file(str(path), Feed.model_validate(raw | more))


def rows(found: FileEvents) -> list[tuple[float, dict[str, float]]]:
    return [(e.at - SIX, dict(e.values)) for e in found.events if isinstance(e, Frame)]


def changed(tmp_path: Path, name: str, *changes: tuple[str, str]) -> Path:
    """Write a copy of a data file in which each first text is the second."""
    text = (DATA / name).read_text("ascii")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = tmp_path / name
    path.write_bytes(text.encode("latin-1"))
    return path


def test_an_unwrapped_file_reads_from_its_start_with_its_own_null() -> None:
    """CWLS: NULL names the null value; the index unit is that of the first curve."""
    found = read(DATA / "good_unwrapped.las")
    assert rows(found) == [
        (0.0, {"HKLA": 82.4, "SPPA": 13790.0, "TVA": 60.1}),
        (1.0, {"HKLA": 82.5, "SPPA": 13810.0, "TVA": 60.1}),
        (2.0, {}),
        (3.0, {"HKLA": 82.6, "SPPA": 13800.0, "TVA": 60.2}),
        (4.0, {"HKLA": 82.6, "SPPA": 13795.0}),
    ]
    assert found.report.missing == {"sentinel": 4}
    assert found.report.notes == []
    assert found.report.dropped == {}
    kept = b"".join(e.data for e in found.events if isinstance(e, WireBytes))
    assert kept == (DATA / "good_unwrapped.las").read_bytes()


def test_a_wrapped_file_reads_the_same_however_its_rows_are_broken() -> None:
    """CWLS: with WRAP YES the index stands alone on its line."""
    found = read(DATA / "good_wrapped.las")
    assert rows(found) == [
        (0.0, {"HKLA": 82.4, "SPPA": 13790.0, "TVA": 60.1}),
        (2.0, {"HKLA": 82.5, "SPPA": 13800.0, "TVA": 60.1}),
        (4.0, {"HKLA": 82.6, "SPPA": 13810.0, "TVA": 60.2}),
    ]
    kept = b"".join(e.data for e in found.events if isinstance(e, WireBytes))
    assert kept == (DATA / "good_wrapped.las").read_bytes()


@pytest.mark.parametrize(
    ("old", "new", "left"),
    [
        ("82.5 13800.0 60.1 -999.25", "82.5 13800.0 60.1", [0.0]),
        ("82.4 13790.0\n60.1 70", "82.4 13790.0\n60.1 70 5", [2.0, 4.0]),
        ("1773468002\n82.5", "1773468002 82.5", [4.0]),
        ("60.2\n71\n", "60.2\n", [0.0, 2.0]),
    ],
)
def test_a_wrapped_row_that_lost_or_gained_a_value_is_dropped_not_shifted(
    tmp_path: Path, old: str, new: str, left: list[float]
) -> None:
    """The next index must not become a value; what is in doubt is dropped and counted."""
    found = read(changed(tmp_path, "good_wrapped.las", (old, new)))
    whole = dict(rows(read(DATA / "good_wrapped.las")))
    assert rows(found) == [(t, whole[t]) for t in left]
    assert found.report.dropped["columns"].count >= 1


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("TIME .S      : 1 elapsed", ("TIME", "S", "")),
        ("TIME.S: index", ("TIME", "S", "")),
        ("DATE. 2026 03 14 : day", ("DATE", "", "2026 03 14")),
        ("T0 . 06:00:00 : a clock", ("T0", "", "06:00:00")),
        ("UWI . 100/12.34 : dots. in text", ("UWI", "", "100/12.34")),
        ("BS.MM 216.0 : size: bit", ("BS", "MM", "216.0 : size")),
    ],
)
def test_the_first_dot_the_first_blank_and_the_last_colon_divide_a_header_line(
    text: str, parts: tuple[str, str, str]
) -> None:
    """CWLS, the three delimiters; a unit glued to its colon is common practice, no source."""
    line = header_line(text)
    assert line is not None
    assert (line.name, line.unit, line.value) == parts


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([("VERS.            2.0", "VERS.            3.0")], "LAS version '3.0'; only 2.0"),
        ([("VERS.            2.0 ", "BERS.            2.0 ")], "no VERS line in a ~V section"),
        ([("WRAP.            NO ", "WRAP.            MAYBE ")], "WRAP is 'MAYBE'; must be YES or"),
        ([("~A ", "~B ")], "no ~A section, so no data"),
        ([("TIME .S ", "DEPT .S ")], "the index is DEPT .depth.; only a time index"),
        ([("TIME .S ", "TIME .MIN ")], "the index TIME is in 'MIN'; a time index must be in S"),
        ([("HKLA", "A"), ("SPPA", "B"), ("TVA ", "C ")],
         "no curve of the map .HKLA, SPPA, TVA.; the file has: A, B, C"),
        ([("2026-03-14T06:00:00Z", "unknown"), ("2026 03 14 ", "14/3/2026 ")],
         "not from when; DATE is '14/3/2026', not yyyy mm dd"),
        ([("T0   .", "A. 2026-03-14T06:00:00Z :\nB.")], "several times in ~P .A, B.; call the one"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_what_would_be_right(
    tmp_path: Path, changes: list[tuple[str, str]], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        read(changed(tmp_path, "good_unwrapped.las", *changes))


def test_a_depth_file_is_refused() -> None:
    with pytest.raises(InputError, match=r"the index is DEPT \(depth\); only a time index"):
        read(DATA / "bad_depth.las")


def test_without_a_time_in_p_the_day_of_w_is_the_start(tmp_path: Path) -> None:
    """CWLS: DATE is preferred as yyyy mm dd. Oslo is UTC+1 in March before the 29th."""
    path = changed(tmp_path, "good_unwrapped.las", ("2026-03-14T06:00:00Z", "unknown"))
    found = read(path, time_zone="Europe/Oslo")
    assert rows(found)[0][0] == -7 * 3600
    assert "index 0 was taken as the start of DATE, 2026 03 14" in found.report.text()


def test_the_well_file_may_say_the_start_itself(tmp_path: Path) -> None:
    path = changed(tmp_path, "good_unwrapped.las", ("2026-03-14T06:00:00Z", "unknown"))
    time = {"columns": ["TIME"], "layout": "seconds", "start": "2026-03-14T06:00:10Z"}
    assert rows(read(path, time=time))[0][0] == 10.0


def test_rows_that_do_not_fit_are_dropped_one_by_one(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        "good_unwrapped.las",
        ("     1.0      82.50", "     1.0"),
        ("     3.0      82.60", "     x      82.60"),
        ("4.0      82.60   13795.00", "4.0   82.60x   1.3795E+04"),
    )
    found = read(path)
    assert [t for t, _ in rows(found)] == [0.0, 2.0, 4.0]
    assert rows(found)[2][1] == {"SPPA": 13795.0}
    lines = {reason: d.line for reason, d in found.report.dropped.items()}
    assert lines == {"columns": 24, "bad_time": 26, "bad_number": 27}


def test_a_file_that_ends_before_its_stop_or_in_other_units_is_remarked(tmp_path: Path) -> None:
    """CWLS: STRT and STOP equal the first and last index exactly."""
    path = changed(
        tmp_path, "good_unwrapped.las", ("STOP.S           4.0", "STOP.S           9.0"),
        ("HKLA .KDN", "HKLA .KLB"), ("NULL. ", "NUL.  "),
    )  # fmt: skip
    notes = "\n".join(read(path).report.notes)
    assert "STOP is 9, but the last row is 4; cut?" in notes
    assert "HKLA is in KLB, the map says kdaN; which is right?" in notes
    assert "no NULL line" in notes


def test_curves_of_one_name_stay_apart(tmp_path: Path) -> None:
    path = changed(tmp_path, "good_unwrapped.las", ("TVA  .M3", "HKLA .M3"))
    assert rows(read(path))[0][1] == {"HKLA": 82.4, "SPPA": 13790.0}
    assert rows(read(path, map={}))[0][1] == {"HKLA": 82.4, "SPPA": 13790.0, "HKLA:2": 60.1}
