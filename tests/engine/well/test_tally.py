"""Tally: joints in stands, running total, next stand, derrick, bit depth. All by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.well.answer import Unknown
from engine.well.tally import CALCULATIONS, Stand, Tally, bit_from_tally, off_tally

JOINTS = [9.45, 9.50, 9.41, 9.48, 9.52, 9.44, 9.46]
NAN = float("nan")


def tally(joints: list[float | None] | None = None, in_hole: int = 0) -> Tally:
    return Tally.of(joints or [*JOINTS], each=3, bha=199.0, stick_up=1.0, in_hole=in_hole)


def test_joints_are_racked_in_stands_from_the_bottom_up() -> None:
    """7 joints are two stands of three and a single; 28.36, 28.44 and 9.46 m."""
    t = tally()
    assert [s.joints for s in t.stands] == [(9.45, 9.5, 9.41), (9.48, 9.52, 9.44), (9.46,)]
    assert [s.length for s in t.stands] == pytest.approx([28.36, 28.44, 9.46])
    assert [s.number for s in t.stands] == [1, 2, 3]


def test_the_sheet_shows_a_running_total_and_the_bit_depth() -> None:
    """199.00 + 28.36 = 227.36, + 28.44 = 255.80, + 9.46 = 265.26 m; less 1 m of stick-up."""
    lines = tally(in_hole=2).lines()
    assert [line.total for line in lines] == pytest.approx([227.36, 255.80, 265.26])
    assert [line.bit for line in lines] == pytest.approx([226.36, 254.80, 264.26])
    assert [line.in_hole for line in lines] == [True, True, False]


def test_the_next_stand_and_the_derrick_follow_what_is_run() -> None:
    t = tally(in_hole=1)
    assert t.next_stand == t.stands[1]
    assert t.in_derrick == t.stands[1:]
    assert t.left == pytest.approx(37.90)
    assert t.total == pytest.approx(227.36)
    assert t.bit_depth == pytest.approx(226.36)
    out = t.run(2)
    assert out.next_stand is None
    assert (out.left, out.in_derrick) == (0.0, ())
    assert out.run(-3).bit_depth == pytest.approx(198.0)
    assert out.run(-3).total == 199.0
    assert t.in_hole == 1


@pytest.mark.parametrize(
    ("count", "why"),
    [(3, "tally: 3 stands, but 2 are in the derrick"), (-2, "tally: 2 stands, but 1 are in the")],
)
def test_no_more_is_run_or_pulled_than_there_is(count: int, why: str) -> None:
    with pytest.raises(InputError, match=why):
        tally(in_hole=1).run(count)


def test_a_joint_that_was_not_measured_leaves_all_above_it_unknown() -> None:
    t = tally([9.45, None, 9.41, 9.48, 9.52, 9.44], in_hole=2)
    why = Unknown("joint 2 of stand 1 is not measured")
    assert t.stands[0].length == why
    assert t.bit_depth == why
    assert [line.total for line in t.lines()] == [why, why]
    assert t.left == 0.0
    assert t.run(-2).left == why
    assert t.run(-2).bit_depth == 198.0
    assert off_tally(28.3, why) == why


def test_a_bit_above_the_floor_is_no_depth() -> None:
    assert bit_from_tally(0.5, 1.0) == Unknown("the bit is 0.50 m above the floor")
    assert bit_from_tally(1.0, 1.0) == 0.0
    assert bit_from_tally(NAN, 1.0) == Unknown("length of string is unknown")


def test_every_impossible_length_is_named_at_once() -> None:
    with pytest.raises(InputError) as error:
        Tally.of([9.5, -1.0, 94.5, NAN], each=0, bha=-1.0, stick_up=NAN, in_hole=0)
    said = str(error.value)
    for words in (
        "joint 2: -1.0 m is no length", "joint 3: 94.5 m", "joint 4: nan m",
        "joints in a stand: 0; at least 1", "bottom-hole assembly: -1.0 m", "stick-up: nan m",
    ):  # fmt: skip
        assert words in said
    with pytest.raises(InputError, match="stands in the hole: 4; the tally has 3"):
        tally(in_hole=4)


def test_an_empty_tally_is_a_bottom_hole_assembly() -> None:
    t = Tally.of([], each=3, bha=199.0, stick_up=1.0)
    assert (t.stands, t.next_stand, t.lines(), t.bit_depth) == ((), None, (), 198.0)


def test_block_travel_is_held_against_the_tally() -> None:
    """28.30 m against a stand of 28.34 m: 0.04 m, accepted; 0.2 m is the limit."""
    assert off_tally(28.30, 28.34) is False
    assert off_tally(28.05, 28.34) is True
    assert off_tally(28.60, 28.34) is True
    assert off_tally(NAN, 28.34) == Unknown("block travel is unknown")


@given(st.lists(st.floats(8.0, 15.0), max_size=40), st.integers(1, 4), st.floats(0, 300))
def test_the_tally_adds_up(joints: list[float], each: int, bha: float) -> None:
    t = Tally.of(joints, each=each, bha=bha, stick_up=0.0)
    for count in range(len(t.stands) + 1):
        now = t.run(count)
        assert isinstance(now.total, float)
        assert isinstance(now.left, float)
        assert now.total + now.left == pytest.approx(bha + sum(joints))
        assert now.bit_depth == now.total
    bits = [line.bit for line in t.lines() if isinstance(line.bit, float)]
    assert bits == sorted(bits)
    assert len(bits) == len(t.stands)


def test_the_calculation_gives_the_bit_depth() -> None:
    out = CALCULATIONS[0].run({"bha": 199.0, "pipe": 56.8, "stick_up": 1.0})
    assert out["bit_depth"] == pytest.approx(254.8)
    assert Stand(1, ()).length == 0.0
