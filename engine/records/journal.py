"""The journal: append-only lines, each with the hash of the one before it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from engine.errors import RecordingError
from engine.interfaces import JournalLine

FIRST_HASH = "0" * 16
"""What the first line carries in place of a previous hash."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened, before it has a number and a hash."""

    at: float
    """[s since 1970-01-01 UTC]"""
    kind: str
    """watch, alarm, flood, event, detector, trial, command or link."""
    id: str
    """Alarm id, event kind, command name or feed name."""
    event: str
    """What happened to it: trip, clear, ack, silence, up, down, advice, warning, critical, ..."""
    details: Mapping[str, Any] = field(default_factory=dict)
    """JSON values only; an alarm's are listed in `engine.alarms.entries`."""


def iso(at: float) -> str:
    """Return `at` [s since 1970-01-01 UTC] as ISO 8601 UTC with milliseconds."""
    text = datetime.fromtimestamp(round(at, 3), UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")


def from_iso(text: str) -> float:
    """Return the time [s since 1970-01-01 UTC] that `iso` wrote."""
    return datetime.fromisoformat(text).timestamp()


@dataclass(slots=True)
class Journal:
    """Numbers and chains entries. Same entries, same bytes."""

    seq: int = 0
    """Number of the newest line. [-]"""
    last_hash: str = FIRST_HASH

    def write(self, entries: Sequence[Entry]) -> list[JournalLine]:
        """Turn `entries` into lines, in the order given."""
        lines = []
        for entry in entries:
            self.seq += 1
            body = {
                "seq": self.seq, "at": iso(entry.at), "kind": entry.kind, "id": entry.id,
                "event": entry.event, **entry.details, "previous": self.last_hash,
            }  # fmt: skip
            text = json.dumps(body, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
            self.last_hash = hashlib.sha256(text.encode()).hexdigest()[:16]
            lines.append(JournalLine(self.seq, entry.at, text))
        return lines


def read(line: JournalLine) -> dict[str, Any]:
    """Return the fields of a journal line; `RecordingError` if it is damaged."""
    try:
        fields = json.loads(line.text)
    except ValueError as error:
        raise RecordingError(f"journal line {line.seq}: damaged, not JSON: {error}") from None
    if not isinstance(fields, dict) or not fields.keys() >= _KEYS:
        raise RecordingError(f"journal line {line.seq}: damaged: {line.text[:200]!r}")
    return fields


_KEYS = {"seq", "at", "kind", "id", "event", "previous"}


def broken_at(lines: Sequence[JournalLine]) -> int | None:
    """Return the number of the first line whose chain is broken, or None if all hold."""
    previous = FIRST_HASH
    for expected, line in enumerate(lines, 1):
        try:
            fields = read(line)
        except RecordingError:
            return line.seq
        if line.seq != expected or fields["seq"] != expected or fields["previous"] != previous:
            return line.seq
        previous = hashlib.sha256(line.text.encode()).hexdigest()[:16]
    return None
