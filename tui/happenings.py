"""The journal folded: which alarms stand, does the horn sound, what happened lately."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from engine.alarms.urgency import Urgency, most_urgent
from engine.config import Alarm
from engine.interfaces import JournalLine
from engine.records.journal import read
from engine.records.upkeep import Upkeep
from engine.records.words import what as in_words
from engine.second_copy import CopyState
from engine.snapshot import AlarmView, CallView, LogLine, SoundView
from tui.words import worth_telling

QUIET_STATES = frozenset("AGHI")
"""States that are counted or hidden, not listed: normal, shelved, suppressed, out of service."""
UNACKNOWLEDGED = frozenset("BDE")
SOUNDING = frozenset("BE")
LOG_KEPT = 400
"""Lines kept for the log on the screen. [-]"""


@dataclass(slots=True)
class Happenings:
    """Everything the journal says up to its newest line taken."""

    config: Mapping[str, Alarm]
    """Alarm id to its definition, for cause, consequence and action."""
    units: Mapping[str, str]
    """Quantity to display unit id."""
    seq: int = 0
    """Number of the newest line taken. [-]"""
    alarms: dict[str, AlarmView] = field(default_factory=dict)
    links: dict[str, tuple[bool, str]] = field(default_factory=dict)
    """Feed to (up, reason)."""
    calls: dict[str, CallView] = field(default_factory=dict)
    """By kind, the detectors' calls that stand."""
    blind: dict[str, str] = field(default_factory=dict)
    """Kind to reason, for the detectors that cannot see."""
    upkeep: Upkeep = field(default_factory=Upkeep)
    log: deque[LogLine] = field(default_factory=lambda: deque(maxlen=LOG_KEPT))
    _raised: dict[str, int] = field(default_factory=dict)
    """Alarm id to the number of the line at which it last came to need attention."""
    _levels: dict[str, int] = field(default_factory=dict)
    """Alarm id to how often it was told louder while it waits. [-]"""
    sound: SoundView = field(default_factory=SoundView)
    """What the horn's outputs last said of themselves."""
    second_copy: CopyState = field(default_factory=CopyState)
    """What the watch last said of the second copy."""
    _silenced: int = 0
    """Number of the last line at which the horn was silenced. [-]"""

    def take(self, lines: Sequence[JournalLine]) -> None:
        """Fold `lines`, later than all before, into what is known."""
        self.upkeep = self.upkeep.take(lines)
        for line in lines:
            fields = read(line)
            kind, what = str(fields.get("kind", "")), str(fields.get("event", ""))
            if kind == "alarm":
                self._alarm(line, fields)
            elif kind in ("event", "detector"):
                self._detector(kind, str(fields.get("id", "")), what, line.at, fields)
            elif kind == "link":
                reason = str(fields.get("reason") or "")
                self.links[str(fields.get("id", ""))] = (what == "up", reason)
            if kind == "command" and str(fields.get("id", "")).lower() == "silence":
                self._silenced = line.seq
            if kind == "command" and fields.get("id") == "horn_outputs":
                working, failed = (str(fields.get(key, "")) for key in ("working", "failed"))
                self.sound = SoundView(working, failed, line.seq)
            if kind == "command" and fields.get("id") == "second_copy":
                self.second_copy = self.second_copy.told(line.at, fields)
            if worth_telling(fields):
                self.log.append(LogLine(line.at, in_words(fields, self.units), kind))
            self.seq = line.seq

    def _alarm(self, line: JournalLine, fields: Mapping[str, Any]) -> None:
        id_, after = str(fields.get("id", "")), str(fields.get("after", ""))
        what = fields.get("event")
        if not after:
            return
        old = self.alarms.get(id_)
        before = old.state if old else str(fields.get("before", "A"))
        view = old or self._blank(id_, line.at)
        changed = after != before or old is None
        tripped = after == "B" and (before != "B" or old is None)
        if what == "escalate" or (tripped and fields.get("sound", True)):
            self._raised[id_] = line.seq
        elif tripped:  # kept silent in a flood
            self._raised[id_] = 0
        if what == "escalate":
            self._levels[id_] = int(fields.get("level", 0))
        elif after not in UNACKNOWLEDGED:
            self._levels.pop(id_, None)
        value = _number(fields.get("value"))
        limit = _number(fields.get("limit"))
        self.alarms[id_] = replace(
            view,
            state=after,
            label=str(fields.get("label", view.label)),
            channel=str(fields.get("channel", view.channel)),
            priority=int(fields.get("priority", view.priority)),
            side=str(fields.get("side", view.side)),
            limit=view.limit if limit is None else limit,
            action=str(fields.get("action", view.action)),
            since=line.at if changed else view.since,
            raised=line.at if tripped else view.raised,
            value=value if tripped else view.value,
        )

    def _detector(
        self, kind: str, id_: str, what: str, at: float, fields: Mapping[str, Any]
    ) -> None:
        """Take a call, or that a detector went blind or sees again."""
        if what == "blind":
            self.blind[id_] = str(fields.get("reason"))
        elif what == "sees":
            self.blind.pop(id_, None)
        elif what == "end":
            self.calls.pop(id_, None)
        elif kind == "event":
            said = fields.get("evidence") or {}
            since = self.calls[id_].since if id_ in self.calls else at
            volume, witnesses = _number(said.get("volume_m3")), said.get("witnesses") or ()
            self.calls[id_] = CallView(what, since, volume, tuple(map(str, witnesses)))

    def _blank(self, id_: str, at: float) -> AlarmView:
        known = self.config.get(id_)
        if known is None:
            nan = float("nan")
            return AlarmView(id_, id_, "", 1, "A", at, at, None, nan, "high", "")
        side = "high" if known.high is not None else "low"
        limit = known.high if known.high is not None else known.low
        return AlarmView(
            id_, known.label, known.channel, known.priority, "A", at, at, None,
            float("nan") if limit is None else limit, side,
            known.action, known.cause, known.consequence,
        )  # fmt: skip

    def listed(self) -> tuple[AlarmView, ...]:
        """Return alarms to show: unacknowledged first, then by priority, then newest."""
        shown = [a for a in self.alarms.values() if a.state not in QUIET_STATES]
        shown.sort(key=lambda a: (a.state not in UNACKNOWLEDGED, a.priority, -a.raised, a.id))
        return tuple(shown)

    def limits(self) -> tuple[AlarmView, ...]:
        """Return every alarm of the well file, in its order."""
        return tuple(self.alarms.get(id_) or self._blank(id_, float("nan")) for id_ in self.config)

    def suppressed(self) -> int:
        """Return how many alarms are suppressed by design now."""
        return sum(a.state == "H" for a in self.alarms.values())

    def horn(self) -> bool:
        """Tell whether an alarm needs attention that came after the last silence."""
        return self.urgency() is not None

    def urgency(self) -> Urgency | None:
        """Return how urgently it needs attention; None if none does."""
        return most_urgent(
            (a.priority, self._levels.get(a.id, 0))
            for a in self.alarms.values()
            if a.state in SOUNDING and self._raised.get(a.id, 0) > self._silenced
        )


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None
