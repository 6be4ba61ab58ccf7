"""The rig states the program can name, and the number each is stored as."""

from __future__ import annotations

from enum import IntEnum


class RigState(IntEnum):
    """What the rig is doing. The lower-case name is what reports and exports print."""

    UNKNOWN = 0
    DRILLING_ROTARY = 1
    DRILLING_SLIDE = 2
    REAMING_UP = 3
    REAMING_DOWN = 4
    WASHING = 5
    CIRCULATING = 6
    ROTATING_OFF_BOTTOM = 7
    IN_SLIPS = 8
    TRIPPING_IN = 9
    TRIPPING_OUT = 10
    STATIC = 11

    @property
    def id(self) -> str:
        """Name as printed in reports and exports."""
        return self.name.lower()


STATE_IDS: tuple[str, ...] = tuple(state.id for state in RigState)
"""All state names, by stored number."""
