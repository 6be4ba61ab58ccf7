"""The truth table of the rig states, cell by cell."""

from __future__ import annotations

from itertools import product

import pytest

from engine.ops.rig_state_table import (
    DOUBT_OF,
    ILLEGAL,
    SHAPE,
    STATE_OF,
    UNKNOWN,
    Facts,
    Motion,
    judge,
    walk,
)
from engine.states import RigState

U = UNKNOWN
STILL, UP, DOWN, NOT_KNOWN = Motion.STILL, Motion.UP, Motion.DOWN, Motion.UNKNOWN


def ask(text: str, motion: Motion = STILL) -> str:
    """Return the state for "slips bottom pumping rotating advancing out", u for unknown."""
    codes = [U if c == "u" else int(c) for c in text]
    s, b, p, r, a, o = codes
    state, doubt = judge(Facts(s, b, p, r, motion, a, o))
    return state.id + ("?" if doubt else "")


@pytest.mark.parametrize(
    ("facts", "motion", "state"),
    [
        ("100000", STILL, "in_slips"),
        ("100000", UP, "in_slips"),
        ("111111", DOWN, "in_slips"),  # whatever else: filling pipe, make-up torque
        ("101100", UP, "in_slips"),
        ("000001", UP, "tripping_out"),  # bit at the surface
        ("000001", DOWN, "tripping_in"),
        ("001101", STILL, "static"),
        ("011110", STILL, "drilling_rotary"),
        ("011110", DOWN, "drilling_rotary"),  # soft rock, above 108 m/h
        ("011111", STILL, "drilling_rotary"),  # a hole less than a stand deep
        ("011010", STILL, "drilling_slide"),
        ("010110", STILL, "drilling_rotary?"),  # without pumps: possible, always marked
        ("010010", STILL, "static"),  # nothing turns the bit
        ("011100", STILL, "circulating"),  # on bottom, no new hole for 300 s
        ("011000", STILL, "circulating"),
        ("010100", STILL, "rotating_off_bottom"),
        ("010000", STILL, "static"),
        ("011110", UP, "reaming_up"),  # picked up, bottom not yet let go
        ("001100", UP, "reaming_up"),
        ("001100", DOWN, "reaming_down"),
        ("001000", UP, "washing"),
        ("001000", DOWN, "washing"),
        ("001100", STILL, "circulating"),
        ("001000", STILL, "circulating"),
        ("000100", UP, "reaming_up"),  # dry
        ("000100", DOWN, "reaming_down"),
        ("000100", STILL, "rotating_off_bottom"),
        ("000000", UP, "tripping_out"),
        ("000000", DOWN, "tripping_in"),
        ("000000", STILL, "static"),
        ("001110", STILL, "circulating"),  # just off bottom, new hole still fresh
    ],
)
def test_known_facts_give_the_state(facts: str, motion: Motion, state: str) -> None:
    """Our own table; common practice, no source."""
    assert ask(facts, motion) == state


@pytest.mark.parametrize(
    ("facts", "motion", "state"),
    [
        ("1uuuuu", NOT_KNOWN, "in_slips"),  # slips are enough
        ("uuuuuu", NOT_KNOWN, "unknown"),
        ("u11110", STILL, "unknown"),
        ("0u1100", STILL, "circulating"),  # bottom cannot matter without new hole
        ("0u1110", STILL, "unknown"),
        ("0u1110", UP, "reaming_up"),
        ("01u110", STILL, "drilling_rotary?"),  # with pumps or dry
        ("01u010", STILL, "unknown"),
        ("00u000", STILL, "unknown"),
        ("011u10", STILL, "drilling_rotary?"),  # rotary or slide is never guessed
        ("001u00", STILL, "circulating"),  # turning or not
        ("001u00", UP, "unknown"),  # reaming or washing
        ("000u00", STILL, "unknown"),
        ("001000", NOT_KNOWN, "unknown"),
        ("0111u0", STILL, "unknown"),
        ("0011u0", STILL, "circulating"),
        ("00000u", UP, "tripping_out"),  # unknown depth blinds nothing
        ("00110u", STILL, "circulating"),
    ],
)
def test_an_unknown_fact_matters_only_where_it_could_change_the_state(
    facts: str, motion: Motion, state: str
) -> None:
    assert ask(facts, motion) == state


def by_hand(f: Facts) -> str:
    """The same in words, for all known facts."""
    if f.slips:
        return "in_slips"
    trip = {UP: "tripping_out", DOWN: "tripping_in", STILL: "static"}[f.motion]
    ream = {UP: "reaming_up", DOWN: "reaming_down"}
    if f.out and not f.bottom:
        return trip
    if f.bottom and f.advancing and f.motion != UP and (f.pumping or f.rotating):
        return "drilling_rotary" if f.rotating else "drilling_slide"
    if f.motion == STILL:
        if f.pumping:
            return "circulating"
        return "rotating_off_bottom" if f.rotating else "static"
    if f.rotating:
        return ream[f.motion]
    return "washing" if f.pumping else trip


def test_every_cell_of_known_facts_is_the_rule_in_words() -> None:
    for s, b, p, r, v, a, o in product((0, 1), (0, 1), (0, 1), (0, 1), range(3), (0, 1), (0, 1)):
        facts = Facts(s, b, p, r, Motion(v), a, o)
        assert walk(facts).state.id == by_hand(facts)
        assert RigState(int(STATE_OF[s, b, p, r, v, a, o])).id == by_hand(facts)


def test_every_cell_with_unknown_facts_covers_what_they_may_be() -> None:
    """A state is named only if each completion gives it, or only the kind of drilling is open."""
    kinds = {"drilling_rotary", "drilling_slide"}
    for code in product(*(range(k) for k in SHAPE)):
        s, b, p, r, v, a, o = code
        options = [(0, 1) if c == U else (c,) for c in (s, b, p, r, a)]
        moves = range(3) if v == NOT_KNOWN else (v,)
        may_be = {
            by_hand(Facts(x[0], x[1], x[2], x[3], Motion(m), x[4], o))
            for x in product(*options)
            for m in moves
        }
        got = RigState(int(STATE_OF[code])).id
        if len(may_be) == 1:
            assert got in may_be
        elif may_be == kinds:
            assert (got, bool(DOUBT_OF[code])) == ("drilling_rotary", True)
        else:
            assert got == "unknown"


def test_only_a_jump_between_drilling_and_tripping_is_illegal() -> None:
    """It skips slips, circulation or pipe movement with pumps."""
    names = {(a.id, b.id) for a, b in ILLEGAL}
    drill, trip = ("drilling_rotary", "drilling_slide"), ("tripping_in", "tripping_out")
    assert names == set(product(drill, trip)) | set(product(trip, drill))
