"""All a screen may know at one moment; immutable, replaced and never changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from engine.alarms.urgency import Urgency
from engine.block import FloatArray
from engine.interfaces import FeedHealth
from engine.second_copy import CopyState


@dataclass(frozen=True, slots=True)
class Reading:
    """The newest value of one channel."""

    channel: str
    value: float | None
    """SI; None when there is none to show, and `reason` says why."""
    quality: int = 0
    """`engine.block.Quality` bits. [-]"""
    age: float = 0.0
    """Since it was measured. [s]"""
    reason: str = ""
    """In a word or two: stale, link down, no tare, in slips, out of range."""
    low: float | None = None
    """Nearest low alarm limit of the channel. [SI]"""
    high: float | None = None


@dataclass(frozen=True, slots=True)
class AlarmView:
    """One alarm as listed."""

    id: str
    label: str
    channel: str
    priority: int
    state: str
    """Letter of the nine-state model, A to I."""
    since: float
    """When it entered this state. [s since 1970-01-01 UTC]"""
    raised: float
    """When it last tripped. [s since 1970-01-01 UTC]"""
    value: float | None
    """At the trip. [SI]"""
    limit: float
    """[SI]"""
    side: str
    """high or low."""
    action: str
    cause: str = ""
    consequence: str = ""


@dataclass(frozen=True, slots=True)
class CallView:
    """What a detector calls, as last told."""

    severity: str
    since: float
    """When it began. [s since 1970-01-01 UTC]"""
    volume: float | None = None
    """[m3]"""
    witnesses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Connection:
    """String and stand at this moment."""

    in_slips: bool | None
    slips_since: float | None
    """[s since 1970-01-01 UTC]"""
    stands: int | None
    stand_remaining: float | None
    """[m]"""
    past: tuple[tuple[float, float], ...] = ()
    """When the string last came out of the slips [s since 1970-01-01 UTC] and how long it had
    been in them [s]; newest first."""


@dataclass(frozen=True, slots=True)
class WatchView:
    """Is anybody watching, and how fast does time run."""

    alive: bool
    age: float
    """Since the last heartbeat, on the wall clock. [s]"""
    speed: float = 1.0
    synthetic: bool = False
    replay: bool = False
    paused: bool = False
    ended: bool = False
    """The watch ended in good order."""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Trends:
    """All samples so far, for charts; arrays are views that only ever grow."""

    t: FloatArray
    """[s since 1970-01-01 UTC]"""
    value: Mapping[str, FloatArray]
    """Channel to values, SI, NaN where unfit to draw."""


@dataclass(frozen=True, slots=True)
class SoundView:
    """What is known of the horn."""

    working: str = ""
    """Names of the watch's outputs that worked when last used."""
    failed: str = ""
    """Names of those that did not, and why."""
    seq: int = 0
    """Number of the journal line that says so; 0: nothing was said yet. [-]"""
    unheard: str = ""
    """Why nobody can rely on hearing an alarm at this screen; empty when all is well."""


@dataclass(frozen=True, slots=True)
class LogLine:
    """One line of the journal in words."""

    at: float
    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything on the screen."""

    well: str
    now: float
    """The recording's clock. [s since 1970-01-01 UTC]"""
    watch: WatchView
    feeds: tuple[FeedHealth, ...]
    readings: Mapping[str, Reading]
    rig_state: str
    """State id, as in `engine.states`."""
    rig_state_since: float | None
    connection: Connection
    alarms: tuple[AlarmView, ...]
    """Not in state A, G, H or I; unacknowledged first, then by priority, then newest."""
    suppressed: int
    """Alarms in state H now. [-]"""
    horn: bool
    """The horn is sounding (or would be, if there is one)."""
    trends: Trends
    log: tuple[LogLine, ...] = ()
    """Newest last."""
    units: Mapping[str, str] = field(default_factory=dict)
    """Quantity to display unit id."""
    limits: tuple[AlarmView, ...] = ()
    """Every alarm of the well file in its order, whatever its state."""
    urgency: Urgency | None = None
    """Of what the horn sounds for; None: it is quiet."""
    sound: SoundView = SoundView()
    calls: Mapping[str, CallView] = field(default_factory=dict)
    """By kind, the detectors' calls that stand."""
    blind: Mapping[str, str] = field(default_factory=dict)
    """Kind to reason, for the detectors that cannot see now."""
    crown_due: str = ""
    """Why the crown check is due; empty if it is signed and holds."""
    second_copy: CopyState = field(default_factory=CopyState)
    """Where the second copy of the recording is, and how it stands."""
