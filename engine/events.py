"""What enters the engine, in order. Recorded as it came, so that a replay is the live path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from engine.commands import Issued


@dataclass(frozen=True, slots=True)
class Frame:
    """One packet or line, decoded but not converted: numbers are in the sender's units."""

    at: float
    """Arrival time (of a file: its own time). [s since 1970-01-01 UTC]"""
    feed: str
    values: Mapping[str, float] = field(default_factory=dict)
    """Item (WITS code, column name) to number as sent."""
    missing: Mapping[str, str] = field(default_factory=dict)
    """Item to the reason it has no value: empty, placeholder, sentinel, rejected."""
    text: Mapping[str, str] = field(default_factory=dict)
    """Text items and unmapped ones, cleaned of control characters."""
    source_time: str = ""
    """Sender's own time as received, ISO without zone; empty if none."""
    partial: bool = False
    """The packet's closing mark was not seen."""
    notes: Mapping[str, int] = field(default_factory=dict)
    """Oddities counted since the previous frame: duplicate, nul, stray_end."""


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that could not be used; its bytes are in the recording."""

    at: float
    feed: str
    reason: str
    """bad_number, bad_code, glued, outside_packet, implausible, ..."""
    raw: bytes
    item: str = ""
    """The item it would have been, when that much could be read."""


@dataclass(frozen=True, slots=True)
class LinkUp:
    """A feed's line is open."""

    at: float
    feed: str


@dataclass(frozen=True, slots=True)
class LinkDown:
    """A feed's line is closed or failed; every channel of the feed is LINK_DOWN at once."""

    at: float
    feed: str
    reason: str


@dataclass(frozen=True, slots=True)
class Tick:
    """Time passed and no feed said anything: ages grow, delays run out."""

    at: float


@dataclass(frozen=True, slots=True)
class WireBytes:
    """Bytes exactly as read, for the recording only; the engine never looks inside."""

    at: float
    feed: str
    data: bytes


FeedEvent = Frame | BadLine | LinkUp | LinkDown | WireBytes | Issued
"""What a feed yields; commands only a synthetic rig, whose crew declares what it adds."""
