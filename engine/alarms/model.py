"""The nine states of an alarm and what moves it between them, as one table.

The standard followed is ANSI/ISA-18.2 (IEC 62682), a paid document that was not at hand; the
states and moves are taken from public descriptions of it.

References
----------
.. [1] OPC 10000-9, OPC Unified Architecture part 9, Alarms & Conditions, 4.8 and 5.8: active,
   acknowledged, latched, shelved, suppressed and out-of-service states. It says in its scope
   that it is designed in accordance with IEC 62682 and ISA 18.2.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """Where an alarm stands. There is no state "disabled": a kept-quiet alarm still runs."""

    NORMAL = "A"
    UNACKNOWLEDGED = "B"
    ACKNOWLEDGED = "C"
    RETURNED = "D"
    """Back to normal before anybody acknowledged it."""
    LATCHED_UNACKNOWLEDGED = "E"
    """Back to normal but latched; acknowledge, then reset."""
    LATCHED = "F"
    """Back to normal, acknowledged, latched; waits for the reset."""
    SHELVED = "G"
    SUPPRESSED = "H"
    """Suppressed by design: not armed in this rig state."""
    OUT_OF_SERVICE = "I"


class Event(StrEnum):
    """What can happen to an alarm."""

    TRIP = "trip"
    """Beyond its limit for the whole on-delay."""
    CLEAR = "clear"
    """Back inside by the deadband for the whole off-delay."""
    ACK = "ack"
    RESET = "reset"
    SHELVE = "shelve"
    UNSHELVE = "unshelve"
    SUPPRESS = "suppress"
    UNSUPPRESS = "unsuppress"
    OUT_OF_SERVICE = "out_of_service"
    RETURN = "return"
    """Back from out of service."""
    RE_ALARM = "re_alarm"
    """Acknowledged and still abnormal when its timer ran out."""


class Notice(StrEnum):
    """What the journal tells of an alarm that does not move it."""

    ESCALATE = "escalate"
    """Of priority 1 and not acknowledged in time."""
    SHELF_ENDING = "shelf_ending"
    """It comes back from the shelf soon."""
    CHANGE_LIMIT = "change_limit"


@dataclass(frozen=True, slots=True)
class Step:
    """One move: the next state, and whether the horn must sound anew."""

    next: State
    sound: bool = False


Cells = Mapping[tuple[State, Event], Step]

SOUNDING = frozenset({State.UNACKNOWLEDGED, State.LATCHED_UNACKNOWLEDGED})
"""States in which the horn sounds unless it was silenced."""

QUIET = frozenset({State.SHELVED, State.SUPPRESSED, State.OUT_OF_SERVICE})
"""Kept quiet; it runs all the same."""

UNACKNOWLEDGED = frozenset({State.UNACKNOWLEDGED, State.RETURNED, State.LATCHED_UNACKNOWLEDGED})
"""Somebody was told and nobody has said that he has seen it."""

_A, _B, _C, _D, _E, _F, _G, _H, _I = State

_BOTH: Cells = {
    (_A, Event.TRIP): Step(_B, sound=True),
    (_D, Event.TRIP): Step(_B, sound=True),
    (_E, Event.TRIP): Step(_B, sound=True),
    (_F, Event.TRIP): Step(_B, sound=True),
    (_B, Event.ACK): Step(_C),
    (_D, Event.ACK): Step(_A),
    (_E, Event.ACK): Step(_F),
    (_F, Event.RESET): Step(_A),
    (_C, Event.RE_ALARM): Step(_B, sound=True),
    # What happens while an alarm is kept quiet leaves it there, but is on record.
    **{(s, e): Step(s) for s in (_G, _H, _I) for e in (Event.TRIP, Event.CLEAR)},
    **{(s, Event.SUPPRESS): Step(_H) for s in (_A, _B, _C, _D, _E, _F, _G)},
    **{(s, Event.OUT_OF_SERVICE): Step(_I) for s in State if s is not _I},
    (_A, Event.SHELVE): Step(_G),
    (_D, Event.SHELVE): Step(_G),
    (_G, Event.SHELVE): Step(_G),
}

NON_LATCHING: Cells = {
    **_BOTH,
    (_B, Event.CLEAR): Step(_D),
    (_C, Event.CLEAR): Step(_A),
    (_B, Event.SHELVE): Step(_G),
    (_C, Event.SHELVE): Step(_G),
}
"""Moves of an alarm that goes away by itself; a pair not listed has no effect."""

LATCHING: Cells = {
    **_BOTH,
    (_B, Event.CLEAR): Step(_E),
    (_C, Event.CLEAR): Step(_F),
}
"""Moves of an alarm that needs a reset. It cannot be shelved while active (our own choice)."""

LEAVING: Mapping[State, Event] = {
    _G: Event.UNSHELVE,
    _H: Event.UNSUPPRESS,
    _I: Event.RETURN,
}
"""The one way out of each quiet state."""

RESUME: Mapping[bool, Step] = {True: Step(_B, sound=True), False: Step(_A)}
"""Where an alarm goes that leaves a quiet state, by whether it is abnormal at that moment."""


def step(
    state: State, event: Event, *, latching: bool, abnormal: bool, armed: bool = True
) -> Step | None:
    """Return the move of `event` in `state`, or None if it has no effect.

    Parameters
    ----------
    state, event : State, Event
        Where the alarm stands and what happened.
    latching : bool
        The alarm needs a reset.
    abnormal : bool
        Beyond the limit at this moment; matters only on leaving a quiet state.
    armed : bool
        In the present rig state; one that is not goes from the shelf, or from out of service,
        to suppressed by design.
    """
    if LEAVING.get(state) is event:
        return RESUME[abnormal] if armed or state is _H else Step(_H)
    return (LATCHING if latching else NON_LATCHING).get((state, event))
