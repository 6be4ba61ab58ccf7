"""The crown check register, slips and pump marks, folded from the journal.

R-43. 30 CFR 250.404: the crown block device is checked at least weekly and after each slip;
API RP 54 (from memory): at the start of each tour.
"""

from __future__ import annotations

from datetime import UTC
from zoneinfo import ZoneInfo

import pytest

from engine.commands import Command, CrownCheck, Issued, MarkPump, Note, SlipLine
from engine.engine import Engine
from engine.interfaces import JournalLine
from engine.records.journal import Entry, from_iso, read
from engine.records.tours import tour_start, tours_between, zone_name
from engine.records.upkeep import WEEK, Upkeep
from engine.records.words import what
from tests.tables import well

CONFIG = well()
DAY = from_iso("2026-03-14T00:00:00Z")
HEAD = Entry(DAY + 6 * 3600, "watch", "Emberholt 4", "start", {"synthetic": "0"})


def h(hours: float) -> float:
    """Return a time so many hours into the day."""
    return DAY + 3600.0 * hours


def journal(*given: tuple[float, Command]) -> list[JournalLine]:
    """Return the journal of a watch that took these commands, at hours of the day."""
    engine = Engine(CONFIG, HEAD)
    lines = []
    for hours, command in given:
        lines += engine.take([Issued(h(hours), command, "Ines", "doghouse")])[1]
    return lines


def upkeep(*given: tuple[float, Command]) -> Upkeep:
    return Upkeep().take(journal(*given))


def due(found: Upkeep, hours: float) -> str:
    """Return why the check is due so many hours into the day, empty if it is not."""
    one = found.crown_due(h(hours), tour_start(CONFIG.tour, UTC, h(hours)))
    return "" if one is None else one.reason


def test_a_slip_sets_the_crown_check_due_until_it_is_signed() -> None:
    """SC-23, second half."""
    checked = (6.5, CrownCheck())
    slip = (9.0, SlipLine(12.0, 0.0, "programme"))
    assert due(upkeep(checked), 9.5) == ""
    assert due(upkeep(checked, slip), 9.0) == "the line was slipped at 2026-03-14 09:00 UTC"
    assert due(upkeep(checked, slip), 17.0) != ""
    assert due(upkeep(checked, slip, (9.5, Note("no check"))), 9.6) != ""
    assert due(upkeep(checked, slip, (9.7, CrownCheck())), 9.8) == ""


def test_each_tour_begins_with_the_check_due() -> None:
    signed = upkeep((6.5, CrownCheck()))
    assert due(signed, 17.99) == ""
    assert due(signed, 18.0) == "the tour began at 2026-03-14 18:00 UTC"
    assert due(upkeep((6.5, CrownCheck()), (18.2, CrownCheck())), 23.0) == ""


def test_a_check_of_the_tour_before_does_not_count() -> None:
    assert due(upkeep((5.9, CrownCheck())), 6.0) == "the tour began at 2026-03-14 06:00 UTC"


def test_without_a_tour_a_check_holds_for_a_week() -> None:
    found = upkeep((6.5, CrownCheck()))
    assert found.crown_due(h(6.5) + WEEK - 1, None) is None
    late = found.crown_due(h(6.5) + WEEK, None)
    assert late is not None
    assert late.reason == "a week since the check of 2026-03-14 06:30 UTC"


def test_a_register_without_a_signature_is_due_from_the_start() -> None:
    never = upkeep((7.0, Note("x"))).crown_due(h(8), None)
    assert never is not None
    assert (never.since, never.reason) == (h(6), "no check has been signed in this recording")
    assert Upkeep().crown_due(h(8), None) is None


def test_lines_may_come_in_any_portions() -> None:
    lines = journal((6.5, CrownCheck()), (9.0, SlipLine(12.0, 24.0)), (9.5, MarkPump("1", "liner")))
    whole, parts = Upkeep().take(lines), Upkeep()
    for line in lines:
        parts = parts.take([line])
    assert parts == whole
    assert whole.slip == whole.cut
    assert whole.slip is not None
    assert (whole.slip.length, whole.slip.cut, whole.slip.who) == (12.0, 24.0, "Ines")
    assert whole.marks[("1", "liner")].at == h(9.5)


def test_a_slip_without_a_cut_leaves_the_cut_where_it_was() -> None:
    found = upkeep((7.0, SlipLine(12.0, 24.0)), (9.0, SlipLine(10.0)))
    assert found.cut is not None
    assert found.slip is not None
    assert (found.cut.at, found.slip.at) == (h(7), h(9))


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (SlipLine(0.0), "nothing was slipped and nothing cut"),
        (SlipLine(-1.0), "slipped -1 m, cut 0 m: give lengths, 0 or more"),
        (SlipLine(float("nan")), "slipped nan m"),
        (SlipLine(5.0, float("inf")), "cut inf m"),
        (MarkPump("7", "liner"), "no pump '7'; there are 1, 2"),
        (MarkPump("1", "  "), "say what was renewed, such as liner"),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_changes_nothing(command: Command, why: str) -> None:
    lines = journal((9.0, command))
    assert why in read(lines[-1])["refused"]
    found = Upkeep().take(lines)
    assert found.slip is found.cut is None
    assert found.marks == {}


def test_the_journal_says_who_did_what_with_its_unit() -> None:
    slip, check, mark = (
        read(line) for line in journal(
            (9.0, SlipLine(12.0, 24.0, "programme")), (9.5, CrownCheck()),
            (10.0, MarkPump("2", "liner")),
        )[1:]
    )  # fmt: skip
    assert (slip["id"], slip["length_m"], slip["cut_m"], slip["who"]) == (
        "slip_line", 12.0, 24.0, "Ines"
    )  # fmt: skip
    units = CONFIG.display_units()
    assert what(slip, units) == "slip line by Ines: length m 12, cut m 24, programme"
    assert what(check, units) == "crown check by Ines"
    assert what(mark, units) == "mark pump by Ines: pump 2, what liner"


def test_a_note_that_names_a_command_is_no_command() -> None:
    assert upkeep((9.0, Note('"crown_check" "slip_line"'))).check is None


def test_tours_are_counted_on_the_clock_of_the_well_file() -> None:
    """Tokyo is 9 h ahead of UTC all year: 06:00 there is 21:00 UTC the day before."""
    tokyo = ZoneInfo("Asia/Tokyo")
    found = tours_between(CONFIG.tour, tokyo, h(0), h(12))
    assert [(one.name, (one.start - DAY) / 3600) for one in found] == [
        ("2026-03-14 06:00", -3.0), ("2026-03-14 18:00", 9.0),
    ]  # fmt: skip
    assert tour_start(CONFIG.tour, tokyo, h(8.99)) == h(-3)
    assert tour_start(CONFIG.tour, tokyo, h(9)) == h(9)


def test_a_tour_is_an_hour_longer_when_the_clocks_go_back() -> None:
    """Directive 2000/84/EC: in Berlin clocks go back on 25 October 2026 at 01:00 UTC."""
    berlin = ZoneInfo("Europe/Berlin")
    night = from_iso("2026-10-25T01:30:00Z")
    (one,) = tours_between(CONFIG.tour, berlin, night, night)
    assert (one.name, (one.end - one.start) / 3600) == ("2026-10-24 18:00", 13.0)


def test_a_tour_with_a_length_ends_there_and_leaves_a_time_without_one() -> None:
    config = well(tour={"starts": ["07:00", "19:00"], "length_h": 8.0, "time_zone": "UTC"})
    first, second = tours_between(config.tour, UTC, h(0), h(24))[-2:]
    assert (first.start, first.end, second.start) == (h(7), h(15), h(19))
    assert tour_start(config.tour, UTC, h(16)) is None


def test_the_zone_is_that_of_the_first_feed_unless_it_is_given() -> None:
    given = well(tour={"time_zone": "Asia/Tokyo"})
    assert (zone_name(CONFIG), zone_name(given)) == (CONFIG.feeds[0].time_zone, "Asia/Tokyo")
    assert zone_name(well(feeds=[])) == "UTC"
