"""Weights of every stand of a recording, and the trend of drag."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.records import drag_log as module
from engine.records.drag_log import StandDrag, drag_log, trend
from engine.units import G0
from engine.well.answer import Answer, Unknown
from tests.helpers import FakeRecording
from tests.tables import NAN, T0, table_of

T = 1e3 * G0
NO = Unknown("not taken")
SLIPS = np.r_[np.zeros(20), np.ones(5), np.zeros(30), np.ones(5)]


def column(n: int, taken: dict[int, float]) -> Block:
    """Return a weight taken at some rows [t], held until the next, old after the slips."""
    t = T0 + np.arange(n)
    value, bits = np.full(n, NAN), np.full(n, int(Quality.NO_REFERENCE), np.uint16)
    for row, weight in sorted(taken.items()):
        value[row:], bits[row:] = weight * T, int(Quality.HELD)
        bits[row] = 0
        later = np.flatnonzero(SLIPS[row:] == 1.0) + row
        if later.size:
            bits[later[0] :] |= int(Quality.OLD_REFERENCE)
    return Block(t, value, bits)


def recording(
    up: dict[int, float], down: dict[int, float], turn: dict[int, float], **more: Any
) -> FakeRecording:
    n = SLIPS.size
    plain = {"in_slips": SLIPS, "bit_depth": 2400.0 - np.arange(n), "expected_hook_load": 115 * T}
    weights = {"pick_up_load": up, "slack_off_load": down, "rotating_load": turn}
    table = table_of(n, **(plain | more))
    return FakeRecording(table | {name: column(n, taken) for name, taken in weights.items()})


def test_each_stand_has_its_last_weights_and_none_of_the_stand_before() -> None:
    log = drag_log(recording({5: 119.0, 12: 120.0, 40: 123.0}, {8: 112.0}, {15: 116.0}))
    first, second = log
    assert (first.pick_up, first.slack_off, first.rotating) == (120 * T, 112 * T, 116 * T)
    assert (first.began, first.ended, first.depth) == (T0, T0 + 19, 2385.0)
    assert second.pick_up == 123 * T
    assert isinstance(second.slack_off, Unknown)
    assert (second.began, second.ended, second.depth) == (T0 + 25, T0 + 54, 2360.0)


def test_drag_is_counted_from_the_rotating_weight_else_from_the_expected_load() -> None:
    """Worked by hand: pick-up 300, slack-off 240, rotating 265 klbf are drags of 35 and 25."""
    both = StandDrag(0, 1, 2400.0, 300.0, 240.0, 265.0, 270.0)
    assert (both.up_drag, both.down_drag, both.gap) == (35.0, 25.0, 5.0)
    without = StandDrag(0, 1, 2400.0, 300.0, 240.0, NO, 270.0)
    assert (without.up_drag, without.down_drag, without.gap) == (30.0, 30.0, NO)
    assert isinstance(StandDrag(0, 1, pick_up=300.0).up_drag, Unknown)


def test_a_stand_without_any_weight_is_left_out() -> None:
    (only,) = drag_log(recording({}, {40: 112.0}, {}))
    assert only.began == T0 + 25


def test_slips_that_are_unknown_for_a_while_cut_no_stand() -> None:
    slips = np.where((np.arange(SLIPS.size) > 30) & (np.arange(SLIPS.size) < 35), NAN, SLIPS)
    log = drag_log(recording({28: 120.0}, {40: 112.0}, {}, in_slips=slips))
    (stand,) = log
    assert (stand.pick_up, stand.slack_off) == (120 * T, 112 * T)


@pytest.mark.parametrize("span", [1.0, 7.0, 23.0])
def test_any_span_read_at_once_gives_the_same(span: float, monkeypatch: Any) -> None:
    source = recording({5: 119.0, 12: 120.0, 40: 123.0}, {8: 112.0, 45: 111.0}, {15: 116.0})
    whole = drag_log(source)
    monkeypatch.setattr(module, "SPAN_S", span)
    assert drag_log(source) == whole
    assert len(whole) == 2


def test_a_recording_without_the_channels_has_no_weights() -> None:
    source = recording({5: 119.0}, {}, {})
    for name in ("pick_up_load", "slack_off_load", "rotating_load"):
        del source.table[name]
    assert drag_log(source) == ()
    assert drag_log(FakeRecording()) == ()
    assert drag_log(FakeRecording(table_of(3, hook_load=1.0))) == ()


def test_what_is_unknown_when_a_weight_is_taken_stays_so() -> None:
    (stand,) = drag_log(recording({5: 119.0}, {}, {}, bit_depth=NAN, expected_hook_load=NAN))
    assert isinstance(stand.depth, Unknown)
    assert isinstance(stand.free, Unknown)


@pytest.mark.parametrize(
    ("values", "last", "want"),
    [
        ([1.0, 2.0, 3.0, 4.0], 5, 1.0),
        ([9.0, 9.0, 1.0, 3.0, 5.0], 3, 2.0),
        ([1.0, NO, 3.0, NO, 5.0], 5, 1.0),
        # by hand: x -1.5 to 1.5, y 2 4 4 6: sum xy 6.0 over sum xx 5.0
        ([2.0, 4.0, 4.0, 6.0], 4, 1.2),
    ],
)
def test_the_trend_is_the_slope_a_stand(values: list[Answer], last: int, want: float) -> None:
    assert trend(values, last) == pytest.approx(want)


@pytest.mark.parametrize("values", [[], [1.0, 2.0], [1.0, NO, NO, NO, 2.0], [1.0, 1.0, 1.0, NO, NO,
                                                                           NO, 2.0]])  # fmt: skip
def test_with_fewer_than_three_weights_there_is_no_trend(values: list[Answer]) -> None:
    found = trend(values)
    assert isinstance(found, Unknown)
    assert "3" in found.reason
