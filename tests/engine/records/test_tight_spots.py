"""The log of tight spots: a fold of the journal, by time and by depth."""

from __future__ import annotations

from typing import Any

import pytest

from engine.interfaces import JournalLine
from engine.records.journal import Entry, Journal
from engine.records.tight_spots import as_json, places, tight_spots, tight_spots_text
from engine.units import unit
from tests.tables import T0, well

KLBF = unit("klbf").factor


def said(at: float, kind: str, event: str, grave: str, depth: float, klbf: float) -> Entry:
    evidence = {"peak_n": klbf * KLBF, "peak_bit_depth_m": depth, "turning": False}
    details: dict[str, Any] = {"severity": grave, "since": None, "evidence": evidence}
    return Entry(T0 + at, "event", kind, event, details)


def lines() -> list[JournalLine]:
    return Journal().write(
        [
            said(10, "overpull", "advice", "advice", 1500.2, 11),
            said(12, "overpull", "warning", "warning", 1501.0, 21),
            said(16, "overpull", "end", "warning", 1502.5, 31),
            said(20, "influx", "warning", "warning", 0.0, 0),
            said(300, "overpull", "advice", "advice", 1400.0, 12),
            said(305, "overpull", "end", "advice", 1400.0, 12),
            said(9000, "take_weight", "advice", "advice", 1499.0, 14),
        ]
    )


def test_each_spot_has_its_largest_load_and_how_grave_it_was() -> None:
    first, second, third = tight_spots(lines())
    assert (first.way, first.bit_depth, first.severity) == ("out", 1502.5, "warning")
    assert first.size == pytest.approx(31 * KLBF)
    assert (first.at, first.ended) == (T0 + 10, T0 + 16)
    assert (second.bit_depth, second.severity) == (1400.0, "advice")
    assert (third.way, third.ended) == ("in", None)


def test_spots_within_five_metres_are_one_place_from_the_top() -> None:
    shallow, deep = places(tight_spots(lines()))
    assert (shallow.top, shallow.bottom) == (1400.0, 1400.0)
    assert (deep.top, deep.bottom, deep.count("out"), deep.count("in")) == (1499.0, 1502.5, 1, 1)
    assert deep.largest("in") == pytest.approx(14 * KLBF)
    assert shallow.largest("in") is None


def test_the_page_is_no_wider_than_a_screen_and_says_what_still_holds() -> None:
    page = tight_spots_text(tight_spots(lines()), well()).splitlines()
    assert page[0].startswith("TIGHT SPOTS   ")
    assert all(len(line) <= 80 for line in page)
    head = next(i for i, line in enumerate(page) if line.endswith("LAST"))
    assert page[head + 1].split()[:3] == ["1400.0", "-", "1400.0"]
    assert page[head + 2].split()[:3] == ["1499.0", "-", "1502.5"]
    assert "holds" in page[-1]
    assert "warning" in page[-3]


def test_without_any_it_says_so() -> None:
    assert tight_spots_text((), well()).splitlines()[1] == "none was called"


def test_json_has_the_unit_in_the_key() -> None:
    found = as_json(tight_spots(lines()), well(), "x.kdrec")
    assert found["spots"][0]["bit_depth_m"] == 1502.5
    assert found["spots"][2]["ended"] is None
    assert found["places"][1]["largest_out_n"] == pytest.approx(31 * KLBF)
    assert found["places"][0]["largest_in_n"] is None


def test_a_line_without_a_depth_is_left_out() -> None:
    broken = Entry(T0, "event", "overpull", "advice", {"severity": "advice", "evidence": {}})
    end = Entry(T0 + 1, "event", "overpull", "end", {"severity": "advice", "evidence": {}})
    assert tight_spots(Journal().write([broken, end])) == ()
