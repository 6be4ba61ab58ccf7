"""Files of WITS level 0 packets: each packet at its own time.

API PUBL 3855 (1991): items 05 and 06 of every record are date (YYMMDD) and time (HHMMSS), 0108
is the bit depth, 0114 the hook load, 1115 the active pit volume.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from adapters.file_import import FileEvents, read_file
from engine.config import Feed
from engine.errors import InputError
from engine.events import BadLine, Frame, WireBytes

SIX = datetime(2026, 3, 14, 6, tzinfo=UTC).timestamp()


def packet(*items: str, end: str = "!!\r\n") -> str:
    return "&&\r\n" + "".join(f"{item}\r\n" for item in items) + end


def read(tmp_path: Path, *parts: str, **more: Any) -> FileEvents:
    path = tmp_path / "tour.wits"
    path.write_bytes("".join(parts).encode())
    found = read_file(str(path), Feed.model_validate({"name": "rig", **more}))
    kept = b"".join(e.data for e in found.events if isinstance(e, WireBytes))
    assert kept == path.read_bytes()
    return found


def loads(found: FileEvents) -> list[tuple[float, float | None]]:
    """Return seconds after six and hook load of each frame."""
    return [(e.at - SIX, e.values.get("0114")) for e in found.events if isinstance(e, Frame)]


def test_a_packet_stands_at_its_own_time_in_the_senders_zone(tmp_path: Path) -> None:
    """Tokyo is UTC+9 all year (IANA tz database)."""
    parts = [packet("0105260314", f"010615000{s}", f"011480.{s}") for s in range(3)]
    assert loads(read(tmp_path, *parts, time_zone="Asia/Tokyo")) == [
        (0.0, 80.0), (1.0, 80.1), (2.0, 80.2)
    ]  # fmt: skip


def test_records_of_one_second_become_one_row(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        packet("0105260314", "0106060000", "011480"),
        packet("1105260314", "1106060000", "111560.5"),
    )
    (frame,) = [e for e in found.events if isinstance(e, Frame)]
    assert {k: frame.values[k] for k in ("0114", "1115")} == {"0114": 80.0, "1115": 60.5}
    assert (found.report.rows, found.report.merged) == (2, 1)


def test_a_packet_without_a_time_follows_the_one_before_by_an_interval(tmp_path: Path) -> None:
    found = read(
        tmp_path, packet("011479"), packet("0105260314", "0106060000", "011480"),
        packet("011481"), packet("011482"), interval_s=2.0,
    )  # fmt: skip
    assert loads(found) == [(0.0, 80.0), (2.0, 81.0), (4.0, 82.0)]
    assert found.report.dropped["no_time"].count == 1
    assert "packets without a time, taken as 2 s after the packet before: 2" in found.report.text()


def test_a_clock_without_its_date_rolls_over_midnight(tmp_path: Path) -> None:
    found = read(
        tmp_path, packet("0105260314", "0106235959", "011480"),
        packet("0106000000", "011481"), packet("0106235958", "011479"),
    )  # fmt: skip
    assert loads(found) == [(64798.0, 79.0), (64799.0, 80.0), (64800.0, 81.0)]


def test_a_date_that_changes_late_does_not_throw_rows_back_a_day(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        packet("0105260314", "0106235959", "011480"),
        packet("0105260314", "0106000000", "011481"),
        packet("0105260315", "0106000001", "011482"),
    )
    assert loads(found) == [(64799.0, 80.0), (64800.0, 81.0), (64801.0, 82.0)]
    assert "packets moved to the next day: 1" in found.report.text()


def test_packets_that_go_back_in_time_are_sorted_into_place(tmp_path: Path) -> None:
    parts = [packet("0105260314", f"010606000{s}", f"01148{s}") for s in (0, 2, 1)]
    found = read(tmp_path, *parts)
    assert loads(found) == [(0.0, 80.0), (1.0, 81.0), (2.0, 82.0)]
    assert found.report.out_of_order == 1


def test_bad_lines_are_dropped_at_their_time_with_their_line(tmp_path: Path) -> None:
    found = read(
        tmp_path, "noise\r\n", packet("0105260314", "0106060000", "011480"),
        packet("0105260314", "0106060001", "01148x", "01081000"),
    )  # fmt: skip
    bad = [(e.reason, e.at - SIX) for e in found.events if isinstance(e, BadLine)]
    assert bad == [("outside_packet", 0.0), ("bad_number", 1.0)]
    assert {r: d.line for r, d in found.report.dropped.items()} == {
        "outside_packet": 1, "bad_number": 10
    }  # fmt: skip
    assert found.report.lines == 12


@pytest.mark.parametrize(
    ("tail", "rows", "dropped"),
    [
        (packet("0105260314", "0106060001", "011481", end="!!"), [80.0, 81.0], []),
        ("&&\r\n0105260314\r\n0106060001\r\n01148", [80.0, None], ["truncated_line"]),
    ],
)
def test_a_last_mark_needs_no_line_end_but_a_cut_item_is_no_value(
    tmp_path: Path, tail: str, rows: list[float | None], dropped: list[str]
) -> None:
    found = read(tmp_path, packet("0105260314", "0106060000", "011480"), tail)
    assert [load for _, load in loads(found)] == rows
    assert list(found.report.dropped) == dropped


def test_a_file_without_any_time_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"2 packets and none has a time .items 05 and 06"):
        read(tmp_path, packet("011480"), packet("011481"))


def test_two_packets_of_one_second_are_two_rows_unless_they_belong_together(tmp_path: Path) -> None:
    """Stamps are whole seconds; packets 0.9 s apart often share one, and both are data."""
    stamp = b"0105260314\r\n0106060000\r\n"
    items = [b"0114100.0", b"0114101.0", b"0114101.0", b"01215000", b"0114102.0"]
    path = tmp_path / "twice.wits"
    path.write_bytes(b"".join(b"&&\r\n" + stamp + i + b"\r\n!!\r\n" for i in items))
    frames = [e for e in read_file(str(path), Feed(name="rig")).events if isinstance(e, Frame)]
    start = 1773468000.0  # 2026-03-14T06:00:00Z
    assert [(f.at - start, f.values.get("0114"), f.values.get("0121")) for f in frames] == [
        (0.0, 100.0, None),
        (0.5, 101.0, 5000.0),
        (0.75, 102.0, None),
    ]
