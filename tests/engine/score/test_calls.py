"""Calls read back from a journal that was written by hand."""

from __future__ import annotations

from typing import Any

from engine.records.journal import Entry, Journal
from engine.score.calls import Blind, Call, episodes, said

START = 1_780_000_000.0


def read_back(*entries: Entry, end: float = 1000.0) -> tuple[list[Call], list[Blind]]:
    return said(Journal().write(entries), START, START + end)


def event(at: float, kind: str, what: str) -> Entry:
    return Entry(START + at, "event", kind, what, {"severity": what})


def seen(at: float, kind: str, what: str, reason: str) -> Entry:
    return Entry(START + at, "detector", kind, what, {"reason": reason})


def test_a_call_begins_at_warning_and_ends_below_it() -> None:
    calls, _ = read_back(
        event(10, "influx", "advice"), event(20, "influx", "warning"),
        event(30, "influx", "critical"), event(40, "influx", "warning"),
        event(50, "influx", "advice"), event(60, "influx", "end"),
    )  # fmt: skip
    assert calls == [Call("influx", 20.0, 50.0, 3)]
    assert calls[0].counts


def test_advice_that_grew_into_nothing_is_no_call() -> None:
    calls, _ = read_back(event(10, "loss", "advice"), event(25, "loss", "end"))
    assert calls == [Call("loss", 10.0, 25.0, 1)]
    assert not calls[0].counts


def test_one_that_falls_to_advice_and_rises_again_is_two_calls() -> None:
    calls, _ = read_back(
        event(5, "loss", "warning"), event(9, "loss", "advice"), event(15, "loss", "critical"),
        event(16, "loss", "end"), event(30, "loss", "advice"),
    )  # fmt: skip
    assert calls == [
        Call("loss", 5.0, 9.0, 2), Call("loss", 15.0, 16.0, 3), Call("loss", 30.0, 1000.0, 1),
    ]  # fmt: skip


def test_what_still_lasts_ends_with_the_run_and_kinds_do_not_mix() -> None:
    calls, _ = read_back(
        event(10, "loss", "critical"), event(12, "influx", "warning"),
        event(14, "influx", "warning"), event(20, "influx", "end"), end=70.0,
    )  # fmt: skip
    assert calls == [Call("loss", 10.0, 70.0, 3), Call("influx", 12.0, 20.0, 2)]


def test_other_lines_of_the_journal_are_no_calls() -> None:
    more: dict[str, Any] = {"priority": 1}
    entries = [
        Entry(START, "watch", "w", "start"),
        Entry(START + 1, "alarm", "influx", "trip", more),
    ]
    assert read_back(*entries) == ([], [])


def test_blind_spells_have_their_reason_and_change_it() -> None:
    _, blind = read_back(
        seen(10, "loss", "blind", "no flow_in"), seen(20, "loss", "blind", "no pit_volume"),
        seen(50, "loss", "sees", "no pit_volume"), seen(90, "influx", "blind", "no pit_volume"),
        end=100.0,
    )  # fmt: skip
    assert blind == [
        Blind("loss", 10.0, 20.0, "no flow_in"), Blind("loss", 20.0, 50.0, "no pit_volume"),
        Blind("influx", 90.0, 100.0, "no pit_volume"),
    ]  # fmt: skip


def test_calls_closer_than_five_minutes_are_one_episode() -> None:
    """From the end of the one to the start of the next: 299 s joins, 300 s does not."""
    first, second, third = (
        Call("loss", 10, 100, 2),
        Call("loss", 399, 420, 3),
        Call("loss", 720, 800, 2),
    )
    other = Call("influx", 150, 160, 2)
    assert episodes([third, other, second, first]) == [Call("loss", 10, 420, 3), other, third]
    assert episodes([]) == []
