"""Events to rows."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.block import Quality
from engine.errors import InputError
from engine.events import BadLine, Frame, LinkDown, LinkUp, Tick
from engine.ops.align import Align, Source, stamp

SOURCES = {
    ("rig", "0114"): Source.of("hook_load", "kdaN", 1.0, 0.0, 5.0),
    ("rig", "0121"): Source.of("standpipe_pressure", "kPa", 1.0, 0.0, 5.0),
    ("mud", "T"): Source.of("temperature_out", "degC", 1.0, 0.0, 15.0),
}
Event = Frame | BadLine | LinkUp | LinkDown | Tick


def test_a_number_becomes_si_with_the_unit_it_was_sent_in() -> None:
    """1 kdaN = 10 kN exactly (NIST SP 811: deca, kilo); 0 degC = 273.15 K exactly."""
    align = Align(SOURCES)
    table = align.process([Frame(1.0, "rig", {"0114": 82.4}), Frame(2.0, "mud", {"T": 40.0})])
    assert table["hook_load"].value[0] == pytest.approx(824_000.0, rel=1e-15)
    assert table["temperature_out"].value[1] == pytest.approx(313.15, rel=1e-15)


def test_scale_and_offset_apply_before_the_unit() -> None:
    source = Source.of("temperature_out", "degF", 2.0, 12.0, 5.0)
    raw_100 = 100.0 * source.factor + source.offset
    assert raw_100 == pytest.approx((2.0 * 100.0 + 12.0 - 32.0) / 1.8 + 273.15, rel=1e-12)


def test_a_value_is_held_while_young_and_dashed_when_old() -> None:
    """R-02: beyond its limit a value is gone, not repeated."""
    align = Align(SOURCES)
    events: list[Event] = [Frame(0.0, "rig", {"0114": 1.0}), *(Tick(float(t)) for t in range(1, 9))]
    block = align.process(events)["hook_load"]
    assert block.quality[0] == Quality.GOOD
    assert set(block.quality[1:6].tolist()) == {int(Quality.HELD)}
    assert set(block.quality[6:].tolist()) == {int(Quality.STALE)}
    assert np.isfinite(block.value[:6]).all()
    assert np.isnan(block.value[6:]).all()


def test_a_lost_line_takes_its_values_away_at_once_and_no_others() -> None:
    align = Align(SOURCES)
    table = align.process(
        [
            Frame(0.0, "rig", {"0114": 1.0}),
            Frame(0.5, "mud", {"T": 40.0}),
            LinkDown(1.0, "rig", "unplugged"),
            Tick(2.0),
            LinkUp(3.0, "rig"),
            Frame(4.0, "rig", {"0114": 2.0}),
        ]
    )
    hook = table["hook_load"]
    assert np.isnan(hook.value[2:5]).all()
    assert all(q & Quality.LINK_DOWN for q in hook.quality[2:4].tolist())
    assert not hook.quality[4] & Quality.LINK_DOWN
    assert hook.quality[5] == Quality.GOOD
    assert np.isfinite(table["temperature_out"].value[1:]).all()


def test_missing_and_rejected_are_told_apart_and_never_zero() -> None:
    align = Align(SOURCES)
    table = align.process(
        [
            Frame(0.0, "rig", {"0114": 1.0, "0121": 2.0}),
            Frame(1.0, "rig", {}, {"0114": "sentinel", "0121": "rejected"}),
        ]
    )
    assert np.isnan(table["hook_load"].value[1])
    assert table["hook_load"].quality[1] == Quality.MISSING
    assert table["standpipe_pressure"].quality[1] == Quality.REJECTED


def test_an_unmapped_channel_is_no_data() -> None:
    block = Align(SOURCES).process([Tick(0.0)])["torque"]
    assert np.isnan(block.value[0])
    assert block.quality[0] == Quality.NO_DATA


def test_two_items_for_one_channel_are_refused_with_the_way_out() -> None:
    sources = SOURCES | {("mud", "HL"): Source.of("hook_load", "kN", 1.0, 0.0, 5.0)}
    with pytest.raises(InputError, match=r"'hook_load' is filled by two items.*ignore"):
        Align(sources)


def test_time_that_does_not_increase_is_refused() -> None:
    align = Align(SOURCES)
    align.process([Tick(1.0)])
    with pytest.raises(InputError, match="times must increase"):
        align.process([Tick(1.0)])


@given(st.floats(0, 4e9), st.floats(0, 4e9))
def test_stamps_increase_and_lie_on_microseconds(at: float, previous: float) -> None:
    previous = stamp(previous, float("-inf"))
    found = stamp(at, previous)
    assert found > previous
    assert round(found * 1e6) / 1e6 == found


STEP = st.tuples(
    st.sampled_from(["rig", "mud", "tick", "down", "up", "partial", "missing", "bad"]),
    st.floats(0.1, 9.0),
    st.floats(-1e3, 1e3),
)


def made(steps: list[tuple[str, float, float]]) -> list[Event]:
    at, events = 0.0, list[Event]()
    for kind, dt, value in steps:
        at = stamp(at + dt, at)
        events.append(
            {
                "rig": Frame(at, "rig", {"0114": value, "0121": value}),
                "mud": Frame(at, "mud", {"T": value}),
                "partial": Frame(at, "rig", {"0114": value}, partial=True),
                "missing": Frame(at, "rig", {"0121": value}, {"0114": "empty"}),
                "tick": Tick(at),
                "down": LinkDown(at, "rig", "gone"),
                "up": LinkUp(at, "rig"),
                "bad": BadLine(at, "rig", "bad_number", b"0114x"),
            }[kind]
        )
    return events


@given(st.lists(STEP, min_size=1, max_size=60), st.lists(st.integers(0, 60)))
def test_any_split_gives_the_same_output(
    steps: list[tuple[str, float, float]], cuts: list[int]
) -> None:
    events = made(steps)
    whole = Align(SOURCES).process(events)
    align = Align(SOURCES)
    edges = sorted({0, len(events), *(c for c in cuts if c < len(events))})
    parts = [align.process(events[a:b]) for a, b in pairwise(edges)]
    for channel, block in whole.items():
        assert b"".join(p[channel].value.tobytes() for p in parts) == block.value.tobytes()
        assert b"".join(p[channel].quality.tobytes() for p in parts) == block.quality.tobytes()
