"""What the engine, the watch and the screens ask of the outside; adapters fulfil it."""

from __future__ import annotations

from collections.abc import AsyncGenerator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from engine.block import Table
from engine.commands import Command, Issued
from engine.events import BadLine, FeedEvent, Frame, LinkDown, LinkUp, Tick, WireBytes

InputEvent = Frame | BadLine | LinkUp | LinkDown | Tick | Issued
"""What the engine takes, in the recorded order. WireBytes are kept beside it, never taken."""


class Decoder(Protocol):
    """Bytes to events without any I/O; never raises on input, whatever the cut of the reads."""

    def feed(self, data: bytes, at: float) -> list[FeedEvent]:
        """Take the bytes read at time `at` [s]; return the events they complete."""
        ...

    def idle(self, at: float) -> list[FeedEvent]:
        """Nothing came for the idle time: close what is open."""
        ...

    def reset(self) -> None:
        """Forget half a message (the line was reopened)."""
        ...


class Feed(Protocol):
    """One source; yields ``WireBytes`` first, then the events decoded from them."""

    @property
    def name(self) -> str:
        """Name of the feed in the well file."""
        ...

    def events(self) -> AsyncGenerator[FeedEvent, None]:
        """Yield events until cancelled; a lost line is an event, not an exception."""
        ...


@dataclass(frozen=True, slots=True)
class FeedHealth:
    """How one feed is doing, as the watch sees it."""

    name: str
    up: bool
    reason: str = ""
    """Why it is down."""
    last_bytes: float | None = None
    """[s since 1970-01-01 UTC]"""
    last_frame: float | None = None
    frames: int = 0
    bad_lines: int = 0
    notes: Mapping[str, int] | None = None
    """Counts by kind of oddity or rejection."""


@dataclass(frozen=True, slots=True)
class Status:
    """The watch's heartbeat; one is kept, the newest."""

    wall: float
    """Wall clock when written. [s since 1970-01-01 UTC]"""
    data: float
    """The recording's own clock at that moment (synthetic time may run faster). [s]"""
    speed: float = 1.0
    """Recording seconds per wall second. [-]"""
    running: bool = True
    """False once the watch has ended in good order."""
    feeds: tuple[FeedHealth, ...] = ()
    queue: int = 0
    """Items waiting for the disk. [-]"""
    problem: str = ""
    """What cannot be kept, in words; empty when all is well."""
    pid: int = 0


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One line of the journal as kept: its number, its time, its exact text."""

    seq: int
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Posted:
    """A command as a screen posted it, waiting for the watch."""

    id: int
    command: Command
    who: str
    station: str


class Recorder(Protocol):
    """Keeps everything; calls return at once, a thread of its own does the writing.

    Raises
    ------
    RecordingError
        From any call, once something could not be kept.
    """

    def wire(self, event: WireBytes) -> None:
        """Keep bytes as they came."""
        ...

    def inputs(self, events: Sequence[InputEvent]) -> None:
        """Keep what the engine takes, in order."""
        ...

    def rows(self, table: Table) -> None:
        """Keep raw and derived samples; all channels of one recording in every call."""
        ...

    def journal(self, lines: Sequence[JournalLine]) -> None:
        """Keep journal lines; they are on disk within 0.2 s."""
        ...

    def status(self, status: Status) -> None:
        """Replace the heartbeat."""
        ...

    def posted(self) -> list[Posted]:
        """Return commands that screens posted and that have not been returned before."""
        ...

    def backlog(self) -> int:
        """Return how many items wait for the disk."""
        ...

    def problem(self) -> str:
        """Return why writing fails at present, in words; empty when it works."""
        ...

    def close(self) -> None:
        """Write everything out and close."""
        ...


class Recording(Protocol):
    """A recording as everyone reads it: the screens, replay, review, exports."""

    path: str

    def meta(self) -> Mapping[str, str]:
        """Return its head: well file text, program version, synthetic, created."""
        ...

    def channels(self) -> tuple[str, ...]:
        """Return the channels it holds; one made by an older program lacks the newer ones."""
        ...

    def rows(
        self,
        after: float = float("-inf"),
        until: float = float("inf"),
        channels: Sequence[str] | None = None,
    ) -> Table:
        """Return samples with after < t <= until, as blocks of one time array."""
        ...

    def span(self) -> tuple[float, float] | None:
        """Return first and last row time, or None while there is no row."""
        ...

    def journal(self, after: int = 0) -> list[JournalLine]:
        """Return the lines with a number above `after`, in order."""
        ...

    def inputs(self) -> Iterator[InputEvent]:
        """Yield all recorded inputs in order."""
        ...

    def wire(self) -> Iterator[WireBytes]:
        """Yield all recorded bytes in order."""
        ...

    def status(self) -> Status | None:
        """Return the newest heartbeat."""
        ...

    def post(self, command: Command, who: str, station: str) -> int:
        """Leave a command for the watch; return its id."""
        ...

    def close(self) -> None:
        """Let go of the file."""
        ...
