"""Which detectors could not see, for how long and why (R-32), from journals made by hand."""

from __future__ import annotations

from engine.records.journal import Entry, Journal, iso
from engine.records.review import review
from engine.records.review_text import review_text
from engine.records.sight import Spell, blind_between, blind_lines, spells
from tests.helpers import T0, FakeRecording, full_table
from tests.tables import well

INF = float("inf")


def told(at: float, kind: str, event: str, reason: str) -> Entry:
    return Entry(T0 + at, "detector", kind, event, {"reason": reason})


LINES = Journal().write(
    [
        told(10, "influx", "blind", "no pit_volume"),
        Entry(T0 + 20, "event", "loss", "warning", {"severity": "warning", "evidence": {}}),
        told(70, "influx", "blind", "no flow_in"),
        told(100, "swab", "blind", "no usable trip tank"),
        told(130, "influx", "sees", "no flow_in"),
        told(400, "influx", "blind", "no pit_volume"),
        told(430, "influx", "sees", "no pit_volume"),
    ]
)
"""Influx blind for 60 + 60 + 30 s, swab from 100 s on."""


def test_another_reason_is_another_spell_and_the_last_may_go_on() -> None:
    assert spells(LINES) == [
        Spell("influx", "no pit_volume", T0 + 10, T0 + 70),
        Spell("influx", "no flow_in", T0 + 70, T0 + 130),
        Spell("swab", "no usable trip tank", T0 + 100, None),
        Spell("influx", "no pit_volume", T0 + 400, T0 + 430),
    ]


def test_minutes_reasons_and_spells_of_the_whole() -> None:
    """By hand: 150 s are 2.5 min; swab from 100 to 460 s are 6 min. The longest comes first."""
    swab, influx = blind_between(LINES, T0, T0 + 460)
    assert (swab["kind"], swab["minutes"]) == ("swab", 6.0)
    assert swab["spells"] == [
        {"start": iso(T0 + 100), "end": None, "reason": "no usable trip tank"}
    ]
    assert (influx["kind"], influx["minutes"]) == ("influx", 2.5)
    assert influx["reasons"] == ["no pit_volume", "no flow_in"]
    assert [one["end"] for one in influx["spells"]] == [iso(T0 + s) for s in (70, 130, 430)]
    assert list(blind_lines([swab, influx])) == [
        "swab  6.0 min: no usable trip tank, blind at the end",
        "influx  2.5 min in 3 spells: no pit_volume; no flow_in",
    ]


def test_a_window_cuts_the_minutes_but_not_the_times() -> None:
    """From 100 to 160 s: influx 30 s, swab 60 s; a spell that began before counts."""
    swab, influx = blind_between(LINES, T0 + 100, T0 + 160)
    assert (swab["minutes"], influx["minutes"]) == (1.0, 0.5)
    assert influx["reasons"] == ["no flow_in"]
    assert influx["spells"][0]["start"] == iso(T0 + 70)
    assert blind_between(LINES, T0 + 20, T0 + 50)[0]["minutes"] == 0.5  # it goes on afterwards
    assert blind_between(LINES, T0 + 500, T0 + 560)[0]["minutes"] == 1.0
    assert [one["kind"] for one in blind_between(LINES, T0, T0 + 9)] == []


def test_the_review_has_it_in_json_and_in_words() -> None:
    import numpy as np

    fake = FakeRecording(full_table(T0 + np.arange(461.0)))
    fake.lines = LINES
    found = review(fake)
    assert [(one["kind"], one["minutes"]) for one in found["blind"]] == [
        ("swab", 6.0),
        ("influx", 2.5),
    ]
    page = review_text(found, well())
    at = page.splitlines().index("BLIND DETECTORS")
    assert page.splitlines()[at + 1].strip() == (
        "swab  6.0 min: no usable trip tank, blind at the end"
    )
    assert review(FakeRecording())["blind"] == []
