"""The review of a recording; every expected number is worked out by hand beside it.

The fields are the ones a reviewer of an incident asks for; common practice, no source.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.channels import CHANNELS
from engine.errors import InputError
from engine.records.journal import Entry, Journal
from engine.records.review import review
from tests.helpers import FakeRecording

T0 = 1_780_000_000.0  # 2026-05-28T20:26:40Z
NAN = float("nan")
WELL = (Path(__file__).parents[3] / "adapters" / "example_well.toml").read_text(encoding="utf-8")
MAPPED = ["hook_load", "pit_volume", "torque"]


def iso(s: float) -> str:
    minute, second = divmod(26 * 60 + 40 + s, 60)
    return f"2026-05-28T20:{int(minute):02}:{second:06.3f}Z"


def column(start: float, *parts: tuple[int, float, Quality]) -> Block:
    """Return one row a second from `start`: (rows, value, quality) after one another."""
    value = np.concatenate([np.full(n, x) for n, x, _ in parts])
    quality = np.concatenate([np.full(n, int(q), np.uint16) for n, _, q in parts])
    return Block(start + np.arange(value.size), value, quality)


def recording(**blocks: Block) -> FakeRecording:
    t = next(iter(blocks.values())).t
    table = {c: column(0, (t.size, NAN, Quality.NO_DATA)) for c in CHANNELS}
    table = {c: Block(t, b.value, b.quality) for c, b in table.items()}
    fake = FakeRecording({**table, **blocks}, "tour.kdrec")
    fake.head = {
        "well_file": WELL,
        "channels_mapped": json.dumps(MAPPED),
        "channels_expected": json.dumps(MAPPED),
    }
    return fake


GOOD, HELD, STALE, NO_DATA = Quality.GOOD, Quality.HELD, Quality.STALE, Quality.NO_DATA


def tour() -> FakeRecording:
    """Return 100 s with a feed that is silent from 40 to 59 s (limit 5 s, stale from 45 s)."""
    outage = ((5, 2.0, HELD), (15, NAN, STALE), (40, 3.0, GOOD))
    return recording(
        hook_load=column(T0, (40, 1.0, GOOD), *outage),
        pit_volume=column(T0, (10, NAN, NO_DATA), (30, 40.0, GOOD), *outage),
        rig_state=column(T0, (23, 1.0, GOOD), (47, 8.0, GOOD), (30, 10.0, GOOD)),
        rig_state_since=column(
            T0, (23, NAN, NO_DATA), (47, T0 + 20.0, GOOD), (30, T0 + 68.5, GOOD)
        ),
        in_slips=column(T0, (23, 0.0, GOOD), (46, 1.0, GOOD), (31, 0.0, GOOD)),
        slips_since=column(T0, (23, NAN, NO_DATA), (46, T0 + 20, GOOD), (31, T0 + 68.25, GOOD)),
        bit_depth=column(T0, (5, NAN, NO_DATA), (65, 2400.0, GOOD), (30, 2390.0, GOOD)),
        hole_depth=column(T0, (5, NAN, NO_DATA), (95, 2428.0, GOOD)),
    )


def test_frames_are_rows_with_something_fresh_and_missing_is_beyond_the_limit() -> None:
    """80 rows bring a value; the newest at 39 s is known until 44 s, the next comes at 60 s."""
    span = review(tour())["span"]
    assert span == {"start": iso(0), "end": iso(99), "frames": 80, "missing_s": 16.0}


def test_states_are_back_dated_and_fill_the_span() -> None:
    assert review(tour())["states"] == [
        {"state": "drilling_rotary", "start": iso(0), "end": iso(20), "seconds": 20.0},
        {"state": "in_slips", "start": iso(20), "end": iso(68.5), "seconds": 48.5},
        {"state": "tripping_out", "start": iso(68.5), "end": iso(99), "seconds": 30.5},
    ]


def test_a_state_said_to_begin_after_its_row_begins_with_the_row() -> None:
    fake = recording(
        rig_state=column(T0, (5, 1.0, GOOD), (5, 6.0, GOOD)),
        rig_state_since=column(T0, (5, T0, GOOD), (5, T0 + 7, GOOD)),
    )
    assert [one["end"] for one in review(fake)["states"]] == [iso(5), iso(9)]


def test_an_old_date_does_not_wipe_out_the_state_in_between() -> None:
    """Drilling since 1 s; unknown from the row at 5 s, without a date of its own, to 8 s."""
    fake = recording(
        rig_state=column(T0, (5, 1.0, GOOD), (3, 0.0, GOOD), (2, 1.0, GOOD)),
        rig_state_since=column(T0, (10, T0 + 1, GOOD)),
    )
    got = [(one["state"], one["end"]) for one in review(fake)["states"]]
    assert got == [("drilling_rotary", iso(5)), ("unknown", iso(8)), ("drilling_rotary", iso(9))]


def test_a_connection_is_back_dated_and_has_depths_and_kind() -> None:
    """Bit 28 m off bottom is within 1.5 stands of 28.5 m, and the rig was drilling before."""
    assert review(tour())["connections"] == [
        {
            "slips_in": iso(20), "slips_out": iso(68.25), "seconds": 48.25,
            "bit_depth_m": 2400.0, "hole_depth_m": 2428.0, "kind": "drilling",
        }
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "bit", "kind"),
    [
        (1.0, 2385.2, "tripping"),  # 42.8 m off bottom; 1.5 stands are 42.75 m
        (1.0, 2385.3, "drilling"),
        (10.0, 2427.0, "tripping"),  # close to bottom, but it came by tripping
        (0.0, 2427.0, None),  # nobody knows what was before
        (1.0, NAN, None),
    ],
)
def test_the_kind_of_a_connection_needs_both_depth_and_what_was_before(
    before: float, bit: float, kind: str | None
) -> None:
    fake = recording(
        rig_state=column(T0, (5, before, GOOD), (5, 6.0, GOOD), (5, 8.0, GOOD)),
        in_slips=column(T0, (10, 0.0, GOOD), (5, 1.0, GOOD)),
        bit_depth=column(T0, (15, bit, GOOD)),
        hole_depth=column(T0, (15, 2428.0, GOOD)),
    )
    (one,) = review(fake)["connections"]
    assert one["kind"] == kind
    assert (one["slips_in"], one["slips_out"], one["seconds"]) == (iso(10), None, None)


def test_a_recording_that_starts_in_slips_does_not_know_when_they_were_set() -> None:
    fake = recording(in_slips=column(T0, (5, 1.0, GOOD), (3, NAN, NO_DATA), (5, 0.0, GOOD)))
    (one,) = review(fake)["connections"]
    assert (one["slips_in"], one["slips_out"], one["seconds"]) == (None, iso(8), None)


def test_gaps_are_grouped_and_a_channel_never_received_is_a_gap_throughout() -> None:
    """Stale from 45 s until 60 s in both; the start of the pit volume is no gap, torque is."""
    assert review(tour())["gaps"] == [
        {"start": iso(0), "end": iso(99), "channels": ["torque"]},
        {"start": iso(45), "end": iso(60), "channels": ["hook_load", "pit_volume"]},
    ]


def test_a_time_without_rows_is_a_gap_from_when_values_are_too_old() -> None:
    """Nobody watched from 9 s to 100 s: known until 14 s."""
    t = T0 + np.array([*range(10), *range(100, 110)], np.float64)
    block = Block(t, np.ones(20), np.zeros(20, np.uint16))
    fake = recording(hook_load=block, pit_volume=block, torque=block)
    found = review(fake)
    assert found["gaps"] == [{"start": iso(14), "end": iso(100), "channels": MAPPED}]
    assert found["span"]["missing_s"] == 86.0


def test_a_gap_that_is_not_over_ends_with_the_span_and_joins_the_rows_before_it() -> None:
    t = T0 + np.array([0, 1, 2, 30, 31], np.float64)
    quality = np.array([0, 0, 0, STALE, STALE], np.uint16)
    block = Block(t, np.where(quality == 0, 1.0, NAN), quality)
    fake = recording(hook_load=block, pit_volume=block, torque=block)
    assert review(fake)["gaps"] == [{"start": iso(7), "end": iso(31), "channels": MAPPED}]


def test_depth_is_the_first_and_the_last_known() -> None:
    found = review(tour())["depth"]
    assert found == {"bit_m": [2400.0, 2390.0], "hole_m": [2428.0, 2428.0]}


def test_a_window_cuts_states_gaps_and_counts_but_not_a_connection() -> None:
    """From 50 to 64 s: dark until 60 s, frames at 60..64 s."""
    found = review(tour(), T0 + 50, T0 + 64)
    assert found["span"] == {"start": iso(50), "end": iso(64), "frames": 5, "missing_s": 10.0}
    assert found["states"] == [
        {"state": "in_slips", "start": iso(50), "end": iso(64), "seconds": 14.0}
    ]
    assert found["gaps"] == [
        {"start": iso(50), "end": iso(60), "channels": ["hook_load", "pit_volume"]},
        {"start": iso(50), "end": iso(64), "channels": ["torque"]},
    ]
    assert found["connections"][0]["slips_out"] == iso(68.25)


@pytest.mark.parametrize(("start", "end"), [(0, 30), (60, 99)])
def test_a_gap_outside_the_window_is_left_out(start: float, end: float) -> None:
    found = review(tour(), T0 + start, T0 + end)["gaps"]
    assert [gap["channels"] for gap in found] == [["torque"]]


def test_a_wrong_window_is_refused_with_what_was_recorded() -> None:
    with pytest.raises(InputError, match="before its start"):
        review(tour(), T0 + 9, T0 + 1)
    with pytest.raises(InputError, match=r"runs from 2026-05-28T20:26:40\.000Z"):
        review(tour(), T0 + 900)


def test_an_empty_recording_has_unknown_times_and_no_lists() -> None:
    found = review(FakeRecording(path="new.kdrec"))
    assert found == {
        "recording": "new.kdrec",
        "span": {"start": None, "end": None, "frames": 0, "missing_s": None},
        "states": [], "connections": [], "depth": {"bit_m": [None, None], "hole_m": [None, None]},
        "alarms": [], "events": [], "trials": [], "blind": [], "gaps": [],
    }  # fmt: skip


def line(at: float, kind: str, name: str, event: str, **details: Any) -> Entry:
    return Entry(T0 + at, kind, name, event, details)


def move(at: float, event: str, before: str, after: str, value: float | None = 1.5) -> Entry:
    return line(
        at, "alarm", "pit-gain", event, before=before, after=after, priority=1, value=value,
        limit=1.0, unit="m3",
    )  # fmt: skip


def alarms(*entries: Entry, start: float | None = None) -> list[list[Any]]:
    fake = tour()
    fake.lines = Journal().write(list(entries))
    found = review(fake, start)["alarms"]
    assert all(list(a)[:2] == ["id", "priority"] and a["limit"] == 1.0 for a in found)
    return [[a["raised"], a["acknowledged"], a["cleared"], a["value"]] for a in found]


def test_an_alarm_has_its_times_and_what_has_not_happened_is_null() -> None:
    got = alarms(
        move(1, "trip", "A", "B", 1.5), move(2, "ack", "B", "C"), move(3, "clear", "C", "A"),
        move(4, "trip", "A", "B", None), move(6, "clear", "B", "D"),
        move(8, "trip", "D", "B", 1.7),
    )  # fmt: skip
    assert got == [
        [iso(1), iso(2), iso(3), 1.5],
        [iso(4), None, iso(6), None],
        [iso(8), None, None, 1.7],
    ]
    assert len(alarms(move(1, "trip", "A", "B"), move(3, "clear", "B", "D"), start=T0 + 2)) == 1
    assert alarms(move(1, "trip", "A", "B"), move(3, "clear", "B", "D"), start=T0 + 4) == []


def test_what_happens_while_suppressed_is_no_alarm_until_somebody_is_told() -> None:
    assert alarms(move(1, "trip", "H", "H"), move(2, "clear", "H", "H")) == []
    got = alarms(
        move(1, "trip", "A", "B", 1.5), move(2, "suppress", "B", "H"),
        move(3, "unsuppress", "H", "B", 1.6), move(4, "ack", "B", "C"),
        move(9, "re_alarm", "C", "B", 1.8), move(10, "ack", "B", "C"),
        move(12, "clear", "C", "A"),
    )  # fmt: skip
    assert got == [[iso(1), iso(4), iso(12), 1.5]]  # one and the same, never cleared between


def test_events_are_given_with_their_evidence() -> None:
    fake, seen = tour(), {"volume_m3": 0.3, "witnesses": ["gas"]}
    fake.lines = Journal().write(
        [
            line(0, "link", "rig", "up"),
            line(20, "event", "influx", "advice", evidence={"volume_m3": 0.1}),
            line(30, "event", "influx", "warning", evidence=seen),
            line(31, "event", "influx", "critical", evidence={"volume_m3": 0.8}),
            line(32, "event", "influx", "warning", evidence={"volume_m3": 0.7}),
            line(40, "event", "influx", "end"),
            line(99, "event", "loss", "advice"),
        ]
    )  # fmt: skip
    influx, loss = review(fake)["events"]
    steps = [step["severity"] for step in influx.pop("steps")]
    assert steps == ["advice", "warning", "critical", "warning"]
    assert influx == {
        "kind": "influx", "at": iso(20), "ended": iso(40), "severity": "critical",
        "volume_m3": 0.3, "witnesses": ["gas"],
    }  # fmt: skip
    assert (loss["ended"], loss["severity"], loss["volume_m3"]) == (None, "advice", None)
    assert [e["kind"] for e in review(fake, T0 + 35, T0 + 50)["events"]] == ["influx"]
    assert [e["kind"] for e in review(fake, T0 + 95)["events"]] == ["loss"]


def test_the_review_is_json_without_nan_in_the_agreed_order() -> None:
    text = json.dumps(review(tour()), allow_nan=False)
    assert list(json.loads(text)) == [
        "recording", "span", "states", "connections", "depth", "alarms", "events", "trials",
        "blind", "gaps",
    ]  # fmt: skip


def test_a_well_file_that_cannot_be_read_falls_back_to_five_seconds() -> None:
    fake = tour()
    fake.head = {
        "well_file": "rig = [",
        "channels_mapped": json.dumps(MAPPED),
        "channels_expected": json.dumps(MAPPED),
    }
    found = review(fake)
    assert found["span"]["missing_s"] == 16.0
    assert found["connections"][0]["kind"] is None  # no stand length, no guess
