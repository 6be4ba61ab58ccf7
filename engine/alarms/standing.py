"""How one alarm stands, and all of them together: what must outlive a block or a restart."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.alarms.flood import Flood
from engine.alarms.limits import LimitsState
from engine.alarms.model import UNACKNOWLEDGED, State, Step
from engine.alarms.rows import Seen

ESCALATE_S = (30.0, 60.0)
"""An alarm of priority 1 unacknowledged for so long is told louder. R-14; common practice, no
source. [s]"""


@dataclass(frozen=True, slots=True)
class Shelf:
    """For how long an alarm is shelved, and by whom."""

    since: float
    """[s since 1970-01-01 UTC]"""
    until: float
    who: str
    warned: bool = False
    """It has been said that it ends soon."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One alarm at one moment."""

    state: State = State.NORMAL
    since: float = float("-inf")
    """When `state` was entered. [s since 1970-01-01 UTC]"""
    armed: bool = True
    abnormal: bool = False
    silenced: bool = False
    """Silenced, or kept silent in a flood, since it last sounded anew. [-]"""
    raised: float = float("-inf")
    """While unacknowledged: since when. [s since 1970-01-01 UTC]"""
    escalated: int = 0
    """How often it was told louder since. [-]"""
    acknowledged: float = float("nan")
    """While acknowledged: the value then. [SI]"""
    first_out: bool = False
    """It came first of its group, and the group still stands."""
    shelf: Shelf | None = None
    limit: float | None = None
    """In place of the well file's. [SI]"""

    def after(self, move: Step, at: float, *, sounds: bool, value: float) -> Standing:
        """Return it after `move`; the horn `sounds` anew, or keeps silent in a flood."""
        entered = move.next is not self.state
        waiting = self.state in UNACKNOWLEDGED and move.next in UNACKNOWLEDGED
        return replace(
            self,
            state=move.next,
            since=at if entered else self.since,
            silenced=not sounds if move.sound else self.silenced,
            raised=self.raised if waiting else at,
            escalated=self.escalated if waiting else 0,
            acknowledged=value if entered else self.acknowledged,
            shelf=self.shelf if move.next is State.SHELVED else None,
        )


@dataclass(frozen=True, slots=True, eq=False)
class AlarmsState:
    """All that must outlive a block; tuples have one entry an alarm."""

    limits: LimitsState
    standing: tuple[Standing, ...]
    seen: tuple[Seen, ...]
    """The newest row, as each alarm's entry would show it."""
    flood: Flood
    rig_state: int | None
    """Code of the newest row; None before the first."""
