"""What a person may tell the watch. Each is recorded with who, where and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from engine.commands_copy import SecondCopy
from engine.commands_trial import TrialCommand


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
class Shelve:
    """Keep an alarm quiet for a while; it comes back by itself. Never one of priority 1."""

    alarm: str
    seconds: float
    """From now. [s]"""
    reason: str


@dataclass(frozen=True, slots=True)
class Unshelve:
    """Put a shelved alarm back before its time."""

    alarm: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OutOfService:
    """Take an alarm out of service, on the word of `authoriser`, until it is returned."""

    alarm: str
    authoriser: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReturnToService:
    """Put an alarm back into service."""

    alarm: str
    authoriser: str
    reason: str


@dataclass(frozen=True, slots=True)
class ChangeLimit:
    """Give an alarm another limit; the delays start anew."""

    alarm: str
    limit: float
    """[SI unit of the channel]"""
    reason: str


AlarmCommand = (
    Acknowledge | Reset | Shelve | Unshelve | OutOfService | ReturnToService | ChangeLimit
)
"""Those that concern one alarm, named in ``alarm``."""


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
class SetLines:
    """Another count of lines is strung to the block: the learned loads are forgotten."""

    lines: int
    """[-]"""
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
class EnterSlowRate:
    """A slow circulating rate, read on the gauge that would be used to kill the well."""

    pump: str
    """Name in the well file."""
    rate: float
    """Strokes. [1/s]"""
    pressure: float
    """[Pa]"""
    density: float
    """Of the mud in the hole. [kg/m3]"""
    bit_depth: float
    """Measured. [m]"""
    tour: str
    """Date and start of the tour it was read in: ``2026-03-14 06:00``."""
    string: str = ""
    """Bottom-hole assembly and bit, as the crew calls it; empty: that of the well file."""


@dataclass(frozen=True, slots=True)
class EnterCard:
    """The inputs of a posted card; the watch works it out and keeps it."""

    card: str
    """Such as ``kill-sheet-field``; see `engine.records.card_kinds`."""
    inputs: Mapping[str, float]
    """[SI]"""
    pump: str = ""
    """On line to kill the well; for a kill sheet."""
    casing: str = ""
    """Which casing string; for a highest surface pressure."""
    origins: Mapping[str, str] = field(default_factory=dict)
    """Input to ``channel ID`` it was taken over from; all others a person typed."""


@dataclass(frozen=True, slots=True)
class EnterStandpipe:
    """A reading of the standpipe that the expected pressure must meet from now on."""

    pressure: float
    """[Pa]"""
    flow: float
    """[m3/s]"""
    bit_depth: float
    """Measured. [m]"""


CardCommand = EnterSlowRate | EnterCard | EnterStandpipe


@dataclass(frozen=True, slots=True)
class DeclareTransfer:
    """Mud will come into the active pits, or leave them, on purpose."""

    what: str
    """From or to where: ``reserve to active``."""
    volume: float
    """Into the active pits; negative: out of them. [m3]"""
    flow: float
    """How fast. [m3/s]"""
    minutes: float
    """After this it is over, come or not. [min]"""


@dataclass(frozen=True, slots=True)
class DeclareTrip:
    """How pipe comes out of the hole from now on, and how the hole is filled."""

    wet: bool
    """The bore's mud leaves with the pipe."""
    recovered_share: float = 0.0
    """Of a wet bore's mud, what comes back to the trip tank. [-]"""
    programme_stands: int = 0
    """Stands before a fill; 0: filled as each is pulled. [-]"""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class DeclareJob:
    """Work that moves pressures or returns on purpose, such as cementing."""

    job: str
    """One of `engine.detect.call.JOBS`."""
    minutes: float
    """After this it is over; 0 ends it now. [min]"""


@dataclass(frozen=True, slots=True)
class RebaseBalance:
    """Make the present unexplained volume the zero of what is shown; detectors do not care."""

    reason: str


@dataclass(frozen=True, slots=True)
class SoundHorn:
    """Sound everything once, so that a person can say whether it is heard."""


@dataclass(frozen=True, slots=True)
class HornTest:
    """What a person says of the horn that was sounded."""

    heard: bool
    outputs: str = ""
    """What each output said of itself."""


@dataclass(frozen=True, slots=True)
class HornOutputs:
    """What the outputs said of themselves; the watch gives it, after a test or on a change."""

    working: str
    """Names of those that work."""
    failed: str
    """Names of those that do not, and why."""


HornCommand = SoundHorn | HornTest | HornOutputs
"""Those that change nothing but what the journal says of the horn."""


@dataclass(frozen=True, slots=True)
class SetSpeed:
    """Run the synthetic stream faster; only a synthetic watch obeys it."""

    factor: float


@dataclass(frozen=True, slots=True)
class StopWatch:
    """End the watch in good order."""


Command = (
    AlarmCommand | Silence | ZeroPits | SetDepth | TareNow | SetLines | Note | SlipLine
    | CrownCheck | MarkPump | CardCommand | DeclareTransfer | DeclareTrip | DeclareJob
    | RebaseBalance | HornCommand | TrialCommand | SecondCopy | SetSpeed | StopWatch
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Issued:
    """A command with who gave it, where, and when the watch took it."""

    at: float
    """When the watch took it, on the recording's clock. [s since 1970-01-01 UTC]"""
    command: Command
    who: str
    station: str
