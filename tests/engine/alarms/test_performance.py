"""Alarm performance from journals with known counts (R-16).

Sources of the targets: HSE Chemicals Sheet 6 (1 in 10 min, 10 in the first 10 min); EEMUA 191 as
told by consultants' papers (5 an hour, 120 a day, peaks of 15 an hour and 2 a minute, 5/15/80);
ISA-18.2 from memory (the rest).
"""

from __future__ import annotations

from typing import Any

import pytest

from engine.alarms.manager import AlarmManager
from engine.alarms.performance import performance
from engine.alarms.performance_text import performance_text
from engine.commands import (
    Acknowledge,
    ChangeLimit,
    Command,
    OutOfService,
    ReturnToService,
    Shelve,
    Silence,
    Unshelve,
)
from engine.interfaces import JournalLine
from engine.records.journal import Entry, Journal, iso
from tests.helpers import T0, alarm_of, alarm_table, issue

HOUR = 3600.0


def alarm(at: float, id_: str, event: str, move: str, priority: int = 2, **more: Any) -> Entry:
    details = {"before": move[0], "after": move[1], "priority": priority, **more}
    return Entry(T0 + at, "alarm", id_, event, details)


def came_and_went(
    at: float, id_: str = "a", seconds: float = 20.0, priority: int = 2
) -> list[Entry]:
    """Return an alarm that is acknowledged at once and clears after `seconds`."""
    return [
        alarm(at, id_, "trip", "AB", priority),
        alarm(at + 0.5, id_, "ack", "BC", priority),
        alarm(at + seconds, id_, "clear", "CA", priority),
    ]


def measured(entries: list[Entry], hours: float = 1.0) -> dict[str, Any]:
    lines = Journal().write(sorted(entries, key=lambda entry: entry.at))
    return performance(lines, T0, T0 + hours * HOUR, "tour.kdrec")


def metrics(found: dict[str, Any]) -> dict[str, tuple[float | None, bool | None]]:
    return {m["id"]: (m["value"], m["met"]) for m in found["metrics"]}


def test_every_metric_has_the_target_of_its_source() -> None:
    found = {
        m["id"]: (m["relation"], m["target"], m["manageable"]) for m in measured([])["metrics"]
    }
    assert found == {
        "per_10_min": ("<=", 1, 2), "per_hour": ("<=", 5, 12), "per_day": ("<=", 120, 300),
        "busiest_10_min": ("<=", 10, None), "busiest_hour": ("<=", 15, None),
        "busiest_minute": ("<=", 2, None), "high": ("<=", 5, None), "medium": ("<=", 15, None),
        "low": (">=", 80, None), "hours_over_30": ("<", 1, None), "tens_over_10": ("<", 1, None),
        "flood": ("<", 1, None), "top_ten": ("<", 5, None), "chattering": ("<=", 0, None),
        "fleeting": ("<=", 0, None), "stale": ("<", 5, None), "unauthorised": ("<=", 0, None),
    }  # fmt: skip


def test_the_averages_are_over_the_whole_tour() -> None:
    """24 alarms in 4 h: 6 an hour, 1 in ten minutes, 144 a day."""
    found = metrics(measured([e for i in range(24) for e in came_and_went(i * 600.0)], 4.0))
    assert found["per_hour"] == (6.0, False)
    assert found["per_10_min"] == (1.0, True)
    assert found["per_day"] == (144.0, False)


def test_a_tour_too_short_for_an_average_has_none() -> None:
    found = metrics(measured(came_and_went(1.0), 0.1))
    assert found["per_hour"] == (None, None)
    assert found["busiest_minute"] == (1, True)


def test_without_alarms_there_is_no_share_and_nothing_is_invented() -> None:
    found = metrics(measured([]))
    assert found["high"] == found["top_ten"] == (None, None)
    assert found["per_hour"] == (0.0, True)


def test_peaks_may_lie_across_the_clock() -> None:
    """Sixteen alarms, one in 200 s, from half an hour on: all within one hour; three in a row."""
    entries = [e for i in range(16) for e in came_and_went(1800.0 + i * 200.0, f"a{i}")]
    entries += came_and_went(1800.0 + 59.0, "b") + came_and_went(1800.0 + 30.0, "c")
    found = metrics(measured(entries, 3.0))
    assert found["busiest_hour"] == (18, False)
    assert found["busiest_10_min"] == (5, True)
    assert found["busiest_minute"] == (3, False)


def test_the_split_by_priority() -> None:
    """One, three and sixteen of twenty: 5, 15 and 80 %."""
    priorities = [1, 2, 2, 2, *[3] * 10, *[4] * 6]
    entries = [
        e for i, p in enumerate(priorities) for e in came_and_went(i * 100.0, f"a{i}", 20.0, p)
    ]
    found = metrics(measured(entries))
    assert [found[k] for k in ("high", "medium", "low")] == [
        (5.0, True), (15.0, True), (80.0, True),
    ]  # fmt: skip


def test_shares_of_busy_periods() -> None:
    """31 in the second of four hours, 11 of them in one of its 24 tens."""
    times = [HOUR + i * 50.0 for i in range(11)] + [HOUR + 700 + i * 140.0 for i in range(20)]
    found = metrics(
        measured([e for i, t in enumerate(times) for e in came_and_went(t, f"a{i}")], 4)
    )
    assert found["hours_over_30"] == (25.0, False)
    assert found["tens_over_10"] == (pytest.approx(100 / 24), False)


def test_time_in_flood_and_a_flood_that_goes_on() -> None:
    """360 s and the last 360 s of 2 h: 10 %."""
    entries = [
        Entry(T0 + at, "flood", "alarms", event, {"alarms": 11, "window_s": 600.0})
        for at, event in ((100, "start"), (460, "end"), (6840, "start"))
    ]
    assert metrics(measured(entries, 2.0))["flood"] == (10.0, False)


def test_the_commonest_ten_are_named_with_their_share() -> None:
    """Thirty of one kind and one each of twenty more: 39 of 50, 78 %."""
    entries = [e for i in range(30) for e in came_and_went(i * 100.0, "often")]
    entries += [e for i in range(20) for e in came_and_went(50.0 + i * 100.0, f"a{i:02}")]
    found = measured(entries)
    assert metrics(found)["top_ten"] == (78.0, False)
    assert found["top"][0] == {"id": "often", "times": 30}
    assert len(found["top"]) == 10


def test_chattering_is_three_times_within_a_minute() -> None:
    chatter = [e for i in range(6) for e in came_and_went(i * 20.0, "flow", 10.0)]
    slow = [e for i in range(6) for e in came_and_went(i * 40.0, "pits", 10.0)]
    found = measured(chatter + slow)
    assert found["chattering"] == [{"id": "flow", "times": 2}]
    assert metrics(found)["chattering"] == (1, False)


def test_fleeting_is_gone_before_anybody_did_anything_and_alone() -> None:
    def unseen(at: float, id_: str, seconds: float) -> list[Entry]:
        return [alarm(at, id_, "trip", "AB"), alarm(at + seconds, id_, "clear", "BD"),
                alarm(at + 40, id_, "ack", "DA")]  # fmt: skip

    found = measured(
        [*unseen(0, "short", 5), *unseen(0, "long", 15), *unseen(0, "twice", 5),
         *unseen(50, "twice", 5), *came_and_went(0, "seen", 5)]
    )  # fmt: skip
    assert found["fleeting"] == [{"id": "short", "at": iso(T0)}]


def test_stale_alarms_stand_over_a_day_and_count_at_once() -> None:
    """Five stand for 30 h, one sounding again meanwhile, one goes in time."""
    entries = [alarm(i, f"a{i}", "trip", "AB") for i in range(5)]
    entries += [alarm(9, "a0", "ack", "BC"), alarm(40000, "a0", "re_alarm", "CB")]
    entries += came_and_went(10, "b", 86000.0)
    found = measured(entries, 30.0)
    assert metrics(found)["stale"] == (5, False)
    assert {s["id"] for s in found["stale"]} == {"a0", "a1", "a2", "a3", "a4"}
    assert {s["at"] for s in found["stale"]} == {iso(T0 + i) for i in range(5)}
    assert metrics(measured(entries, 23.0))["stale"] == (0, True)


def test_what_was_kept_quiet_is_not_counted_as_told() -> None:
    """R-13: an occurrence on the shelf is on record and is no alarm."""
    entries = [alarm(0, "a", "shelve", "AG", who="Ines", reason="x"), alarm(5, "a", "trip", "GG")]
    assert measured(entries)["alarms"] == 0


def test_two_alarms_that_always_come_together_say_the_same() -> None:
    times = [0.0, 600.0, 1200.0]
    entries = [e for t in times for e in came_and_went(t, "x") + came_and_went(t + 5, "y")]
    entries += [e for t in (0.0, 700.0, 1300.0) for e in came_and_went(t, "z")]
    assert measured(entries)["redundant"] == [{"ids": ["x", "y"], "times": 3}]


def test_acknowledgements_in_haste_are_counted() -> None:
    given = [Entry(T0 + at, "command", "acknowledge", "given", {}) for at in (0, 3, 6, 100, 200)]
    assert measured(given)["hasty_acknowledgements"] == 1


def journal_of(commands: dict[float, Command]) -> list[JournalLine]:
    """Return what the alarms make of `commands`, by seconds from the start."""
    manager = AlarmManager([alarm_of("gain", priority=2), alarm_of("p1")])
    entries, done = [], 0
    for at, command in [*sorted(commands.items()), (2000.0, Silence())]:
        n = int(at) - done
        entries += manager.process(alarm_table([0.0] * n, start=T0 + done))
        entries += manager.command(issue(command, T0 + at))
        done = int(at)
    return Journal().write(entries)


def test_shelf_service_and_limits_are_listed_with_their_word() -> None:
    lines = journal_of(
        {
            10.5: Shelve("gain", 600, "transfer"),
            400.5: Unshelve("gain"),
            500.5: OutOfService("gain", "Ada", "gauge out"),
            900.5: ReturnToService("gain", "Ada", "gauge back"),
            950.5: ChangeLimit("p1", 2.0, "hole made"),
            1000.5: Shelve("gain", 300, "noise"),
            1900.5: OutOfService("gain", "Ada", "gauge out"),
        }
    )
    found = performance(lines, T0, T0 + 2000.0)
    assert [(s["seconds"], s["who"], s["reason"]) for s in found["shelved"]] == [
        (390.0, "Ines", "transfer"), (300.5, "Ines", "noise"),
    ]  # fmt: skip
    assert [(s["seconds"], s["authoriser"], s["end"] is None) for s in found["out_of_service"]] == [
        (400.0, "Ada", False), (99.5, "Ada", True),
    ]  # fmt: skip
    (change,) = found["limits_changed"]
    assert (change["id"], change["old_limit"], change["limit"]) == ("p1", 1.0, 2.0)
    assert metrics(found)["unauthorised"] == (0, True)
    page = performance_text(found)
    assert "gain by Ines, authorised by Ada: gauge out" in " ".join(page.split())
    assert "p1 from 1 to 2 m3 by Ines: hole made" in page
    assert max(map(len, page.splitlines())) <= 80


@pytest.mark.parametrize(
    ("event", "move", "words", "bad"),
    [
        ("shelve", "AG", {"who": "", "reason": "x"}, 1),
        ("shelve", "AG", {"who": "Ines", "reason": ""}, 1),
        ("out_of_service", "AI", {"who": "Ines", "reason": "x", "authoriser": ""}, 1),
        ("change_limit", "AA", {"who": "Ines", "reason": "", "limit": 1, "old_limit": 2}, 1),
        ("change_limit", "AA", {"who": "Ines", "reason": "x", "limit": 1, "old_limit": 2}, 0),
        ("trip", "AB", {"who": None, "reason": None}, 0),
    ],
)
def test_what_nobody_answers_for_is_counted(
    event: str, move: str, words: dict[str, Any], bad: int
) -> None:
    assert metrics(measured([alarm(0, "a", event, move, **words)]))["unauthorised"][0] == bad


def test_an_alarm_nobody_acknowledged_and_its_escalations_are_counted() -> None:
    manager = AlarmManager([alarm_of("p1")])
    lines = Journal().write(manager.process(alarm_table([2.0] * 100)))
    found = performance(lines, T0, T0 + 100.0)
    assert (found["unacknowledged"], found["escalated"]) == (1, 2)
    manager.command(issue(Acknowledge()))
