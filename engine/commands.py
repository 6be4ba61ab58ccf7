"""What a person may tell the watch. Each is recorded with who, where and when."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """The driller has seen the alarm; an empty id means every alarm now unacknowledged."""

    alarm: str = ""


@dataclass(frozen=True, slots=True)
class Silence:
    """Stop the horn until the next new alarm. Changes no alarm's state."""


@dataclass(frozen=True, slots=True)
class Reset:
    """Let go of a latched alarm whose condition is gone and which is acknowledged."""

    alarm: str


@dataclass(frozen=True, slots=True)
class ZeroPits:
    """Make the present pit volume the zero of the pit gain."""

    reason: str


@dataclass(frozen=True, slots=True)
class SetDepth:
    """Correct the depths by hand; None leaves one as it is."""

    bit_depth: float | None = None
    """[m]"""
    hole_depth: float | None = None
    """[m]"""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class TareNow:
    """Take the present hook load as the off-bottom tare."""

    reason: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A line of the driller's own in the journal."""

    text: str


@dataclass(frozen=True, slots=True)
class SlipLine:
    """The drilling line was slipped, and cut if `cut` is above 0: the crown check is due."""

    length: float
    """Slipped through the system. [m]"""
    cut: float = 0.0
    """Cut off; line work counts from a cut. [m]"""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class CrownCheck:
    """The crown block device was checked and works; signed by whoever gives the command."""


@dataclass(frozen=True, slots=True)
class MarkPump:
    """Hours and strokes of a pump count from now."""

    pump: str
    """Its name in the well file."""
    what: str
    """What was renewed: liner, valves, swab."""


@dataclass(frozen=True, slots=True)
class SetSpeed:
    """Run the synthetic stream faster; only a synthetic watch obeys it."""

    factor: float


@dataclass(frozen=True, slots=True)
class StopWatch:
    """End the watch in good order."""


Command = (
    Acknowledge | Silence | Reset | ZeroPits | SetDepth | TareNow | Note | SlipLine | CrownCheck
    | MarkPump | SetSpeed | StopWatch
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Issued:
    """A command with who gave it, where, and when the watch took it."""

    at: float
    """When the watch took it, on the recording's clock. [s since 1970-01-01 UTC]"""
    command: Command
    who: str
    station: str
