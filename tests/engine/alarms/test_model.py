"""The nine states, against a copy of the table written independently of the code."""

from __future__ import annotations

import pytest

from engine.alarms.model import SOUNDING, Event, State, step

# ANSI/ISA-18.2 and IEC 62682 (paid; not at hand) as described in public: OPC 10000-9, clauses
# 4.8, 5.8.2, 5.8.9 (Reset), 5.8.12 (RemoveFromService), 5.8.17 (shelving). That a latching
# alarm cannot be shelved while active is our own rule.
# "!" the horn sounds anew, "." no effect, "n/a" for abnormal or normal on leaving: B! or A.
GRID = """
state        trip clear ack reset shelve unshelve suppress unsuppress out ret re_alarm
A:both       B!   .     .   .     G      .        H        .          I   .   .
B:plain      .    D     C   .     G      .        H        .          I   .   .
B:latching   .    E     C   .     .      .        H        .          I   .   .
C:plain      .    A     .   .     G      .        H        .          I   .   B!
C:latching   .    F     .   .     .      .        H        .          I   .   B!
D:both       B!   .     A   .     G      .        H        .          I   .   .
E:both       B!   .     F   .     .      .        H        .          I   .   .
F:both       B!   .     .   A     .      .        H        .          I   .   .
G:both       G    G     .   .     G      n/a      H        .          I   .   .
H:both       H    H     .   .     .      .        .        n/a        I   .   .
I:both       I    I     .   .     .      .        .        .          .   n/a .
"""
EVENTS = (
    Event.TRIP, Event.CLEAR, Event.ACK, Event.RESET, Event.SHELVE, Event.UNSHELVE,
    Event.SUPPRESS, Event.UNSUPPRESS, Event.OUT_OF_SERVICE, Event.RETURN, Event.RE_ALARM,
)  # fmt: skip


def cells() -> list[tuple[State, Event, bool, bool, str]]:
    out = []
    for line in GRID.split("\n")[2:-1]:
        head, *row = line.split()
        letter, column = head.split(":")
        for event, cell in zip(EVENTS, row, strict=True):
            for latching in (False, True):
                if column not in ("both", "latching" if latching else "plain"):
                    continue
                for abnormal in (False, True):
                    want = ("B!" if abnormal else "A") if cell == "n/a" else cell
                    out.append((State(letter), event, latching, abnormal, want))
    return out


def test_the_grid_covers_every_cell() -> None:
    walked = {(s, e, latching, abnormal) for s, e, latching, abnormal, _ in cells()}
    assert len(walked) == len(cells()) == 9 * 11 * 2 * 2


@pytest.mark.parametrize(("state", "event", "latching", "abnormal", "want"), cells())
def test_every_cell_moves_as_the_standard_says(
    state: State, event: Event, latching: bool, abnormal: bool, want: str
) -> None:
    """R-12. ISA-18.2 / IEC 62682 through OPC 10000-9, see the grid."""
    move = step(state, event, latching=latching, abnormal=abnormal)
    got = "." if move is None else move.next.value + ("!" if move.sound else "")
    assert got == want


def test_the_horn_belongs_to_the_unacknowledged_and_not_to_the_returned() -> None:
    """OPC 10000-9, 5.8.2: what has been acknowledged makes no sound."""
    assert {state.value for state in SOUNDING} == {"B", "E"}


def test_there_is_no_disabled_state() -> None:
    """R-12: nine states, A to I, and no tenth."""
    assert "".join(state.value for state in State) == "ABCDEFGHI"
